package timeline

import (
	"fmt"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// silenceDue is when a unit counts as silent, by arrival time. The clock runs
// only while the monitor is connected and caught up.
func (e *Engine) silenceDue(w *unit) time.Time {
	fig := &e.cfg.Data.Figures
	from := lab.Later(w.Arr.From, e.since)
	due := lab.Later(w.Arr.Last, from).Add(lab.Seconds(fig.SilentS))
	if w.Arr.Will.IsZero() {
		return due
	}
	byWill := lab.Later(w.Arr.Will, from).Add(lab.Seconds(fig.SilentWillS))
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
		if w.Arr.Last.IsZero() || w.Arr.Silent != "" || !w.Arr.Offline.IsZero() {
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
	if w.Arr.Silent != "" || !w.Arr.Offline.IsZero() {
		return // it went with another
	}
	due := e.silenceDue(w)
	if !w.inRun() {
		w.Arr.Offline, w.Arr.OffAt = due, w.Arr.onUnitClock(due)
		w.touched = true
		w.offlineClears()
		return
	}
	with := e.silentTogether(w, due)
	priority := w.State.SilencePriority()
	msg := fmt.Sprintf("No data received for %s, last in %s", lab.SpanText(due.Sub(w.Arr.Last).Seconds()), rules.StepWords(w.State.Now().Step))
	if !w.Arr.Will.IsZero() {
		msg = fmt.Sprintf("Connection lost; no data received for %s since, last in %s", lab.SpanText(due.Sub(w.Arr.Will).Seconds()), rules.StepWords(w.State.Now().Step))
	}
	facts := map[string]any{"last_heard_at": lab.At(w.Arr.onUnitClock(w.Arr.Last)).String()}
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
	w.Arr.raise(w, &w.Arr.Silent, rules.RuleUnitSilent, subject, w.Arr.onUnitClock(due), priority, msg, facts)
	w.Arr.With = nil
	for _, o := range with {
		w.Arr.With = append(w.Arr.With, o.Unit.String())
		o.Arr.Silent = w.Arr.Silent // closed when the network is back
		o.touched = true
	}
}

// silentTogether gives the other units in a run when nothing at all of the
// lab has been heard for a while: one failure, one alert.
func (e *Engine) silentTogether(first *unit, at time.Time) []*unit {
	var with []*unit
	limit := at.Add(-lab.Seconds(e.cfg.Data.Figures.SilentTogetherS))
	for _, u := range e.order {
		w := e.units[u]
		if w == first || u.Lab != first.Unit.Lab || w.Arr.Last.IsZero() || w.Arr.Silent != "" || !w.Arr.Offline.IsZero() {
			continue
		}
		if w.Arr.Last.After(limit) && w.Arr.Will.IsZero() {
			return nil
		}
		if w.inRun() {
			with = append(with, w)
		}
	}
	return with
}

// heardAgain ends the silence of a unit, and of those that fell silent with
// it: their clocks start anew.
func (e *Engine) heardAgain(w *unit, now time.Time) {
	if w.Arr.Silent == "" {
		return
	}
	for _, u := range e.order {
		lead := e.units[u]
		if lead == w && len(lead.Arr.With) == 0 || lead.Arr.Silent != w.Arr.Silent {
			continue
		}
		if len(lead.Arr.With) > 0 || lead != w {
			e.networkBack(w.Arr.Silent, now, w)
			return
		}
	}
	w.Arr.clear(w, &w.Arr.Silent, w.Arr.onUnitClock(now))
}

func (e *Engine) networkBack(key string, now time.Time, heard *unit) {
	for _, u := range e.order {
		o := e.units[u]
		if o.Arr.Silent != key {
			continue
		}
		if _, lead := o.Arr.Open[key]; lead {
			o.Arr.clear(o, &o.Arr.Silent, o.Arr.onUnitClock(now))
			o.Arr.With = nil
		}
		o.Arr.Silent = ""
		if o != heard {
			o.Arr.From = now // its clock starts anew
			o.Arr.Will = time.Time{}
		}
		o.touched = true
	}
	e.due = time.Time{}
}

// offlineClears ends what an idle unit that went offline leaves behind.
func (w *unit) offlineClears() {
	if !w.Arr.Offline.IsZero() && !w.inRun() {
		w.State.SwitchedOff(w.Arr.OffAt)
	}
}
