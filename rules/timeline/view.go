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
func (e *Engine) View(u lab.UnitID, now time.Time) (v lab.Unit, ok bool) {
	w := e.units[u]
	if w == nil {
		return lab.Unit{}, false
	}
	_ = e.guard(u, func() error { // no error can come: the store is not asked
		v, ok = e.view(w, now), true
		return nil
	})
	return v, ok
}

func (e *Engine) view(w *unit, now time.Time) lab.Unit {
	v := w.State.View(e.fleet())
	v.Link, v.LastHeardAt, v.Outlook = w.link(now), lab.AtPtr(w.Arrivals.Last), w.outlookAt(now)
	if off, ok := w.offsetS(); ok {
		v.ClockOffsetS = new(lab.Round(off, 3))
	}
	return v
}

// fleet are the units, by name, as the rules know them.
func (e *Engine) fleet() iter.Seq[*rules.Unit] {
	return func(yield func(*rules.Unit) bool) {
		for _, u := range e.order {
			if w := e.units[u]; w != nil && !yield(w.State) {
				return
			}
		}
	}
}

func (w *unit) link(now time.Time) string {
	switch {
	case w.Arrivals.Silent != "":
		return lab.LinkSilent
	case !w.Arrivals.Offline.IsZero() || w.Arrivals.Last.IsZero():
		return lab.LinkOffline
	case !w.Arrivals.Will.IsZero() && !w.inRun():
		return lab.LinkOffline
	case !w.Arrivals.Will.IsZero():
		return lab.LinkSilent
	}
	return lab.LinkOnline
}

// Jobs lists where a person is needed next, soonest first.
func (e *Engine) Jobs(now time.Time) []lab.Job {
	jobs := []lab.Job{}
	for _, u := range slices.Clone(e.order) {
		w := e.units[u]
		if w == nil {
			continue
		}
		_ = e.guard(u, func() error { // no error can come: the store is not asked
			jobs = append(jobs, w.State.Jobs(w.outlookAt(now))...)
			return nil
		})
	}
	slices.SortStableFunc(jobs, func(a, b lab.Job) int { return a.DueAt.Compare(b.DueAt.Time) })
	return jobs
}
