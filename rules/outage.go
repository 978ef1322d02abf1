package rules

import (
	"fmt"
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// inBath is the step whose bath is on the film now, with its sheet's; nil
// where there is none, or nothing to judge it by.
func (f *Unit) inBath() (*runStep, *process.Step) {
	s, c := f.s, f.s.cur()
	sp := f.spec(c)
	if !s.running() || !s.Run.film() || s.Run.BathsEnd || c == nil || sp == nil {
		return nil, nil
	}
	if c.BathT.IsZero() || !c.EndT.IsZero() || !c.DrainT.IsZero() {
		return nil, nil
	}
	if _, ok := sp.TargetS(f.aim(c)); !ok {
		return nil, nil
	}
	return c, sp
}

// How the liquid comes back to the set point with its heater on again,
// seconds: common practice, no source.
var warming = process.Cooling{TauS: 25, TauLowS: 8, TauHighS: 150}

// filmInBath is the film in a bath at timeline time t. off: nothing heats it.
func (f *Unit) filmInBath(c *runStep, sp *process.Step, t time.Time, off bool) process.Standing {
	eq, bath := f.soFar(c, t, off)
	st := process.Standing{Aim: f.aim(c), SoFar: eq, Bath: bath, ReactS: f.fig().HandS,
		EndsS: f.unitEndsS(c, t), StoodS: f.stoodS(c, t)}
	cool := f.cooling()
	st.Cooling, st.Toward = &cool, f.room()
	if !off {
		e := f.conditionsOf(c)
		st.Cooling, st.Toward = &warming, process.Within(e.setC, e.withinC)
	}
	return st
}

// unitEndsS is when the unit will end the step by its own count, in seconds
// after t; below zero where that is not known.
func (f *Unit) unitEndsS(c *runStep, t time.Time) float64 {
	if c.SetS <= 0 {
		return -1
	}
	if f.s.CountS != nil && !f.s.CountT.Before(c.fromT()) {
		return max(0, c.SetS-*f.s.CountS-t.Sub(f.s.CountT).Seconds())
	}
	return max(0, c.SetS-t.Sub(c.fromT()).Seconds())
}

// stoodS is how long of the step the power was away: what stood then was not
// exchanged.
func (f *Unit) stoodS(c *runStep, t time.Time) float64 {
	sum := 0.0
	for _, o := range f.s.Run.Outages {
		if o.N == c.N && o.Step == c.ID {
			sum += overlap(o.LostT, o.BackT, c.BathT, t)
		}
	}
	return sum
}

// overlap is how many seconds from a to b lie within from to to; a zero b is
// without end.
func overlap(a, b, from, to time.Time) float64 {
	if b.IsZero() || b.After(to) {
		b = to
	}
	return max(0, b.Sub(lab.Later(a, from)).Seconds())
}

// stillS is how long the film stood still in an outage, turning by hand taken
// off.
func (f *Unit) stillS(c *runStep, o *outage) float64 {
	end := c.EndT
	if end.IsZero() {
		end = c.DrainT
	}
	if end.IsZero() {
		end = f.s.Clock.T
	}
	if !o.BackT.IsZero() && o.BackT.Before(end) {
		end = o.BackT
	}
	from := lab.Later(o.LostT, c.BathT)
	return max(0, end.Sub(from).Seconds()-f.turnedS(from, end))
}

// turnedS is how long of a time the tank was turned by hand, by what people
// said.
func (f *Unit) turnedS(from, to time.Time) float64 {
	sum, at := 0.0, from
	for _, h := range f.s.Run.Turned { // by their beginnings
		end := h.To
		if end.IsZero() || end.After(to) {
			end = to
		}
		if begin := lab.Later(h.From, at); begin.Before(end) {
			sum += end.Sub(begin).Seconds()
			at = end
		}
	}
	return sum
}

// turnedThrough tells whether the tank was turned by hand all the time that it
// stood still in the step.
func (f *Unit) turnedThrough(c *runStep) bool {
	const most = 0.9
	for _, h := range c.Still {
		end := h.To
		if end.IsZero() {
			end = c.EndT
		}
		if long := end.Sub(h.From).Seconds(); f.turnedS(h.From, end) < most*long {
			return false
		}
	}
	return len(c.Still) > 0
}

// advise works out and words what an outage did and what to do, and raises or
// updates its alert.
func (f *Unit) advise(o *outage) {
	a := alertKey{rule: RulePowerResumed, subject: lab.At(o.BackAt).String(), run: true}
	w := f.resumedContent(o)
	if f.open(a) != nil {
		f.change(a, w, false)
		return
	}
	f.raise(a, o.BackT, w)
}

// adviseAgain follows the bath after the power is back: what is measured then
// is better than what was estimated.
func (f *Unit) adviseAgain(c *runStep) {
	o := f.lastOutage()
	now := f.s.Clock.T
	if o == nil || o.BackT.IsZero() || o.N != c.N || o.Step != c.ID || o.Settled || o.Where != filmInBath {
		return
	}
	if o.Readings > 0 && (o.ActT.IsZero() || now.After(o.ActT.Add(-lab.Seconds(f.fig().SettleS))) || now.Sub(o.BackT) > lab.Seconds(adviseForS)) {
		o.Settled = true // people act by it now: it moves no more
		return
	}
	if o.Readings++; o.Readings > 1 && now.Before(o.LookT) {
		return
	}
	if o.Readings == 1 && o.Kind == "restart" {
		f.coolingOf(o, c)
		f.outMeanwhile(c)
	}
	o.LookT = now.Add(lab.Seconds(f.fig().AdviceEveryS))
	was, act := o.ActT, o.Advice
	trial := *o
	f.resumedContent(&trial)
	if trial.Advice == act && trial.ActT.Sub(was).Abs() < lab.Seconds(f.fig().AdviceMovesS) && o.Readings > 1 {
		return
	}
	f.advise(o)
	f.reportRun()
}

// adviseForS is how long after the power is back the advice still follows the
// bath, seconds.
const adviseForS = 120

// resumedContent says what an outage did to the film and what to do now.
func (f *Unit) resumedContent(o *outage) alertContent {
	s := f.s
	w := alertContent{priority: lab.Urgent, latched: true, facts: map[string]any{"outage_s": lab.Round(o.S, 0), "kind": o.Kind, "step": o.Step}}
	w.priority = f.resumedPriority(o)
	o.Advice, o.LeftS, o.ActT, o.Done = "", nil, time.Time{}, nil
	o.Measured, o.Estimated, o.Assumed, o.Ask = nil, nil, nil, nil
	o.Where, o.AtN, o.AtStep = f.whereIsFilm(), 0, f.stepID()
	w.message = fmt.Sprintf("Mains power is back after %s in %s", lab.SpanText(o.S), StepWords(f.stepID()))
	c, sp := f.inBath()
	cur := s.cur()
	if cur != nil {
		o.AtN = cur.N
	}
	switch {
	case c != nil:
		f.adviseBath(o, c, sp, &w)
	case s.Run.film() && cur != nil && cur.ByHand && cur.N == o.N:
		f.adviseDrained(o, cur, &w)
	default:
		f.backElsewhere(o, o.Where, &w)
	}
	o.Text = w.message + "."
	if w.response != "" {
		o.Text += " " + w.response
	}
	if w.harm != "" {
		o.Text += " " + w.harm
	}
	return w
}

const unevenText = "Film that stood still develops unevenly; no number of seconds repairs that. Time buys back density, not color balance."

// adviseDrained counts in that a person drained the bath by hand.
func (f *Unit) adviseDrained(o *outage, c *runStep, w *alertContent) {
	sp := f.spec(c)
	if sp == nil {
		return
	}
	inS := c.DrainT.Sub(c.fromT()).Seconds()
	st := process.Standing{Aim: f.aim(c), SoFar: c.Bath.Eq, EndsS: 0, Ended: true, StoodS: f.stoodS(c, c.DrainT)}
	adv, ok := sp.Advise(st)
	if !ok {
		return
	}
	o.Advice = adv.Action
	w.message = fmt.Sprintf("Mains power is back after %s; %s was drained by hand after %s", lab.SpanText(o.S), sp.Short, lab.SpanText(inS))
	w.response = "The tank is empty: go on with the next bath at once; skip what the unit still counts of this step."
	switch adv.Action {
	case process.Repeat:
		w.response = fmt.Sprintf("It had too little: give %s again, %s, with fresh solution.", sp.Label, lab.SpanText(adv.LeftS))
	case process.Discard:
		w.response = "No time brings it back near the sheet. Go on with the next bath, hold the rolls for inspection."
	}
	f.adviceFigures(o, c, sp, adv, w)
	if sp.Kind == process.Dev {
		w.response += " Hold the rolls for inspection."
		w.harm = unevenText
	}
}

// adviseBath advises on film that was in a bath meanwhile and is still in it.
func (f *Unit) adviseBath(o *outage, c *runStep, sp *process.Step, w *alertContent) {
	now := f.s.Clock.T
	target, _ := sp.TargetS(f.aim(c))
	inS := now.Sub(c.fromT()).Seconds()
	w.facts["in_bath_s"], w.facts["sheet_s"] = lab.Round(inS, 0), lab.Round(target, 1)
	atBack := o.BackT.Sub(c.fromT()).Seconds()
	w.message = fmt.Sprintf("Mains power is back after %s; film was in %s for %s of %s", lab.SpanText(o.S), sp.Label, lab.SpanText(atBack), lab.SpanText(target))
	st := f.filmInBath(c, sp, now, false)
	adv, ok := sp.Advise(st)
	if !ok {
		return
	}
	f.worthCorrecting(sp, st, &adv)
	o.Advice = adv.Action
	end := now.Add(lab.Seconds(adv.LeftS))
	left := end.Sub(o.BackT).Seconds()
	o.LeftS = new(lab.Round(left, 1))
	o.ActT = lab.Later(now, end.Add(-lab.Seconds(f.fig().PressS)))
	w.response = f.actWords(adv, sp, o.ActT, now)
	if sp.Kind == process.Dev {
		w.harm = unevenText
		if adv.Action != process.Discard {
			w.response += " Then hold the rolls for inspection."
		}
	}
	f.adviceFigures(o, c, sp, adv, w)
	if !c.BathHeard {
		w.response += " No data was received of the beginning: it may have been in longer."
	}
	w.facts["advised_remaining_s"] = *o.LeftS
	w.facts["act_at"] = lab.At(f.s.Clock.report(o.ActT)).String()
}

// outMeanwhile notes for the verdict that the bath left its limits while the
// controller was down: the readings before and after show it.
func (f *Unit) outMeanwhile(c *runStep) {
	b, sp, hold := c.Bath, f.spec(c), f.fig().BathHoldS
	if sp == nil || !b.Prev || b.HeldT.Sub(c.BathT) < lab.Seconds(f.fig().SettlingS) {
		return
	}
	if sp.Kind == process.Dev {
		hold = f.fig().BathHoldDevS
	}
	if b.HeldT.Sub(b.FromT).Seconds()*outsideShare(b.PrevC, b.HeldC, sp.LowC, sp.HighC) >= hold && excess(b.HeldC, sp) > 0 {
		c.Out, c.OutWarm = true, b.HeldC > sp.HighC
	}
}

// worthCorrecting makes of a developer's continue what it is where the unit's own
// end is off the best by more than a hand on the unit is worth.
func (f *Unit) worthCorrecting(sp *process.Step, st process.Standing, adv *process.Advice) {
	m, ok := sp.Outlook(st)
	if !ok || sp.Kind != process.Dev || adv.Action != process.Continue || m.ActS <= 0 || math.IsInf(m.ActS, 0) {
		return
	}
	best := m.ActS + st.ReactS + st.DrainS
	switch off := best - st.EndsS; {
	case math.Abs(off) < correctionLeastS:
		return
	case off > 0:
		adv.Action = process.Extend
	default:
		adv.Action = process.Shorten
	}
	adv.LeftS = best
	adv.Done = sp.EquivalentAt(st, best)
	adv.DoneStops, adv.Pushes = sp.StopsRange(adv.Done, st.Aim)
}

// actWords says what to do and when: by the clock, for how long there is left
// would be wrong by the time it is read.
func (f *Unit) actWords(adv process.Advice, sp *process.Step, act, now time.Time) string {
	at, in := f.clockWords(act), act.Sub(now).Seconds()
	switch adv.Action {
	case process.Shorten:
		if in < 1 {
			return "Drain now, whatever the unit's own counter says."
		}
		return fmt.Sprintf("At %s press the button to drain, whatever the unit's own counter says.", at)
	case process.Extend:
		if sp.Kind == process.Min {
			return fmt.Sprintf("Give it longer: until %s.", at)
		}
		return fmt.Sprintf("Give it longer: set a longer time at the unit now, then at %s press the button to drain.", at)
	case process.Repeat:
		return fmt.Sprintf("Let it finish, then do %s again: %s.", sp.Label, lab.SpanText(adv.LeftS))
	case process.Discard:
		return "Drain now. No time brings it back near the sheet: hold the rolls for inspection."
	}
	if sp.Kind == process.Dev || sp.Kind == process.Exact {
		return fmt.Sprintf("Let the unit finish the step; it should end at %s.", at)
	}
	return "Let the unit finish the step: longer does little harm here."
}

// adviceFigures adds where the push error will end and what all of it rests on.
func (f *Unit) adviceFigures(o *outage, c *runStep, sp *process.Step, adv process.Advice, w *alertContent) {
	if adv.Pushes {
		o.Done = &adv.DoneStops
		w.response += fmt.Sprintf(" Push error will be %s.", process.ThirdsRange(adv.DoneStops))
		w.facts["push_error_end_stops"] = lab.Round(adv.DoneStops.Best, 2)
		w.facts["push_error_end_low_stops"], w.facts["push_error_end_high_stops"] = lab.Round(adv.DoneStops.Low, 2), lab.Round(adv.DoneStops.High, 2)
	}
	o.Still = f.stillS(c, o)
	o.Measured, o.Estimated, o.Assumed = f.basisOf(c, sp, o.LostT, o.BackT)
	o.Ask = f.questions(c, o)
	w.facts["advice"], w.facts["stood_s"] = o.Advice, lab.Round(o.Still, 0)
	for name, list := range map[string][]string{"measured": o.Measured, "estimated": o.Estimated, "assumed": o.Assumed, "ask": o.Ask} {
		if len(list) > 0 {
			w.facts[name] = list
		}
	}
}
