package rules

import (
	"fmt"
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// power folds a power message.
func (f *fold) power(m *lab.Message) {
	p, s := m.Power, f.s
	now := s.Clock.T
	if p.BatteryPct != nil {
		s.Power.Battery = p.BatteryPct
	}
	source := p.Source
	switch p.Event {
	case lab.EventLost:
		source = lab.SourceBattery
	case lab.EventRestored, lab.EventResumed:
		source = lab.SourceMains
	}
	if source != "" && source != s.Power.Source {
		s.Power.Source, s.Power.Since = source, now
	}
	if source != "" {
		s.Power.Boot = m.Boot
	}
	switch {
	case source == lab.SourceBattery:
		f.mainsAway(now)
	case source == lab.SourceMains:
		f.clear(about{rule: RulePowerLost}, now)
		f.clear(about{rule: RuleBatteryLow, run: true}, now)
	}
	if s.Power.Source == lab.SourceBattery && s.running() && p.BatteryPct != nil {
		f.batteryLow(*p.BatteryPct, now)
	}
	if (p.Event == lab.EventRestored || p.Event == lab.EventResumed) && s.running() {
		f.resumed(p.Event == lab.EventResumed || s.Run.LastBoot != m.Boot, m, p.OutageS)
	}
	if source == lab.SourceMains {
		s.Power.LostT = time.Time{}
	}
}

// mainsAway raises power-lost and opens an outage of the run.
func (f *fold) mainsAway(now time.Time) {
	s := f.s
	if s.Power.LostT.IsZero() {
		s.Power.LostT = now
		if s.running() {
			f.openOutage(now)
		}
	}
	w := say{priority: lab.Low, message: "Mains away; the unit runs on its battery", facts: map[string]any{}}
	if s.running() && !s.Run.BathsEnd {
		w.priority = lab.Urgent
		w.message = fmt.Sprintf("Mains away in %s: turn the tank by hand", stepWords(f.stepID()))
	} else if s.running() {
		w.priority = lab.Urgent
	}
	a := about{rule: RulePowerLost}
	if o := f.open(a); o != nil && w.priority.Rank() > o.Priority.Rank() {
		f.change(a, w, false)
	}
	f.raise(a, now, w)
}

// backByBoot takes a restarted controller that says nothing of its power to
// run on the mains.
func (f *fold) backByBoot(boot string) {
	p := &f.s.Power
	if p.Source != lab.SourceBattery || p.Boot == boot {
		return
	}
	now := f.s.Clock.T
	p.Source, p.Since, p.Boot, p.LostT = "", now, boot, time.Time{}
	f.clear(about{rule: RulePowerLost}, now)
	f.clear(about{rule: RuleBatteryLow, run: true}, now)
}

func (f *fold) stepID() string {
	if c := f.s.cur(); c != nil {
		return c.ID
	}
	return ""
}

func (f *fold) openOutage(now time.Time) *outage {
	o := &outage{LostT: now, LostAt: lab.At(f.s.Clock.report(now)).Time, Kind: "battery", Step: f.stepID()}
	if c := f.s.cur(); c != nil {
		o.N = c.N
	}
	f.s.Run.Outages = append(f.s.Run.Outages, o)
	return o
}

func (f *fold) batteryLow(pct float64, now time.Time) {
	a := about{rule: RuleBatteryLow, run: true}
	if pct >= f.fig().BatteryLowPct {
		f.clear(a, now)
		return
	}
	w := say{priority: lab.Urgent, message: fmt.Sprintf("Battery at %.0f %% with the mains away", pct),
		facts: map[string]any{"battery_pct": round(pct, 0)}}
	if f.open(a) != nil {
		f.change(a, w, false)
		return
	}
	f.raise(a, now, w)
}

// resumedByBoot notices a controller that started again and carries the run
// on, whether it says so or not.
func (f *fold) resumedByBoot(m *lab.Message) {
	s := f.s
	if m.Step.Run != s.Run.Name || s.Run.LastBoot == m.Boot {
		return
	}
	s.Run.LastBoot = m.Boot
	f.resumed(true, m, nil)
}

// resumed raises power-resumed, once an outage.
func (f *fold) resumed(restart bool, m *lab.Message, outageS *float64) {
	s := f.s
	now := s.Clock.T
	o := f.lastOutage()
	if f.sameReturn(o, m.Boot, restart, outageS) {
		if outageS != nil && o.S != *outageS {
			o.S = *outageS
			f.advise(o)
			f.reportRun()
		}
		return
	}
	if o == nil || !o.BackT.IsZero() {
		o = f.openOutage(s.Run.LastT)
		if outageS != nil {
			o.LostT = now.Add(-sec(*outageS))
			o.LostAt = lab.At(s.Clock.report(o.LostT)).Time
		}
	}
	o.BackT, o.BackAt, o.Boot = now, lab.At(s.Clock.report(now)).Time, m.Boot
	o.S = now.Sub(o.LostT).Seconds()
	if outageS != nil {
		o.S = *outageS
	}
	if restart {
		o.Kind = "restart"
	}
	if restart {
		s.Run.LastBoot = m.Boot
	}
	f.advise(o)
	f.reportRun()
}

// sameReturnS is how long after a return the same one may be said again,
// seconds, where nothing else tells.
const sameReturnS = 60

// sameReturn tells whether a return of the power is the one already known,
// said again: by the event after the new boot or the other way round, or by a
// unit that repeats itself. One outage, one alert.
func (f *fold) sameReturn(o *outage, boot string, restart bool, outageS *float64) bool {
	if o == nil || o.BackT.IsZero() || !f.s.Power.LostT.IsZero() {
		return false
	}
	if o.Boot != boot {
		return false // a restart is an outage of its own
	}
	if restart {
		return o.Kind == "restart"
	}
	since := f.s.Clock.T.Sub(o.BackT).Seconds()
	return since <= sameReturnS || outageS != nil && *outageS >= since-1
}

func (f *fold) lastOutage() *outage {
	if n := len(f.s.Run.Outages); n > 0 {
		return f.s.Run.Outages[n-1]
	}
	return nil
}

// advise words what an outage did and what to do, and raises or updates its alert.
func (f *fold) advise(o *outage) {
	a := about{rule: RulePowerResumed, subject: lab.At(o.BackAt).String(), run: true}
	w := f.resumedSays(o)
	if f.open(a) != nil {
		f.change(a, w, false)
		return
	}
	f.raise(a, o.BackT, w)
}

// resumedSays is the first form of the advice: how long the film really was
// in the bath, and what the sheet wants.
func (f *fold) resumedSays(o *outage) say {
	s := f.s
	w := say{priority: lab.Urgent, latched: true, facts: map[string]any{"outage_s": round(o.S, 0), "kind": o.Kind, "step": o.Step}}
	if s.Run.BathsEnd {
		w.priority = lab.Low
	}
	w.message = fmt.Sprintf("Power back after %s in %s", span(o.S), stepWords(f.stepID()))
	c := s.cur()
	sp := f.spec(c)
	sheetS, known := f.sheetS(c)
	if s.Run.film() && c != nil && sp != nil && known && !c.BathT.IsZero() && c.EndT.IsZero() && c.DrainT.IsZero() {
		f.adviseBath(o, c, sp, sheetS, &w)
	} else if s.Run.film() && !s.Run.BathsEnd {
		o.Advice = "continue"
		w.response = "The film is between baths: let the unit go on, and check the next bath's temperature."
	}
	o.Text = w.message + ". " + w.response
	if w.harm != "" {
		o.Text += " " + w.harm
	}
	return w
}

// adviseBath advises on film that was in a bath meanwhile.
func (f *fold) adviseBath(o *outage, c *stepRec, sp *process.Step, sheetS float64, w *say) {
	inS := f.s.Clock.T.Sub(c.BathT).Seconds()
	w.facts["in_bath_s"], w.facts["sheet_s"] = round(inS, 0), sheetS
	w.message = fmt.Sprintf("Power back after %s; in %s %s of %s", span(o.S), sp.Short, span(inS), span(sheetS))
	left := sheetS - inS
	switch {
	case sp.Kind == process.Min && !c.Bath.HeldT.IsZero() && c.Bath.HeldC < sp.LowC:
		o.Advice, left = "extend", max(left, 0)+o.S
		w.response = fmt.Sprintf("Give it %s more: the bath has cooled to %.1f °C.", span(left), c.Bath.HeldC)
	case sp.Kind != process.Dev:
		o.Advice, left = "continue", max(left, 0)
		w.response = "Let the step finish: longer does little harm here."
	case left <= 0:
		o.Advice, left = "shorten", 0
		w.response = "Drain now, and hold the rolls to inspect."
	default:
		f.adviseDeveloper(o, c, sp, sheetS, &left)
		w.response = fmt.Sprintf("Drain it in %s, whatever the unit's own counter says. Then hold the rolls to inspect.", span(left))
	}
	if sp.Kind == process.Dev {
		w.harm = "Film that stood still develops unevenly; no number of seconds repairs that."
	}
	if !c.BathHeard {
		w.response += " The beginning was not heard: it may have been in longer."
	}
	if o.Advice != "continue" {
		w.facts["act_at"] = lab.At(f.s.Clock.report(f.after(left))).String()
	}
	o.LeftS = ptr(round(left, 0))
	w.facts["advised_remaining_s"], w.facts["advice"] = round(left, 0), o.Advice
}

// adviseDeveloper says when the sheet's development is reached, by the
// kinetics over what was measured.
func (f *fold) adviseDeveloper(o *outage, c *stepRec, sp *process.Step, sheetS float64, left *float64) {
	unitLeft := *left
	b := c.Bath
	if !b.HeldT.IsZero() {
		b.count(b.HeldT, b.HeldC, sp)
	}
	if sp.Kind == process.Dev && b.Prev {
		b.to(f.s.Clock.T, b.PrevC, sp)
		*left = max(0, (sheetS-b.Eq.Best)/process.Rate(b.PrevC, sp.AimC, sp.Factor.Best))
	}
	switch short, over := sp.Tolerance(sheetS); {
	case *left > unitLeft+over:
		o.Advice = "extend"
	case math.Abs(*left-unitLeft) <= short && o.Kind == "battery":
		o.Advice = "continue"
	default:
		o.Advice = "shorten"
	}
}

// settleResumed lowers power-resumed once the last bath is done.
func (f *fold) settleResumed() {
	if !f.s.Run.BathsEnd {
		return
	}
	for _, key := range sortedKeys(f.s.Open) {
		if o := f.s.Open[key]; o.Rule == RulePowerResumed && o.RunID == f.s.Run.ID && o.Priority != f.card(o.Rule).priority(lab.Low) {
			o.Priority = f.card(o.Rule).priority(lab.Low)
			o.Facts = f.card(o.Rule).withRespond(o.Facts, o.Priority, lab.Low)
			f.out.putOccurrence(*o)
		}
	}
}
