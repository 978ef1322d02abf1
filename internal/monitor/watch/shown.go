package watch

import (
	"bytes"
	"cmp"
	"encoding/json"
	"maps"
	"slices"
	"sync"

	"wetside/internal/lab"
)

// shown is what others may read: each unit as it is shown and what waits for a
// person there. Only what changed is put in with a batch, so that a batch costs
// the same however many units there are; lists are made when somebody asks.
// What is in it is never changed, only put in anew.
type shown struct {
	mu    sync.RWMutex
	units map[lab.UnitID]shownUnit
	open  []lab.Alert // newest first
}

type shownUnit struct {
	view lab.Unit
	json []byte // of view, to tell whether it changed
	jobs []lab.Job
}

// put takes in units. all: there are no others.
func (s *shown) put(units map[lab.UnitID]shownUnit, all bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if all || s.units == nil {
		s.units = map[lab.UnitID]shownUnit{}
	}
	maps.Copy(s.units, units)
}

func (s *shown) putOpen(open []lab.Alert) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.open = open
}

// list gives every unit's view, by id.
func (s *shown) list() []lab.Unit {
	s.mu.RLock()
	defer s.mu.RUnlock()
	out := make([]lab.Unit, 0, len(s.units))
	for _, u := range s.units {
		out = append(out, u.view)
	}
	slices.SortFunc(out, func(a, b lab.Unit) int { return cmp.Compare(a.ID, b.ID) })
	return out
}

// Units lists all units as they are now, by id.
func (w *Worker) Units() []lab.Unit { return w.shown.list() }

// Unit gives one unit.
func (w *Worker) Unit(id lab.UnitID) (lab.Unit, bool) {
	w.shown.mu.RLock()
	defer w.shown.mu.RUnlock()
	u, ok := w.shown.units[id]
	return u.view, ok
}

// Jobs lists where a person is needed, soonest first.
func (w *Worker) Jobs() []lab.Job {
	w.shown.mu.RLock()
	defer w.shown.mu.RUnlock()
	jobs := []lab.Job{}
	for _, u := range w.shown.units {
		jobs = append(jobs, u.jobs...)
	}
	slices.SortStableFunc(jobs, lab.SoonestFirst)
	return jobs
}

// OpenAlerts lists the open alerts, newest first.
func (w *Worker) OpenAlerts() []lab.Alert {
	w.shown.mu.RLock()
	defer w.shown.mu.RUnlock()
	return slices.Clone(w.shown.open)
}

// Faults lists the units that are not judged, or shown only as they were, by
// id.
func (w *Worker) Faults() []lab.Unit {
	return slices.DeleteFunc(w.Units(), func(u lab.Unit) bool { return u.Fault == nil })
}

// same tells whether a unit is shown as before.
func (u shownUnit) same(as shownUnit) bool { return bytes.Equal(u.json, as.json) }

func newShown(v lab.Unit) (u shownUnit, err error) {
	u.view = v
	u.json, err = json.Marshal(v)
	return u, err
}
