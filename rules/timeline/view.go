package timeline

import (
	"iter"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// View is the unit as the board shows it, at arrival time now. The name that
// people gave it, whether it is accepted and its open alerts are added by others.
func (e *Engine) View(id lab.UnitID, now time.Time) (v lab.Unit, ok bool) {
	u := e.units[id]
	if u == nil {
		return lab.Unit{}, false
	}
	_ = e.guard(id, func() error { // no error can come: the store is not asked
		v, ok = e.view(u, now), true
		return nil
	})
	return v, ok
}

func (e *Engine) view(u *unit, now time.Time) lab.Unit {
	v := u.State.View(e.fleet())
	v.Link, v.LastHeardAt, v.Outlook = u.link(now), lab.AtPtr(u.Arrivals.Last), u.outlookAt(now)
	if off, ok := u.offsetS(); ok {
		v.ClockOffsetS = new(lab.Round(off, 3))
	}
	return v
}

// fleet are the units, by name, as the rules know them.
func (e *Engine) fleet() iter.Seq[*rules.Unit] {
	return func(yield func(*rules.Unit) bool) {
		for _, id := range e.byName {
			if u := e.units[id]; u != nil && !yield(u.State) {
				return
			}
		}
	}
}

func (u *unit) link(now time.Time) string {
	switch {
	case u.Arrivals.Silent != "":
		return lab.LinkSilent
	case !u.Arrivals.Offline.IsZero() || u.Arrivals.Last.IsZero():
		return lab.LinkOffline
	case !u.Arrivals.Will.IsZero() && !u.inRun():
		return lab.LinkOffline
	case !u.Arrivals.Will.IsZero():
		return lab.LinkSilent
	}
	return lab.LinkOnline
}

// Jobs lists where a person is needed next at a unit, soonest first.
func (e *Engine) Jobs(id lab.UnitID, now time.Time) []lab.Job {
	jobs := []lab.Job{}
	u := e.units[id]
	if u == nil {
		return jobs
	}
	_ = e.guard(id, func() error { // no error can come: the store is not asked
		jobs = append(jobs, u.State.Jobs(u.outlookAt(now))...)
		return nil
	})
	slices.SortStableFunc(jobs, func(a, b lab.Job) int { return a.DueAt.Compare(b.DueAt.Time) })
	return jobs
}
