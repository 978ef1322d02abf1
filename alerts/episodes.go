package alerts

import (
	"slices"
	"time"

	"wetside/internal/lab"
)

// maxEpisodes bounds what is kept of an alert that flaps all day. The first
// stays, for the alert's id; the ids of all stay in FormerIDs.
const maxEpisodes = 64

// clone gives a copy of a that Apply may change.
func clone(a lab.StoredAlert) lab.StoredAlert {
	a.FormerIDs = slices.Clone(a.FormerIDs)
	a.Episodes = slices.Clone(episodesOf(a))
	return a
}

// episodesOf gives a's episodes; an alert that was stored without them gets
// the one it stands at.
func episodesOf(a lab.StoredAlert) []lab.Episode {
	if len(a.Episodes) > 0 {
		return a.Episodes
	}
	unit, _ := lab.ParseUnitID(a.Unit)
	ep := lab.Episode{
		Occurrence: lab.Occurrence{
			Key: a.Key, ID: a.LastOccID, Rule: a.Rule, Unit: unit, RunID: a.Run, Step: a.Step,
			Subject: a.Subject, Priority: a.Priority, RaisedAt: a.RaisedAt.Time, Latched: a.Latched,
			Message: a.Message, Consequence: a.Consequence, Response: a.Response, Facts: a.Facts,
		},
		Number: max(1, a.Occurrence), Noticed: a.NoticedAt.Time,
		FoundAfterwards: a.FoundAfterwards, Withdrawn: a.Withdrawn,
	}
	if ep.ID == "" {
		ep.ID = a.ID
	}
	if a.ClearedAt != nil {
		ep.ClearedAt = a.ClearedAt.Time
	}
	if a.Priority.Rank() >= lab.High.Rank() && !a.FoundAfterwards {
		ep.Pages, ep.Told = 1, a.Priority
	}
	return []lab.Episode{ep}
}

// current is the index of the episode that an alert stands at: the latest
// that was not withdrawn, -1 where all were.
func current(eps []lab.Episode) int {
	at := -1
	for i, ep := range eps {
		if !ep.Withdrawn && (at < 0 || !before(ep, eps[at])) {
			at = i
		}
	}
	return at
}

// before orders episodes by when they began.
func before(a, b lab.Episode) bool {
	if !a.RaisedAt.Equal(b.RaisedAt) {
		return a.RaisedAt.Before(b.RaisedAt)
	}
	return a.Number < b.Number
}

// over tells whether an episode has returned to normal. A latched one stays
// until it is acknowledged, unless it was over before anybody could know.
func over(ep lab.Episode) bool {
	return !ep.ClearedAt.IsZero() && (!ep.Latched || ep.FoundAfterwards)
}

// stateOf is the state that follows from the episode an alert stands at and
// whether it was acknowledged.
func stateOf(ep lab.Episode, acknowledged bool) lab.AlertState {
	switch {
	case acknowledged && (over(ep) || ep.Latched):
		return lab.Closed
	case acknowledged:
		return lab.Acknowledged
	case over(ep):
		return lab.ClearedUnacknowledged
	}
	return lab.Unacknowledged
}

// nextNumber is a number that no occurrence of the alert had before, so that
// a page for it never looks like a page for another.
func nextNumber(a lab.StoredAlert) int {
	n := a.Occurrence
	for _, ep := range a.Episodes {
		n = max(n, ep.Number)
	}
	return n + 1
}

// insert adds ep in the order of beginnings and keeps the number in bounds.
func insert(eps []lab.Episode, ep lab.Episode) []lab.Episode {
	at := len(eps)
	for at > 0 && before(ep, eps[at-1]) {
		at--
	}
	eps = slices.Insert(eps, at, ep)
	if len(eps) > maxEpisodes {
		eps = slices.Delete(eps, 1, 2)
	}
	return eps
}

// show writes what the alert shows of the episode it stands at.
func show(a *lab.StoredAlert, ep lab.Episode) {
	a.Key, a.Latched, a.LastOccID = ep.Key, ep.Latched, ep.ID
	a.Rule, a.Unit, a.Run, a.Step, a.Subject = ep.Rule, ep.Unit.String(), ep.RunID, ep.Step, ep.Subject
	a.Priority, a.Alert.Occurrence = ep.Priority, ep.Number
	a.RaisedAt, a.NoticedAt = lab.At(ep.RaisedAt), lab.At(ep.Noticed)
	a.FoundAfterwards = ep.FoundAfterwards
	a.ClearedAt = nil
	if over(ep) {
		a.ClearedAt = lab.AtPtr(ep.ClearedAt)
	}
	a.Message, a.Consequence, a.Response, a.Facts = ep.Message, ep.Consequence, ep.Response, ep.Facts
}

// rename lets the alert's id follow its occurrence when late evidence moved
// that or took it back, and keeps every id that it or an occurrence ever had.
func rename(a *lab.StoredAlert) {
	ids := append(slices.Clone(a.FormerIDs), a.ID)
	for _, ep := range a.Episodes {
		ids = append(append(ids, ep.Was...), ep.ID)
	}
	if !slices.ContainsFunc(a.Episodes, func(ep lab.Episode) bool { return names(ep) && ep.ID == a.ID }) {
		if i := slices.IndexFunc(a.Episodes, names); i >= 0 {
			a.ID = a.Episodes[i].ID
		}
	}
	a.FirstID = a.ID
	kept := a.FormerIDs[:0:0]
	for _, id := range ids {
		if id != "" && id != a.ID && !slices.Contains(kept, id) {
			kept = append(kept, id)
		}
	}
	a.FormerIDs = kept
}

// names tells whether an episode's id may be its alert's.
func names(ep lab.Episode) bool { return !ep.Withdrawn && !ep.Elsewhere }

// mention says a moment in a note.
func mention(t time.Time) string { return lab.At(t).String() }
