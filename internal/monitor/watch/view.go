package watch

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

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
		f.openChanged()
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
	all := touched == nil && news == nil
	if all {
		touched = f.engine.Units()
		f.lastViews = now
		for unit, p := range f.units {
			if p.aside != nil {
				touched = append(touched, unit)
			}
		}
	}
	made, changed := map[lab.UnitID]shownUnit{}, []lab.Unit{}
	for _, unit := range touched {
		if _, done := made[unit]; done {
			continue
		}
		u, ok := f.make(unit, now)
		if !ok {
			continue
		}
		if old, ok := f.views[unit]; !ok || !old.same(u) {
			changed = append(changed, u.view)
		}
		f.views[unit], made[unit] = u, u
	}
	f.w.shown.put(made, all)
	if f.openMoved {
		f.w.shown.putOpen(newestFirst(f.open))
		f.openMoved = false
	}
	if len(changed) == 0 && len(news) == 0 {
		return
	}
	slices.SortFunc(changed, func(a, b lab.Unit) int { return cmp.Compare(a.ID, b.ID) })
	f.cfg.Publish(changed, news)
}

// make makes the view of one unit, and what waits for a person there.
func (f *folder) make(unit lab.UnitID, now time.Time) (shownUnit, bool) {
	v, ok := f.engine.View(unit, now)
	if p := f.units[unit]; !ok && p != nil && p.aside != nil {
		v, ok = f.asideView(unit, p.aside), true
	}
	if !ok {
		return shownUnit{}, false
	}
	f.dress(&v, unit)
	u, err := newShown(v)
	if err != nil {
		u = f.unwritable(unit, now, err)
	}
	u.jobs = f.jobs(unit, u.view, now)
	return u, true
}

// inTrouble lists the units whose view changes with time alone: what is to be
// done with film that stands in a bath. All others are shown anew when
// something comes of them, and with all when settings are read.
func (f *folder) inTrouble() []lab.UnitID {
	list := []lab.UnitID{} // not nil: that would be all
	for unit, u := range f.views {
		if u.view.Outlook != nil {
			list = append(list, unit)
		}
	}
	return list
}

// dress adds what the engine does not know: names, standing, open alerts.
func (f *folder) dress(v *lab.Unit, unit lab.UnitID) {
	set, ok := f.settings[unit.String()]
	v.Name, v.Standing = set.Name, set.Standing
	if !ok || set.Standing == "" {
		v.Standing = "new"
	}
	if v.Name == "" {
		v.Name = unit.Unit
	}
	if v.OpenAlerts = f.openByUnit()[v.ID]; v.OpenAlerts == nil {
		v.OpenAlerts = []string{}
	}
}

// openByUnit gives the ids of open alerts, the most pressing first.
func (f *folder) openByUnit() map[string][]string {
	if f.byUnit != nil {
		return f.byUnit
	}
	all := newestFirst(f.open)
	slices.SortStableFunc(all, func(a, b lab.Alert) int { return cmp.Compare(b.Priority.Rank(), a.Priority.Rank()) })
	f.byUnit = map[string][]string{}
	for _, a := range all {
		f.byUnit[a.Unit] = append(f.byUnit[a.Unit], a.ID)
	}
	return f.byUnit
}

// openChanged is called after every change of the open alerts.
func (f *folder) openChanged() { f.byUnit, f.openMoved = nil, true }

// jobs lists the jobs at a unit that is in use, that of an idle one behind
// what is due by a minute.
func (f *folder) jobs(unit lab.UnitID, v lab.Unit, now time.Time) []lab.Job {
	if outOfUse(v.Standing) {
		return nil
	}
	jobs := f.engine.Jobs(unit, now)
	if j, ok := rules.IdleJob(v); ok && v.Standing == lab.UnitAccepted {
		jobs = append(jobs, j)
	}
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
