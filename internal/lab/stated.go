package lab

import (
	"cmp"
	"encoding/json"
	"math"
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
	for _, e := range entries {
		switch e.What {
		case EntryLoad:
			var l Load
			if json.Unmarshal(e.Body, &l) == nil {
				rolls = slices.Clone(l.Rolls)
			}
		case EntryUnload:
			rolls = nil
		case EntryRolls:
			var c RollsChange
			if json.Unmarshal(e.Body, &c) == nil {
				rolls = c.Apply(rolls)
			}
		}
	}
	return rolls
}

// Stated gives the run with what people entered laid over what the fold says:
// its rolls, each with its own push error and decision, the decision on the
// run, its kind. It is the one place where that is done; entries may be of any
// run, and hold what was taken back. A decision that is there and of which no
// entry speaks stands.
func (r RunRow) Stated(entries []Entry) Run {
	entries = r.inForce(entries)
	out := r.Run
	out.Rolls = RollsOf(r.Loaded, entries)
	for i := range out.Rolls {
		out.Rolls[i].Decision = rollDecision(entries, out.Rolls[i].TwinCheck)
	}
	out.JudgeRolls()
	if slices.ContainsFunc(entries, func(e Entry) bool { return e.What == EntryDecision }) {
		out.Decision = DecisionOf(entries)
	}
	out.Kind = cmp.Or(kindStated(entries), r.FoldedKind)
	return out
}

// Refolded gives the row of a run that was folded again; known is its row as it
// stands, nil for none, entries are those of the run. false: the row stays, since
// an import changes no run that was watched live.
//
// What was loaded is known from the fold when the run begins; once rolls were
// entered of the run itself it stands, for the fold may have counted those in.
// A run whose Rolls are nil says nothing of them. One without decision or seal
// does not take either back.
func Refolded(r Run, known *RunRow, entries []Entry, imported bool) (RunRow, bool) {
	row := RunRow{Run: r, Loaded: r.Rolls, FoldedKind: r.Kind, Imported: imported}
	if known == nil {
		return row, true
	}
	if imported && !known.Imported {
		return *known, false
	}
	if r.Rolls == nil || slices.ContainsFunc(entries, Entry.changesRolls) {
		row.Loaded = known.Loaded
	}
	if r.Decision == nil {
		row.Decision = known.Decision
	}
	if r.Seal == nil {
		row.Seal = known.Seal
	}
	return row, true
}

func (e Entry) changesRolls() bool {
	return e.What == EntryRolls || e.What == EntryLoad || e.What == EntryUnload
}

// inForce gives the entries of the run that hold. History that was read in says
// nothing of what was watched live.
func (r RunRow) inForce(entries []Entry) []Entry {
	return slices.DeleteFunc(InForce(entries), func(e Entry) bool {
		return e.RunID != r.ID || e.Imported && !r.Imported
	})
}

// Decisions gives every decision that holds for the run or one of its rolls.
func (r *Run) Decisions() []string {
	out := []string{}
	add := func(d *Decision) {
		if d != nil && !slices.Contains(out, d.Decision) {
			out = append(out, d.Decision)
		}
	}
	add(r.Decision)
	for _, x := range r.Rolls {
		add(x.Decision)
	}
	return out
}

// RollsAgain gives the rolls that are to be processed again.
func (r *Run) RollsAgain() (list []Roll) {
	for _, x := range r.Rolls {
		if d := r.DecisionFor(x); d != nil && d.Decision == Reprocess {
			list = append(list, x)
		}
	}
	return list
}

// RollsNamed gives the rolls that an entry says something of.
func (e Entry) RollsNamed() []Roll {
	switch e.What {
	case EntryLoad:
		return BodyOf[Load](e).Rolls
	case EntryRolls:
		return BodyOf[RollsChange](e).Add
	}
	return nil
}

// Decided tells whether somebody decided what becomes of all its film.
func (r *Run) Decided() bool {
	undecided := func(x Roll) bool { return x.Decision == nil }
	return r.Decision != nil || len(r.Rolls) > 0 && !slices.ContainsFunc(r.Rolls, undecided)
}

// DecisionFor gives what was decided about a roll of the run: its own, else the
// run's; nil for none.
func (r *Run) DecisionFor(x Roll) *Decision {
	if x.Decision != nil {
		return x.Decision
	}
	return r.Decision
}

// JudgeRolls gives each roll its own push error: what the film got against
// what that roll wanted. One that names no process wants what the run did; one
// in a run of another process has none.
func (r *Run) JudgeRolls() {
	got, against := r.PushErrorStops, r.Push
	if got == nil && r.Film != nil { // its developer was in an earlier run
		got, against = r.Film.PushErrorStops, r.Film.Push
	}
	for i := range r.Rolls {
		x := &r.Rolls[i]
		x.PushErrorStops = nil
		if got == nil || !r.Does(x.Process) {
			continue
		}
		push := x.Push
		if x.Process == "" && push == 0 {
			push = r.Push
		}
		v := math.Round((*got+against-push)*1e4) / 1e4
		x.PushErrorStops = &v
	}
}

// Does tells whether the run's process is the one named: e6 is done by e6-7,
// and no process named by any.
func (r *Run) Does(process string) bool { return DoesProcess(r.Process, process) }

// DoesProcess tells whether process is what is wanted, as Run.Does has it.
func DoesProcess(process, wanted string) bool {
	return wanted == "" || process == wanted || strings.HasPrefix(process, wanted+"-")
}

// Apply gives rolls as they are after the change.
func (c RollsChange) Apply(rolls []Roll) []Roll {
	gone := func(r Roll) bool {
		same := func(check string) bool { return strings.EqualFold(r.TwinCheck, check) }
		return slices.ContainsFunc(c.Remove, same) ||
			slices.ContainsFunc(c.Add, func(a Roll) bool { return same(a.TwinCheck) })
	}
	return append(slices.DeleteFunc(rolls, gone), c.Add...)
}

// DecisionOf gives the last decision in force on a run as such, nil where there
// is none.
func DecisionOf(entries []Entry) *Decision {
	return lastDecision(entries, func(d Decision) bool { return len(d.Rolls) == 0 })
}

// rollDecision gives the last decision in force that names a roll, nil where
// there is none.
func rollDecision(entries []Entry, check string) *Decision {
	return lastDecision(entries, func(d Decision) bool {
		return slices.ContainsFunc(d.Rolls, func(c string) bool { return strings.EqualFold(c, check) })
	})
}

func lastDecision(entries []Entry, fits func(Decision) bool) *Decision {
	for _, e := range slices.Backward(entries) {
		var d Decision
		if e.What != EntryDecision || json.Unmarshal(e.Body, &d) != nil || !fits(d) {
			continue
		}
		d.By, d.At = e.By, At(e.Entered)
		return &d
	}
	return nil
}

// kindStated gives the kind of run that a person last stated, "" where none did.
func kindStated(entries []Entry) string {
	for _, e := range slices.Backward(entries) {
		var k KindChange
		if e.What == EntryKindOfRun && json.Unmarshal(e.Body, &k) == nil && k.Kind != "" {
			return k.Kind
		}
	}
	return ""
}
