package alerts

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"wetside/internal/lab"
)

// Apply applies changes, in their order, to the alerts of their conditions as
// they are stored. It gives those that changed (closed ones first, so that a
// store which allows one open alert a condition can write them one by one),
// the entries of their histories and the pages to send.
//
// current must hold, for each key of the changes, the open alert or else the
// latest, and whatever alert has one of the occurrence ids. Alerts that no
// change speaks of may be there too: Apply ends their shelving when its time
// is up and makes the page that shelving held back.
//
// What policy holds back is not paged; the page goes out with the first Apply
// that finds the alert lasting and no longer held.
func Apply(current []lab.StoredAlert, changes []Change, now time.Time, policy Policy) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
	p := &pass{now: now.UTC(), policy: policy}
	for _, a := range current {
		p.entries = append(p.entries, &entry{stored: a, a: clone(a)})
	}
	for _, e := range p.entries {
		p.unshelve(e)
	}
	for _, c := range changes {
		p.take(c)
		p.settle(c.Key)
		p.tell(func(e *entry) bool { return e.a.Key == c.Key }) // at once: many changes page as they would one by one
	}
	p.tell(func(e *entry) bool { return !e.told })
	return p.changed(), p.events(), p.pages
}

// tell makes the pages that are due for some of the alerts.
func (p *pass) tell(which func(*entry) bool) {
	for _, e := range p.entries {
		if which(e) {
			p.hold(e)
			p.page(e)
			e.told = true
		}
	}
}

// entry is one alert while Apply works on it.
type entry struct {
	stored lab.StoredAlert
	a      lab.StoredAlert
	made   bool         // by this Apply
	told   bool         // its pages were made
	fresh  map[int]bool // numbers of the occurrences that this Apply added
}

// open tells whether there is something left to do.
func (e *entry) open() bool { return e.a.State != lab.Closed }

// pass is one call of Apply at work.
type pass struct {
	now     time.Time
	policy  Policy
	entries []*entry
	logged  []logged
	pages   []lab.Page
}

// logged is a history entry whose alert's id is not certain yet.
type logged struct {
	of *entry
	ev lab.AlertEvent
}

// take puts one change where it belongs.
func (p *pass) take(c Change) {
	e, i := p.find(c.Key, c.Was)
	moved := e != nil && c.Was != c.ID && !p.stale(c)
	if !moved {
		e, i = p.find(c.Key, c.ID)
	}
	switch {
	case e == nil && (c.Withdrawn || p.known(c)):
		// Never told of, or told of and over with long ago.
	case e == nil:
		p.add(c)
	case e.a.Episodes[i].Withdrawn && !c.Withdrawn && !p.mayRevive(e):
		p.add(c)
	case moved:
		p.move(e, i, c)
	default:
		p.update(e, i, c)
	}
}

// stale tells whether the change has already been applied under the id it
// moves to.
func (p *pass) stale(c Change) bool {
	e, i := p.find(c.Key, c.ID)
	return e != nil && !e.a.Episodes[i].Withdrawn
}

// find gives the alert and the index of the episode with an id; one that
// stands before one that was withdrawn, and later alerts before earlier.
func (p *pass) find(key, id string) (*entry, int) {
	if id == "" {
		return nil, -1
	}
	var taken *entry
	at := -1
	for _, e := range slices.Backward(p.entries) {
		if e.a.Key != key {
			continue
		}
		for i, ep := range e.a.Episodes {
			if ep.ID != id {
				continue
			}
			if !ep.Withdrawn {
				return e, i
			}
			taken, at = e, i
		}
	}
	return taken, at
}

// known tells whether an alert already stands for the change's id: the id of
// an occurrence that was moved since, or one too old to be kept in full.
func (p *pass) known(c Change) bool {
	for _, e := range p.entries {
		if e.a.Key != c.Key || (e.a.ID != c.ID && !slices.Contains(e.a.FormerIDs, c.ID)) {
			continue
		}
		gone := false // it was moved, and what it became was withdrawn
		for _, ep := range e.a.Episodes {
			gone = gone || ep.Withdrawn && slices.Contains(ep.Was, c.ID)
		}
		if !gone {
			return true
		}
	}
	return false
}

// openOf gives the open alert of a condition.
func (p *pass) openOf(key string) *entry {
	for _, e := range p.entries {
		if e.a.Key == key && e.open() {
			return e
		}
	}
	return nil
}

// mayRevive tells whether an occurrence that was withdrawn can come back in
// its own alert: it is open, or it was closed only because nothing stood.
func (p *pass) mayRevive(e *entry) bool {
	return e.open() || e.a.Withdrawn && p.openOf(e.a.Key) == nil
}

// add begins an occurrence: of the open alert of its condition, else of a new
// one.
func (p *pass) add(c Change) {
	ep := lab.Episode{Occurrence: c.Occurrence, Number: 1, Noticed: c.Noticed, FoundAfterwards: c.FoundAfterwards}
	what, note := lab.EventRaised, ""
	e := p.openOf(c.Key)
	if e == nil {
		e = &entry{made: true, a: lab.StoredAlert{Alert: lab.Alert{ID: c.ID}}}
		e.a.Key = c.Key
		p.entries = append(p.entries, e)
	} else {
		ep.Number, what = nextNumber(e.a), lab.EventReturned
		ep.Elsewhere = slices.ContainsFunc(p.entries, func(o *entry) bool { return o != e && o.a.ID == c.ID })
	}
	was := -1
	if len(e.a.Episodes) > 0 {
		was = e.a.Episodes[len(e.a.Episodes)-1].Number
	}
	e.a.Episodes = insert(e.a.Episodes, ep)
	if at := current(e.a.Episodes); e.a.Episodes[at].Number == ep.Number {
		// Nobody has seen this one.
		e.a.AcknowledgedAt, e.a.AcknowledgedBy = nil, ""
	} else {
		note = fmt.Sprintf("late data: raised at %s, before occurrence %d", mention(ep.RaisedAt), was)
	}
	if e.fresh == nil {
		e.fresh = map[int]bool{}
	}
	e.fresh[ep.Number] = true
	p.log(e, ep.Number, what, note)
	if over(ep) {
		p.log(e, ep.Number, lab.EventCleared, "")
	}
}

// move gives an occurrence the id and the beginning that late evidence found.
// What people did to it stays with it.
func (p *pass) move(e *entry, i int, c Change) {
	ep := &e.a.Episodes[i]
	was := fmt.Sprintf("late data: raised at %s, before that taken to be %s", mention(c.RaisedAt), mention(ep.RaisedAt))
	ep.Was = append(slices.Clone(ep.Was), ep.ID)
	if at := slices.Index(ep.Was, c.ID); at >= 0 {
		ep.Was = slices.Delete(ep.Was, at, at+1) // back to where it had been
	}
	number := ep.Number
	p.log(e, number, lab.EventMoved, was)
	p.update(e, i, c)
	slices.SortStableFunc(e.a.Episodes, func(a, b lab.Episode) int {
		if before(a, b) {
			return -1
		}
		return 1
	})
}

// update writes what the rules now say of an occurrence.
func (p *pass) update(e *entry, i int, c Change) {
	ep := &e.a.Episodes[i]
	old := *ep
	if c.Withdrawn {
		if ep.ID = c.ID; !old.Withdrawn {
			ep.Withdrawn = true
			p.log(e, ep.Number, lab.EventWithdrawn, "withdrawn: later data shows that it did not happen")
		}
		return
	}
	ep.Occurrence, ep.Withdrawn = c.Occurrence, false
	// What was noticed while it lasted stays so, also where a state of another
	// version made the unit be folded again long after.
	if ep.Noticed.IsZero() || c.Noticed.Before(ep.Noticed) {
		ep.Noticed, ep.FoundAfterwards = c.Noticed, c.FoundAfterwards
	}
	switch {
	case old.Withdrawn:
		p.log(e, ep.Number, lab.EventReturned, "later data: it did happen after all")
		if over(*ep) {
			p.log(e, ep.Number, lab.EventCleared, "")
		}
	case over(*ep) && !over(old):
		p.log(e, ep.Number, lab.EventCleared, "")
	case over(old) && !over(*ep):
		p.log(e, ep.Number, lab.EventReturned, "later data: it had not cleared")
	}
	if !old.Withdrawn && ep.Priority != old.Priority {
		p.log(e, ep.Number, lab.EventPriority, fmt.Sprintf("%s, was %s", ep.Priority, old.Priority))
	}
}

// log adds an entry to an alert's history.
func (p *pass) log(e *entry, occurrence int, what, note string) {
	p.logged = append(p.logged, logged{e, lab.AlertEvent{Occurrence: occurrence, At: p.now, What: what, Note: note}})
}

// events gives the history entries under the ids that the alerts have now.
func (p *pass) events() []lab.AlertEvent {
	var out []lab.AlertEvent
	for _, l := range p.logged {
		l.ev.AlertID = l.of.a.ID
		out = append(out, l.ev)
	}
	return out
}

// changed gives the alerts that are not as they were stored, closed ones first.
func (p *pass) changed() []lab.StoredAlert {
	var closed, open []lab.StoredAlert
	for _, e := range p.entries {
		switch {
		case !e.made && same(e.stored, e.a):
		case e.open():
			open = append(open, e.a)
		default:
			closed = append(closed, e.a)
		}
	}
	return append(closed, open...)
}

// same compares what is stored. Facts that have been through JSON have other
// types than fresh ones, so JSON is what is compared.
func same(a, b lab.StoredAlert) bool {
	ja, errA := json.Marshal(a)
	jb, errB := json.Marshal(b)
	return errA == nil && errB == nil && bytes.Equal(ja, jb)
}
