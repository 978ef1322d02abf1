package rulestest

import (
	"context"

	"wetside/internal/lab"
)

// Kept is a timeline.History in memory.
type Kept struct{ List []lab.Message }

// UnitMessages implements timeline.History.
func (k *Kept) UnitMessages(_ context.Context, u lab.UnitID, floor int64) ([]lab.Message, error) {
	var out []lab.Message
	for _, m := range k.List {
		if m.Unit == u && m.Arrival >= floor {
			out = append(out, m)
		}
	}
	return out, nil
}
