package watch

import (
	"cmp"
	"maps"
	"reflect"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// snapshot is what others may read. It is never changed once shown.
type snapshot struct {
	units []lab.Unit
	byID  map[string]lab.Unit
	jobs  []lab.Job
	open  []lab.Alert
}

// Units lists all units as they are now, by id.
func (w *Worker) Units() []lab.Unit { return slices.Clone(w.shown.Load().units) }

// Unit gives one unit.
func (w *Worker) Unit(id lab.UnitID) (lab.Unit, bool) {
	u, ok := w.shown.Load().byID[id.String()]
	return u, ok
}

// Jobs lists where a person is needed, soonest first.
func (w *Worker) Jobs() []lab.Job { return slices.Clone(w.shown.Load().jobs) }

// OpenAlerts lists the open alerts, newest first.
func (w *Worker) OpenAlerts() []lab.Alert { return slices.Clone(w.shown.Load().open) }

// tell takes in alerts that changed, and passes them on with the units.
func (f *folder) tell(now time.Time, touched []lab.UnitID, changed []lab.StoredAlert) {
	touched = slices.Clone(touched)
	var news []lab.Alert
	for _, a := range changed {
		for _, id := range a.FormerIDs {
			if old, ok := f.open[id]; ok {
				// It goes on under another id: who shows the old one must
				// take it away.
				delete(f.open, id)
				old.State, old.Withdrawn = lab.Closed, true
				news = append(news, old)
			}
		}
		if a.State == lab.Closed {
			delete(f.open, a.ID)
		} else {
			f.open[a.ID] = a.Alert
		}
		news = append(news, a.Alert)
		if unit, err := lab.ParseUnitID(a.Unit); err == nil {
			touched = append(touched, unit)
		}
	}
	f.publish(now, touched, news)
}

// show makes the views of the touched units anew, of all where touched is
// nil, and passes on those that changed.
func (f *folder) show(now time.Time, touched []lab.UnitID) { f.publish(now, touched, nil) }

func (f *folder) publish(now time.Time, touched []lab.UnitID, news []lab.Alert) {
	if touched == nil && news == nil {
		touched = f.engine.Units()
		f.lastViews = now
		for unit, p := range f.units {
			if p.aside != nil {
				touched = append(touched, unit)
			}
		}
	}
	openOf := f.openByUnit()
	changed := map[lab.UnitID]lab.Unit{}
	for _, unit := range touched {
		v, ok := f.engine.View(unit, now)
		if p := f.units[unit]; !ok && p != nil && p.aside != nil {
			v, ok = f.asideView(unit, p.aside), true
		}
		if !ok {
			continue
		}
		v = f.shown(v, unit, now)
		f.dress(&v, unit, openOf[unit.String()])
		if old, ok := f.views[unit]; !ok || !reflect.DeepEqual(old, v) {
			f.views[unit] = v
			changed[unit] = v
		}
	}
	if len(changed) == 0 && len(news) == 0 {
		return
	}
	s := &snapshot{units: sortUnits(f.views), byID: map[string]lab.Unit{}, jobs: f.jobs(now), open: newestFirst(f.open)}
	for _, u := range s.units {
		s.byID[u.ID] = u
	}
	f.w.shown.Store(s)
	f.cfg.Publish(sortUnits(changed), news)
}

// dress adds what the engine does not know: names, standing, open alerts.
func (f *folder) dress(v *lab.Unit, unit lab.UnitID, open []string) {
	set, ok := f.settings[unit.String()]
	v.Name, v.Standing = set.Name, set.Standing
	if !ok || set.Standing == "" {
		v.Standing = "new"
	}
	if v.Name == "" {
		v.Name = unit.Unit
	}
	v.OpenAlerts = open
	if v.OpenAlerts == nil {
		v.OpenAlerts = []string{}
	}
}

// openByUnit gives the ids of open alerts, the most pressing first.
func (f *folder) openByUnit() map[string][]string {
	all := newestFirst(f.open)
	slices.SortStableFunc(all, func(a, b lab.Alert) int { return cmp.Compare(b.Priority.Rank(), a.Priority.Rank()) })
	out := map[string][]string{}
	for _, a := range all {
		out[a.Unit] = append(out[a.Unit], a.ID)
	}
	return out
}

// jobs lists the jobs at units that are in use, those of idle units behind
// what is due by a minute.
func (f *folder) jobs(now time.Time) []lab.Job {
	jobs := slices.DeleteFunc(slices.Clone(f.engine.Jobs(now)), func(j lab.Job) bool {
		standing := f.settings[j.Unit].Standing
		return outOfUse(standing)
	})
	for _, v := range f.views {
		if j, ok := rules.IdleJob(v); ok && v.Standing == lab.UnitAccepted {
			jobs = append(jobs, j)
		}
	}
	slices.SortFunc(jobs, lab.SoonestFirst)
	return jobs
}

func outOfUse(standing string) bool {
	return standing == lab.UnitRetired || standing == lab.UnitOutOfService
}

func newestFirst(open map[string]lab.Alert) []lab.Alert {
	return slices.SortedFunc(maps.Values(open), func(a, b lab.Alert) int {
		return cmp.Or(b.RaisedAt.Compare(a.RaisedAt.Time), cmp.Compare(a.ID, b.ID))
	})
}
