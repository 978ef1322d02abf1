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
func (e *Engine) silenceDue(w *unit) time.Time {
	fig := &e.cfg.Data.Figures
	from := lab.Later(w.Arrivals.From, e.since)
	due := lab.Later(w.Arrivals.Last, from).Add(lab.Seconds(fig.SilentS))
	if w.Arrivals.Will.IsZero() {
		return due
	}
	byWill := lab.Later(w.Arrivals.Will, from).Add(lab.Seconds(fig.SilentWillS))
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
	for _, u := range e.order {
		w := e.units[u]
		if w.Arrivals.Last.IsZero() || w.Arrivals.Silent != "" || !w.Arrivals.Offline.IsZero() {
			continue
		}
		due := e.silenceDue(w)
		if !due.After(now) {
			gone = append(gone, w)
		} else if next.IsZero() || due.Before(next) {
			next = due
		}
	}
	if next.IsZero() {
		next = now.Add(time.Second)
	}
	e.due = next
	slices.SortStableFunc(gone, func(a, b *unit) int { return e.silenceDue(a).Compare(e.silenceDue(b)) })
	for _, w := range gone {
		_ = e.guard(w.Unit, func() error { e.goneSilent(w); return nil })
	}
}

// inRun tells whether silence of the unit matters.
func (w *unit) inRun() bool {
	now := w.State.Now()
	return now.InRun()
}

func (e *Engine) goneSilent(w *unit) {
	if w.Arrivals.Silent != "" || !w.Arrivals.Offline.IsZero() {
		return // it is part of another unit's alert by now
	}
	due := e.silenceDue(w)
	if !w.inRun() {
		w.Arrivals.Offline, w.Arrivals.OffAt = due, w.Arrivals.onUnitClock(due)
		w.touched = true
		w.clearOffline()
		return
	}
	with := e.silentTogether(w, due)
	priority := w.State.SilencePriority()
	msg := fmt.Sprintf("No data received for %s, last in %s", lab.SpanText(due.Sub(w.Arrivals.Last).Seconds()), rules.StepWords(w.State.Now().Step))
	if !w.Arrivals.Will.IsZero() {
		msg = fmt.Sprintf("Connection lost; no data received for %s since, last in %s", lab.SpanText(due.Sub(w.Arrivals.Will).Seconds()), rules.StepWords(w.State.Now().Step))
	}
	facts := map[string]any{"last_heard_at": lab.At(w.Arrivals.onUnitClock(w.Arrivals.Last)).String()}
	subject := ""
	if len(with) > 0 {
		subject = "network"
		names := []string{w.Unit.Unit}
		for _, o := range with {
			names = append(names, o.Unit.Unit)
			if p := o.State.SilencePriority(); p.Rank() > priority.Rank() {
				priority = p
			}
		}
		facts["units"] = names
		msg = fmt.Sprintf("No data received from any unit; %d are in a run. Look at the network first", len(names))
	}
	w.Arrivals.raise(w, &w.Arrivals.Silent, rules.RuleUnitSilent, subject, w.Arrivals.onUnitClock(due), priority, msg, facts)
	w.Arrivals.With = nil
	for _, o := range with {
		w.Arrivals.With = append(w.Arrivals.With, o.Unit.String())
		o.Arrivals.Silent = w.Arrivals.Silent // it is cleared with that one
		o.touched = true
	}
}

// silentTogether gives the other units in a run where nothing at all of the lab
// has been received for a while: the network failed, and that is one alert.
func (e *Engine) silentTogether(first *unit, at time.Time) []*unit {
	var with []*unit
	limit := at.Add(-lab.Seconds(e.cfg.Data.Figures.SilentTogetherS))
	for _, u := range e.order {
		w := e.units[u]
		if w == first || u.Lab != first.Unit.Lab || w.Arrivals.Last.IsZero() || w.Arrivals.Silent != "" || !w.Arrivals.Offline.IsZero() {
			continue
		}
		if w.Arrivals.Last.After(limit) && w.Arrivals.Will.IsZero() {
			return nil
		}
		if w.inRun() {
			with = append(with, w)
		}
	}
	return with
}

// heardAgain ends the silence of a unit, and of those that fell silent with it:
// for them the wait begins anew.
func (e *Engine) heardAgain(w *unit, now time.Time) {
	if w.Arrivals.Silent == "" {
		return
	}
	for _, u := range e.order {
		lead := e.units[u]
		if lead == w && len(lead.Arrivals.With) == 0 || lead.Arrivals.Silent != w.Arrivals.Silent {
			continue
		}
		if len(lead.Arrivals.With) > 0 || lead != w {
			e.networkBack(w.Arrivals.Silent, now, w)
			return
		}
	}
	w.Arrivals.clear(w, &w.Arrivals.Silent, w.Arrivals.onUnitClock(now))
}

func (e *Engine) networkBack(key string, now time.Time, heard *unit) {
	for _, u := range e.order {
		o := e.units[u]
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
func (w *unit) clearOffline() {
	if !w.Arrivals.Offline.IsZero() && !w.inRun() {
		w.State.SwitchedOff(w.Arrivals.OffAt)
	}
}
