package alerts

import (
	"slices"

	"wetside/internal/lab"
)

// settle works out where the alerts of a condition stand now, later ones
// first: what they leave decides whether an earlier one goes on.
func (p *pass) settle(key string) {
	for _, e := range slices.Backward(p.entries) {
		if e.a.Key == key {
			p.stand(e)
		}
	}
}

// stand works out where one alert stands.
func (p *pass) stand(e *entry) {
	a := &e.a
	wasOpen := a.State != "" && e.open()
	rename(a)
	at := current(a.Episodes)
	if at < 0 {
		a.State, a.Withdrawn = lab.Closed, true
		return
	}
	ep := a.Episodes[at]
	show(a, ep)
	state := stateOf(ep, a.AcknowledgedAt != nil)
	revived := a.Withdrawn
	a.Withdrawn = false
	if a.State == lab.Closed && state != lab.Closed && !revived && p.otherOpen(e) {
		// It went on to be another alert, which is the one to look at.
		return
	}
	a.State = state
	if wasOpen && state == lab.Closed {
		p.log(e, ep.Number, lab.EventClosed, "")
	}
}

// otherOpen tells whether the condition has an open alert besides e.
func (p *pass) otherOpen(e *entry) bool {
	for _, o := range p.entries {
		if o != e && o.a.Key == e.a.Key && o.open() && o.a.State != "" {
			return true
		}
	}
	return false
}

// unshelve ends a shelving whose time is up.
func (p *pass) unshelve(e *entry) {
	if !e.open() || e.a.ShelvedUntil == nil || e.a.ShelvedUntil.After(p.now) {
		return
	}
	p.log(e, e.a.Alert.Occurrence, lab.EventUnshelved, "the shelving ended")
	e.a.ShelvedUntil, e.a.ShelvedBy, e.a.ShelvedReason = nil, "", ""
}

// page makes the pages that are due for an alert: for each occurrence that is
// new, though it may be over by now, and for the one it stands at while that
// lasts. The first page of an occurrence is step 0. One more goes out, as the
// next step, when it becomes urgent after people were told of something less.
func (p *pass) page(e *entry) {
	if !e.open() || e.a.ShelvedUntil != nil || e.a.Held != "" {
		return
	}
	at := current(e.a.Episodes)
	for i := range e.a.Episodes {
		ep := &e.a.Episodes[i]
		due := e.fresh[ep.Number] || i == at && !over(*ep)
		if !due || ep.Withdrawn || ep.FoundAfterwards || !worthPaging(ep.Told, ep.Priority) {
			continue
		}
		p.pages = append(p.pages, lab.Page{
			AlertID: e.a.ID, Occurrence: ep.Number, Step: ep.Pages, Priority: ep.Priority, CreatedAt: p.now,
		})
		ep.Pages++
		ep.Told = ep.Priority
	}
}

// worthPaging tells whether people who know of something as pressing as told
// ("" where they know nothing) need to hear that it is p.
func worthPaging(told, p lab.Priority) bool {
	switch {
	case p.Rank() < lab.High.Rank() || p.Rank() <= told.Rank():
		return false
	case told.Rank() < lab.High.Rank():
		return true
	}
	return p == lab.Urgent
}
