package rules

import (
	"fmt"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// silenceDue is when a unit counts as silent, by arrival time. The clock runs
// only while the monitor is connected and caught up.
func (e *Engine) silenceDue(w *watch) time.Time {
	fig := &e.cfg.Data.Figures
	from := maxTime(w.Arr.From, e.since)
	due := maxTime(w.Arr.Last, from).Add(sec(fig.SilentS))
	if w.Arr.Will.IsZero() {
		return due
	}
	byWill := maxTime(w.Arr.Will, from).Add(sec(fig.SilentWillS))
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
	var gone []*watch
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
	slices.SortStableFunc(gone, func(a, b *watch) int { return e.silenceDue(a).Compare(e.silenceDue(b)) })
	for _, w := range gone {
		_ = e.guard(w.Unit, func() error { e.goneSilent(w); return nil })
	}
}

// inRun tells whether silence of the unit matters: drying counts as idle.
func (w *watch) inRun() bool {
	return w.State.running() && w.State.Phase != lab.PhaseDrying
}

func (e *Engine) goneSilent(w *watch) {
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
	priority := e.silentPriority(w)
	msg := fmt.Sprintf("No data received for %s, last in %s", span(due.Sub(w.Arr.Last).Seconds()), stepWords(w.fold().stepID()))
	if !w.Arr.Will.IsZero() {
		msg = fmt.Sprintf("Connection lost; no data received for %s since, last in %s", span(due.Sub(w.Arr.Will).Seconds()), stepWords(w.fold().stepID()))
	}
	facts := map[string]any{"last_heard_at": lab.At(w.Arr.onUnitClock(w.Arr.Last)).String()}
	subject := ""
	if len(with) > 0 {
		subject = "network"
		names := []string{w.Unit.Unit}
		for _, o := range with {
			names = append(names, o.Unit.Unit)
			if p := e.silentPriority(o); p.Rank() > priority.Rank() {
				priority = p
			}
		}
		facts["units"] = names
		msg = fmt.Sprintf("No data received from any unit; %d are in a run. Look at the network first", len(names))
	}
	w.Arr.raise(w, &w.Arr.Silent, RuleUnitSilent, subject, w.Arr.onUnitClock(due), priority, msg, facts)
	w.Arr.With = nil
	for _, o := range with {
		w.Arr.With = append(w.Arr.With, o.Unit.String())
		o.Arr.Silent = w.Arr.Silent // closed when the network is back
		o.touched = true
	}
}

func (e *Engine) silentPriority(w *watch) lab.Priority {
	sp := w.fold().spec(w.State.cur())
	c := w.State.cur()
	inDev := sp != nil && sp.Kind == process.Dev && w.State.Run.film() && !c.BathT.IsZero() && c.EndT.IsZero()
	if inDev || w.State.Power.Source == lab.SourceBattery {
		return lab.Urgent
	}
	return lab.High
}

// silentTogether gives the other units in a run when nothing at all of the
// lab has been heard for a while: one failure, one alert.
func (e *Engine) silentTogether(first *watch, at time.Time) []*watch {
	var with []*watch
	limit := at.Add(-sec(e.cfg.Data.Figures.SilentTogetherS))
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
func (e *Engine) heardAgain(w *watch, now time.Time) {
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

func (e *Engine) networkBack(key string, now time.Time, heard *watch) {
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
func (w *watch) offlineClears() {
	if w.Arr.Offline.IsZero() || w.State.running() && w.State.Phase != lab.PhaseDrying {
		return
	}
	f := w.fold()
	key := f.key(about{rule: RulePowerLost})
	o := w.State.Open[key]
	if o == nil {
		return
	}
	o.ClearedAt = lab.At(maxTime(w.Arr.OffAt, o.RaisedAt)).Time
	delete(w.State.Open, key)
	w.putOccurrence(*o)
}

func maxTime(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
