package escalate

import (
	"slices"

	"wetside/internal/lab"
)

// FactTell is the fact of an alert that names people whom its first step calls
// besides those of the ladder: a list of names.
const FactTell = "tell"

// withTold adds to those of a first step whom its alerts name.
func withTold(who []string, s summary, d Duty) []string {
	for _, m := range s.live {
		for _, person := range toldBy(m.Alert) {
			if slices.Contains(d.Reachable, person) && !slices.Contains(who, person) {
				who = append(who, person)
			}
		}
	}
	return who
}

// toldBy reads the names, as they are made and as they come from the store.
func toldBy(a lab.Alert) []string {
	switch list := a.Facts[FactTell].(type) {
	case []string:
		return list
	case []any:
		var out []string
		for _, v := range list {
			if name, ok := v.(string); ok {
				out = append(out, name)
			}
		}
		return out
	}
	return nil
}
