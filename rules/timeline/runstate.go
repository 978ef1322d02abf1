package timeline

import (
	"encoding/json"

	"wetside/internal/lab"
	"wetside/rules"
)

// Before gives the state of a unit right before a run, for a new engine to
// take by Restore: fed with the run's messages and entries it comes to the
// same record. False where that is no longer kept, or the run's beginning was
// not heard.
func (e *Engine) Before(id lab.UnitID, runID string) (version int, blob []byte, ok bool) {
	u := e.units[id]
	if u == nil {
		return StateVersion, nil, false
	}
	for i := range u.Marks {
		if u.Marks[i].Run == runID && runID != "" && u.Marks[i].At.Boot >= u.Order.Forgot {
			return StateVersion, u.stateAtMark(&u.Marks[i]), true
		}
	}
	return StateVersion, nil, false
}

// stateAtMark is the unit's stored state as it would have been at a mark: nothing
// found yet, and no message taken since.
func (u *unit) stateAtMark(m *mark) []byte {
	out := unit{ID: u.ID, Marks: []mark{{At: m.At, T: m.T, Run: m.Run, State: m.State}},
		Found: map[string]*found{}, TakenBack: u.TakenBack}
	out.State = rules.NewUnit(u.cfg, u.ID, &out)
	if err := out.State.UnmarshalJSON(m.State); err != nil {
		panic("rules: own state does not read: " + err.Error())
	}
	out.Order.Forgot, out.Order.Refused = u.Order.Forgot, u.Order.Refused
	for _, b := range u.Order.Boots[:min(m.At.Boot+1-u.Order.Forgot, len(u.Order.Boots))] {
		past := *b
		past.Pending = nil
		out.Order.Boots = append(out.Order.Boots, &past)
	}
	if n := len(out.Order.Boots); n > 0 {
		out.Order.At = n - 1
		last := out.Order.Boots[n-1]
		if last.Next = m.At.Seq; last.First {
			last.Base = min(last.Base, m.At.Seq)
		}
		last.Gaps = gapsBefore(last.Gaps, m.At.Seq)
	}
	for _, k := range u.Entries {
		if !k.T.After(m.T) && (!k.OfWholeRun() || k.Kind().Figure) {
			out.Entries = append(out.Entries, k)
		}
	}
	blob, err := json.Marshal(out)
	if err != nil {
		panic("rules: snapshot does not marshal: " + err.Error())
	}
	return blob
}

func gapsBefore(gaps []lab.Gap, seq int64) []lab.Gap {
	var out []lab.Gap
	for _, g := range gaps {
		if g.FromSeq < seq {
			out = append(out, g)
		}
	}
	return out
}
