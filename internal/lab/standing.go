package lab

import (
	"encoding/json"
	"slices"
	"strings"
)

// InForce gives the entries that hold: without those that were taken back and
// without the takings-back themselves, in the order given.
func InForce(entries []Entry) []Entry {
	gone := map[string]bool{}
	for _, e := range entries {
		if e.What == EntryTakesBack {
			gone[e.Target()] = true
		}
	}
	var out []Entry
	for _, e := range entries {
		if e.What != EntryTakesBack && !gone[e.ID] {
			out = append(out, e)
		}
	}
	return out
}

// Target is the id of the entry that a takes-back names; "" for all others.
func (e Entry) Target() string {
	var b TakesBack
	if e.What != EntryTakesBack || json.Unmarshal(e.Body, &b) != nil {
		return ""
	}
	return b.ID
}

// RollsOf gives the rolls of a run: those of the load that was in force when
// it began (or of a load entered for this run, which stands in its place),
// changed by what was scanned since. A roll added under a twin check that is
// there replaces what was said of it. Entries are those in force of this run,
// in their order.
func RollsOf(loaded []Roll, entries []Entry) []Roll {
	rolls := slices.Clone(loaded)
	without := func(check string) {
		rolls = slices.DeleteFunc(rolls, func(r Roll) bool { return strings.EqualFold(r.TwinCheck, check) })
	}
	for _, e := range entries {
		switch e.What {
		case EntryLoad:
			var l Load
			if json.Unmarshal(e.Body, &l) == nil {
				rolls = slices.Clone(l.Rolls)
			}
		case EntryRolls:
			var c RollsChange
			if json.Unmarshal(e.Body, &c) != nil {
				continue
			}
			for _, check := range c.Remove {
				without(check)
			}
			for _, r := range c.Add {
				if at := slices.IndexFunc(rolls, func(o Roll) bool { return strings.EqualFold(o.TwinCheck, r.TwinCheck) }); at >= 0 {
					rolls[at] = r
					continue
				}
				rolls = append(rolls, r)
			}
		}
	}
	return rolls
}

// DecisionOf gives the last decision in force on a run, nil where there is
// none.
func DecisionOf(entries []Entry) *Decision {
	for _, e := range slices.Backward(entries) {
		var d Decision
		if e.What != EntryDecision || json.Unmarshal(e.Body, &d) != nil {
			continue
		}
		d.By, d.At = e.By, At(e.Entered)
		return &d
	}
	return nil
}

// KindStated gives the kind of run that a person last stated, "" where none did.
func KindStated(entries []Entry) string {
	for _, e := range slices.Backward(entries) {
		var k KindChange
		if e.What == EntryKind && json.Unmarshal(e.Body, &k) == nil && k.Kind != "" {
			return k.Kind
		}
	}
	return ""
}
