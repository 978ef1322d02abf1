package rules

import (
	"fmt"
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// advise works out what an outage did to the film and what to do, and raises or
// updates power-resumed.
func (u *Unit) advise(o *outage) {
	a := alertKey{rule: RulePowerResumed, subject: lab.At(o.BackAt).String(), run: true}
	w := u.resumedContent(o)
	if u.open(a) != nil {
		u.change(a, w, false)
		return
	}
	u.raise(a, o.BackT, w)
}

// adviseAgain works the advice out anew after the power is back: the readings
// that come then replace what was estimated.
func (u *Unit) adviseAgain(c *runStep) {
	o := u.lastOutage()
	now := u.s.Clock.T
	if o == nil || o.BackT.IsZero() || o.N != c.N || o.Step != c.ID || o.Settled || o.Where != filmInBath {
		return
	}
	if o.Readings > 0 && (o.ActT.IsZero() || now.After(o.ActT.Add(-lab.Seconds(u.fig().SettleS))) || now.Sub(o.BackT) > lab.Seconds(adviseForS)) {
		o.Settled = true // people act on it by now: it must not change under their hands
		return
	}
	if o.Readings++; o.Readings > 1 && now.Before(o.LookT) {
		return
	}
	if o.Readings == 1 && o.Kind == "restart" {
		u.coolingOf(o, c)
		u.outMeanwhile(c)
	}
	o.LookT = now.Add(lab.Seconds(u.fig().AdviceEveryS))
	was, act := o.ActT, o.Advice
	trial := *o
	u.resumedContent(&trial)
	if trial.Advice == act && trial.ActT.Sub(was).Abs() < lab.Seconds(u.fig().AdviceMovesS) && o.Readings > 1 {
		return
	}
	u.advise(o)
	u.reportRun()
}

// adviseForS is for how long after the power is back the advice follows new
// readings, seconds.
const adviseForS = 120

// resumedContent is what power-resumed says: what the outage did to the film, and
// what to do now. It writes its figures into o.
func (u *Unit) resumedContent(o *outage) alertContent {
	s := u.s
	w := alertContent{priority: lab.Urgent, latched: true, facts: map[string]any{"outage_s": lab.Round(o.S, 0), "kind": o.Kind, "step": o.Step}}
	w.priority = u.resumedPriority(o)
	o.Advice, o.LeftS, o.ActT, o.Done = "", nil, time.Time{}, nil
	o.Measured, o.Estimated, o.Assumed, o.Ask = nil, nil, nil, nil
	o.Where, o.AtN, o.AtStep = u.whereIsFilm(), 0, u.currentStepID()
	w.message = fmt.Sprintf("Mains power is back after %s in %s", lab.SpanText(o.S), StepWords(u.currentStepID()))
	c, sp := u.inBath()
	cur := s.currentStep()
	if cur != nil {
		o.AtN = cur.N
	}
	switch {
	case c != nil:
		u.adviseBath(o, c, sp, &w)
	case s.Run.film() && cur != nil && cur.ByHand && cur.N == o.N:
		u.adviseDrained(o, cur, &w)
	default:
		u.backElsewhere(o, o.Where, &w)
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

// adviseDrained advises on film whose bath a person drained by hand meanwhile.
func (u *Unit) adviseDrained(o *outage, c *runStep, w *alertContent) {
	sp := u.spec(c)
	if sp == nil {
		return
	}
	inS := c.DrainT.Sub(c.fromT()).Seconds()
	st := process.FilmInBath{Aim: u.aim(c), SoFar: c.Bath.Eq, EndsS: 0, Ended: true, StoodS: u.stoodS(c, c.DrainT)}
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
	u.adviceFigures(o, c, sp, adv, w)
	if sp.Kind == process.Dev {
		w.response += " Hold the rolls for inspection."
		w.harm = unevenText
	}
}

// adviseBath advises on film that was in a bath meanwhile and is still in it.
func (u *Unit) adviseBath(o *outage, c *runStep, sp *process.Step, w *alertContent) {
	now := u.s.Clock.T
	target, _ := sp.TargetS(u.aim(c))
	inS := now.Sub(c.fromT()).Seconds()
	w.facts["in_bath_s"], w.facts["sheet_s"] = lab.Round(inS, 0), lab.Round(target, 1)
	atBack := o.BackT.Sub(c.fromT()).Seconds()
	w.message = fmt.Sprintf("Mains power is back after %s; film was in %s for %s of %s", lab.SpanText(o.S), sp.Label, lab.SpanText(atBack), lab.SpanText(target))
	st := u.filmInBath(c, sp, now, false)
	adv, ok := sp.Advise(st)
	if !ok {
		return
	}
	u.worthCorrecting(sp, st, &adv)
	o.Advice = adv.Action
	end := now.Add(lab.Seconds(adv.LeftS))
	left := end.Sub(o.BackT).Seconds()
	o.LeftS = new(lab.Round(left, 1))
	o.ActT = lab.Later(now, end.Add(-lab.Seconds(u.fig().PressS)))
	w.response = u.actWords(adv, sp, o.ActT, now)
	if sp.Kind == process.Dev {
		w.harm = unevenText
		if adv.Action != process.Discard {
			w.response += " Then hold the rolls for inspection."
		}
	}
	u.adviceFigures(o, c, sp, adv, w)
	if !c.BathHeard {
		w.response += " No data was received of the beginning: it may have been in longer."
	}
	w.facts["advised_remaining_s"] = *o.LeftS
	w.facts["act_at"] = lab.At(u.s.Clock.report(o.ActT)).String()
}

// outMeanwhile notes for the verdict that the bath left its limits while the
// controller was down: the readings before and after show it.
func (u *Unit) outMeanwhile(c *runStep) {
	b, sp, hold := c.Bath, u.spec(c), u.fig().BathHoldS
	if sp == nil || !b.Prev || b.HeldT.Sub(c.BathT) < lab.Seconds(u.fig().SettlingS) {
		return
	}
	if sp.Kind == process.Dev {
		hold = u.fig().BathHoldDevS
	}
	if b.HeldT.Sub(b.FromT).Seconds()*outsideShare(b.PrevC, b.HeldC, sp.LowC, sp.HighC) >= hold && excess(b.HeldC, sp) > 0 {
		c.Out, c.OutWarm = true, b.HeldC > sp.HighC
	}
}

// worthCorrecting turns the advice to let a developer go on into a longer or
// shorter time, where the unit's own end is far enough from the best one to be
// worth a person's trip to the unit.
func (u *Unit) worthCorrecting(sp *process.Step, st process.FilmInBath, adv *process.Advice) {
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

// actWords says what to do, and when as a time of day: "in 20 s" would be wrong
// by the time it is read.
func (u *Unit) actWords(adv process.Advice, sp *process.Step, act, now time.Time) string {
	at, in := u.clockWords(act), act.Sub(now).Seconds()
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

// adviceFigures adds the push error that is expected, and what the advice is
// based on.
func (u *Unit) adviceFigures(o *outage, c *runStep, sp *process.Step, adv process.Advice, w *alertContent) {
	if adv.Pushes {
		o.Done = &adv.DoneStops
		w.response += fmt.Sprintf(" Push error will be %s.", process.ThirdsRange(adv.DoneStops))
		w.facts["push_error_end_stops"] = lab.Round(adv.DoneStops.Best, 2)
		w.facts["push_error_end_low_stops"], w.facts["push_error_end_high_stops"] = lab.Round(adv.DoneStops.Low, 2), lab.Round(adv.DoneStops.High, 2)
	}
	o.Still = u.stillS(c, o)
	o.Measured, o.Estimated, o.Assumed = u.basisOf(c, sp, o.LostT, o.BackT)
	o.Ask = u.questions(c, o)
	w.facts["advice"], w.facts["stood_s"] = o.Advice, lab.Round(o.Still, 0)
	for name, list := range map[string][]string{"measured": o.Measured, "estimated": o.Estimated, "assumed": o.Assumed, "ask": o.Ask} {
		if len(list) > 0 {
			w.facts[name] = list
		}
	}
}
