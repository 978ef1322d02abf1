package replay

import (
	"cmp"
	"slices"

	"wetside/alerts"
	"wetside/internal/lab"
)

// Alerts are the occurrences that were found, each as the live service would show it if
// nobody ever acknowledged anything: all of one condition are one alert, known
// by the id of the first and counted.
func (r *Replay) Alerts() []lab.Alert {
	byKey := map[string][]alerts.Change{}
	for _, c := range r.found {
		byKey[c.Key] = append(byKey[c.Key], c)
	}
	var out []lab.Alert
	for _, list := range byKey {
		slices.SortFunc(list, func(a, b alerts.Change) int {
			return cmp.Or(a.RaisedAt.Compare(b.RaisedAt), cmp.Compare(a.ID, b.ID))
		})
		for i, c := range list {
			shown, _, _ := alerts.Apply(nil, []alerts.Change{{Occurrence: c.Occurrence, Noticed: c.Noticed, FoundAfterwards: c.FoundAfterwards}}, c.Noticed, alerts.Policy{})
			for _, a := range shown {
				a.ID, a.Alert.Occurrence = list[0].ID, i+1
				if a.Facts == nil {
					a.Facts = map[string]any{}
				}
				out = append(out, a.Alert)
			}
		}
	}
	return out
}

// nameAlerts gives each run the ids of its alerts, in the order of found: the
// fold knows occurrences, and not those that are judged on arrival.
func nameAlerts(found []lab.Alert, runs []lab.Run) {
	for i := range runs {
		ids := []string{}
		for _, a := range found {
			if a.Run == runs[i].ID && !slices.Contains(ids, a.ID) {
				ids = append(ids, a.ID)
			}
		}
		runs[i].Alerts = ids
	}
}

// Arrange puts what replays found in the order in which it is given out, and
// names in each run its alerts.
func Arrange(found []lab.Alert, runs []lab.Run) {
	slices.SortFunc(found, func(a, b lab.Alert) int {
		return cmp.Or(a.RaisedAt.Compare(b.RaisedAt.Time), cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.Rule, b.Rule),
			cmp.Compare(a.ID, b.ID), cmp.Compare(a.Occurrence, b.Occurrence))
	})
	slices.SortFunc(runs, func(a, b lab.Run) int {
		return cmp.Or(a.StartedAt.Compare(b.StartedAt.Time), cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.ID, b.ID))
	})
	nameAlerts(found, runs)
}
