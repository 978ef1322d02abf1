package rulestest

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// Never is after everything that a script does.
var Never = Nine.Add(48 * time.Hour)

// InOrder puts entries in the order in which they are entered.
func InOrder(list []lab.Entry) []lab.Entry {
	out := slices.Clone(list)
	slices.SortStableFunc(out, func(a, b lab.Entry) int { return a.Entered.Compare(b.Entered) })
	return out
}

// Enters writes what a person enters, at the time of which it speaks.
func Enters(u lab.UnitID, at float64, what, runID string, body any) lab.Entry {
	raw, err := json.Marshal(body)
	if err != nil {
		panic(err)
	}
	if body == nil {
		raw = nil
	}
	return lab.Entry{ID: rules.Digest("test", u.String(), what, runID, fmt.Sprint(at), string(raw)), Unit: u, RunID: runID, What: what,
		At: Moment(at), Entered: Moment(at).Add(300 * time.Millisecond), By: "Mina", Body: raw}
}
