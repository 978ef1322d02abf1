package watch

import (
	"context"
	"errors"
	"math"
	"slices"
	"time"

	"wetside/alerts"
	"wetside/internal/lab"
	"wetside/rules/timeline"
)

// A unit that cannot be folded, or of which the store refuses what was found,
// is set aside alone: the others go on in the same pass. Its telemetry is
// stored on; its state stays as it was last good, marked with the program that
// could not, so that a restart does not fall into the same hole and another
// version of the program tries again.

// outOfReach is the arrival number up to which a unit that is set aside has
// "taken" everything.
const outOfReach = math.MaxInt64

// restoreAside takes a unit up that was set aside before. It gives nil where
// it is to be tried again: this is another program.
func (f *folder) restoreAside(s lab.UnitState) *place {
	if s.Aside == nil {
		return nil
	}
	if s.Aside.Program != f.cfg.Program {
		f.cfg.Log.Info("a unit that another version could not judge is tried again", "unit", s.Unit, "since", s.Aside.At, "was", s.Aside.Why)
		return nil
	}
	f.engine.PutAside(timeline.Aside{Unit: s.Unit, At: s.Aside.At, Why: s.Aside.Why})
	return &place{stored: s.Arrival, has: outOfReach, aside: s.Aside}
}

// noteAside takes in units that the engine has set aside since, and gives what
// is to be stored of them.
func (f *folder) noteAside() []lab.SetAside {
	for _, a := range f.engine.SetAside() {
		p := f.units[a.Unit]
		if p == nil {
			p = &place{stored: -1}
			f.units[a.Unit] = p
		}
		if p.aside != nil {
			continue
		}
		f.cfg.Log.Error("a unit is not judged from here on: a fault of wetside's own", "unit", a.Unit, "error", a.Why, "stack", a.Stack)
		p.aside = &lab.AsideMark{At: lab.At(a.At).Time, Why: clip(a.Why), Program: f.cfg.Program}
		if a.At.IsZero() {
			p.aside.At = lab.At(f.cfg.Clock.Now()).Time
		}
		f.asideDue = append(f.asideDue, lab.SetAside{Unit: a.Unit, From: max(0, p.has-1), AsideMark: *p.aside})
		p.has, p.dirty, p.again, p.held = outOfReach, false, 0, nil
		f.minor.forget(a.Unit)
	}
	return f.asideDue
}

// clip keeps a reason to one line of a sane length.
func clip(why string) string {
	const most = 500
	out := []rune(why)
	for i, r := range out {
		if r < ' ' {
			out[i] = ' '
		}
	}
	return string(out[:min(len(out), most)])
}

// without leaves out what was found of units that are set aside.
func (f *folder) without(ch timeline.Changes) timeline.Changes {
	gone := func(unit lab.UnitID) bool { p := f.units[unit]; return p != nil && p.aside != nil }
	ch.Occurrences = slices.DeleteFunc(ch.Occurrences, func(o timeline.OccurrenceChange) bool { return gone(o.Unit) })
	ch.Runs = slices.DeleteFunc(ch.Runs, func(r lab.Run) bool {
		unit, err := lab.ParseUnitID(r.Unit)
		return err == nil && gone(unit)
	})
	return ch
}

// commitApart commits unit by unit what the store refused together. Those
// whose part it refuses alone are set aside.
func (f *folder) commitApart(ctx context.Context, w *write, refused error) error {
	f.cfg.Log.Error("the store refuses what was found; each unit is tried alone", "error", refused)
	units := w.units()
	for _, unit := range units {
		err := f.commit(ctx, w.of(unit).commit(f))
		if errors.Is(err, lab.ErrUnstorable) {
			f.engine.PutAside(timeline.Aside{Unit: unit, At: f.cfg.Clock.Now(), Why: err.Error()})
			continue
		}
		if err != nil {
			return err
		}
	}
	rest := w.of(lab.UnitID{})
	rest.aside = f.noteAside()
	return f.commit(ctx, rest.commit(f))
}

// write is what one commit holds.
type write struct {
	found  []alerts.Change
	runs   []lab.Run
	states []lab.UnitState
	aside  []lab.SetAside
	ids    []string
	now    time.Time
}

// commit makes the store's form of it. What the alerts come to is kept in
// f.result, call by call.
func (w *write) commit(f *folder) lab.Commit {
	policy := f.policy(w.now)
	found := w.found
	c := lab.Commit{Runs: w.runs, States: w.states, Aside: w.aside}
	c.AlertKeys, c.AlertIDs = alerts.Refs(found)
	c.AlertIDs = append(c.AlertIDs, w.ids...)
	before := slices.Clone(f.result)
	c.Apply = func(current []lab.StoredAlert, now time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
		out, events, pages := alerts.Apply(current, found, now, policy)
		f.result = append(slices.Clone(before), out...) // the last call is the one that was committed
		return out, events, pages
	}
	return c
}

// units lists whose findings it holds.
func (w *write) units() []lab.UnitID {
	var out []lab.UnitID
	add := func(u lab.UnitID) {
		if !u.IsZero() && !slices.Contains(out, u) {
			out = append(out, u)
		}
	}
	for _, c := range w.found {
		add(c.Unit)
	}
	for _, r := range w.runs {
		add(unitOf(r))
	}
	for _, s := range w.states {
		add(s.Unit)
	}
	return out
}

func unitOf(r lab.Run) lab.UnitID {
	u, _ := lab.ParseUnitID(r.Unit) // the fold wrote it
	return u
}

// of gives the part of one unit; of the zero unit what is of none.
func (w *write) of(u lab.UnitID) *write {
	part := &write{now: w.now}
	for _, c := range w.found {
		if c.Unit == u {
			part.found = append(part.found, c)
		}
	}
	for _, r := range w.runs {
		if unitOf(r) == u {
			part.runs = append(part.runs, r)
		}
	}
	for _, s := range w.states {
		if s.Unit == u {
			part.states = append(part.states, s)
		}
	}
	if u.IsZero() {
		part.ids = w.ids
	}
	return part
}

// unwritable is a unit whose view cannot be written as JSON: it is left as it
// last could, and says so.
func (f *folder) unwritable(unit lab.UnitID, now time.Time, err error) (u shownUnit) {
	last, ok := f.views[unit]
	if !ok || last.view.Fault == nil {
		f.cfg.Log.Error("the view of a unit cannot be written; its last one stands", "unit", unit, "error", err)
	}
	v := f.lastView(unit)
	v.Fault = &lab.UnitFault{Since: lab.At(now), Judged: true, Text: "Shown as it was: a fault of wetside's own. Look at the unit itself."}
	if last.view.Fault != nil {
		v.Fault.Since = last.view.Fault.Since
	}
	f.dress(&v, unit)
	u, _ = newShown(v) // it could be written before
	return u
}

// asideView is a unit that is not judged: as it was last seen, and since when.
func (f *folder) asideView(unit lab.UnitID, mark *lab.AsideMark) lab.Unit {
	v := f.lastView(unit)
	v.Fault = &lab.UnitFault{Since: lab.At(mark.At), Text: "Not judged: a fault of wetside's own. Its telemetry is stored. Watch the unit by eye."}
	return v
}

// lastView is a unit as it was last shown; what is known of one that never was
// is its name.
func (f *folder) lastView(unit lab.UnitID) lab.Unit {
	if last, ok := f.views[unit]; ok {
		return last.view
	}
	return lab.Unit{ID: unit.String(), Name: unit.Unit, Link: lab.LinkOffline, Activity: lab.ActivityIdle, Bath: lab.Bath{Standing: lab.StandingUnknown},
		Light: lab.Light{State: lab.LightNone}, Power: lab.PowerNow{Source: "unknown"}, Containers: []lab.Container{}, OpenAlerts: []string{}}
}
