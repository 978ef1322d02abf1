package timeline

import (
	"fmt"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// silenceDue is the arrival time at which a unit counts as silent, if nothing more
// comes. Time counts only while the monitor is connected and up to date.
func (e *Engine) silenceDue(u *unit) time.Time {
	fig := &e.cfg.Data.Figures
	from := lab.Later(u.Arrivals.From, e.since)
	due := lab.Later(u.Arrivals.Last, from).Add(lab.Seconds(fig.SilentS))
	if u.Arrivals.Will.IsZero() {
		return due
	}
	byWill := lab.Later(u.Arrivals.Will, from).Add(lab.Seconds(fig.SilentWillS))
	if byWill.Before(due) {
		return byWill
	}
	return due
}

// silence judges every unit at arrival time now.
func (e *Engine) silence(now time.Time) {
	if e.paused || now.Before(e.due) {
		return
	}
	var gone []*unit
	next := time.Time{}
	for _, id := range e.byName {
		u := e.units[id]
		if u.Arrivals.Last.IsZero() || u.Arrivals.Silent != "" || !u.Arrivals.Offline.IsZero() {
			continue
		}
		due := e.silenceDue(u)
		if !due.After(now) {
			gone = append(gone, u)
		} else if next.IsZero() || due.Before(next) {
			next = due
		}
	}
	if next.IsZero() {
		next = now.Add(time.Second)
	}
	e.due = next
	slices.SortStableFunc(gone, func(a, b *unit) int { return e.silenceDue(a).Compare(e.silenceDue(b)) })
	for _, u := range gone {
		_ = e.guard(u.ID, func() error { e.goneSilent(u); return nil })
	}
}

// inRun tells whether silence of the unit matters.
func (u *unit) inRun() bool {
	now := u.State.Now()
	return now.InRun()
}

func (e *Engine) goneSilent(u *unit) {
	if u.Arrivals.Silent != "" || !u.Arrivals.Offline.IsZero() {
		return // it is part of another unit's alert by now
	}
	due := e.silenceDue(u)
	if !u.inRun() {
		u.Arrivals.Offline, u.Arrivals.OffAt = due, u.Arrivals.onUnitClock(due)
		u.touched = true
		u.clearOffline()
		return
	}
	with := e.silentTogether(u, due)
	priority := u.State.SilencePriority()
	msg := fmt.Sprintf("No data received for %s, last in %s", lab.SpanText(due.Sub(u.Arrivals.Last).Seconds()), rules.StepWords(u.State.Now().Step))
	if !u.Arrivals.Will.IsZero() {
		msg = fmt.Sprintf("Connection lost; no data received for %s since, last in %s", lab.SpanText(due.Sub(u.Arrivals.Will).Seconds()), rules.StepWords(u.State.Now().Step))
	}
	facts := map[string]any{"last_heard_at": lab.At(u.Arrivals.onUnitClock(u.Arrivals.Last)).String()}
	subject := ""
	if len(with) > 0 {
		subject = "network"
		names := []string{u.ID.Unit}
		for _, o := range with {
			names = append(names, o.ID.Unit)
			if p := o.State.SilencePriority(); p.Rank() > priority.Rank() {
				priority = p
			}
		}
		facts["units"] = names
		msg = fmt.Sprintf("No data received from any unit; %d are in a run. Look at the network first", len(names))
	}
	u.Arrivals.raise(u, &u.Arrivals.Silent, rules.RuleUnitSilent, subject, u.Arrivals.onUnitClock(due), priority, msg, facts)
	u.Arrivals.With = nil
	for _, o := range with {
		u.Arrivals.With = append(u.Arrivals.With, o.ID.String())
		o.Arrivals.Silent = u.Arrivals.Silent // it is cleared with that one
		o.touched = true
	}
}

// silentTogether gives the other units in a run where nothing at all of the lab
// has been received for a while: the network failed, and that is one alert.
func (e *Engine) silentTogether(first *unit, at time.Time) []*unit {
	var with []*unit
	limit := at.Add(-lab.Seconds(e.cfg.Data.Figures.SilentTogetherS))
	for _, id := range e.byName {
		u := e.units[id]
		if u == first || id.Lab != first.ID.Lab || u.Arrivals.Last.IsZero() || u.Arrivals.Silent != "" || !u.Arrivals.Offline.IsZero() {
			continue
		}
		if u.Arrivals.Last.After(limit) && u.Arrivals.Will.IsZero() {
			return nil
		}
		if u.inRun() {
			with = append(with, u)
		}
	}
	return with
}

// heardAgain ends the silence of a unit, and of those that fell silent with it:
// for them the wait begins anew.
func (e *Engine) heardAgain(u *unit, now time.Time) {
	if u.Arrivals.Silent == "" {
		return
	}
	for _, id := range e.byName {
		lead := e.units[id]
		if lead == u && len(lead.Arrivals.With) == 0 || lead.Arrivals.Silent != u.Arrivals.Silent {
			continue
		}
		if len(lead.Arrivals.With) > 0 || lead != u {
			e.networkBack(u.Arrivals.Silent, now, u)
			return
		}
	}
	u.Arrivals.clear(u, &u.Arrivals.Silent, u.Arrivals.onUnitClock(now))
}

func (e *Engine) networkBack(key string, now time.Time, heard *unit) {
	for _, id := range e.byName {
		o := e.units[id]
		if o.Arrivals.Silent != key {
			continue
		}
		if _, lead := o.Arrivals.Open[key]; lead {
			o.Arrivals.clear(o, &o.Arrivals.Silent, o.Arrivals.onUnitClock(now))
			o.Arrivals.With = nil
		}
		o.Arrivals.Silent = ""
		if o != heard {
			o.Arrivals.From = now // its wait begins anew
			o.Arrivals.Will = time.Time{}
		}
		o.touched = true
	}
	e.due = time.Time{}
}

// clearOffline clears power-lost of an idle unit that went offline: it was switched
// off.
func (u *unit) clearOffline() {
	if !u.Arrivals.Offline.IsZero() && !u.inRun() {
		u.State.SwitchedOff(u.Arrivals.OffAt)
	}
}
