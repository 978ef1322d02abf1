package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// power folds a power message.
func (f *Unit) power(m *lab.Message) {
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
		f.raisePowerLost(now)
	case source == lab.SourceMains:
		f.clear(alertKey{rule: RulePowerLost}, now)
		f.clear(alertKey{rule: RuleBatteryLow, run: true}, now)
	}
	if s.Power.Source == lab.SourceBattery && s.running() && p.BatteryPct != nil {
		f.judgeBattery(*p.BatteryPct, now)
	}
	if (p.Event == lab.EventRestored || p.Event == lab.EventResumed) && s.running() {
		f.resumed(p.Event == lab.EventResumed || s.Run.LastBoot != m.Boot, m, p.OutageS)
	}
	if source == lab.SourceMains {
		s.Power.LostT = time.Time{}
		f.coolingOver()
	}
}

// raisePowerLost raises power-lost and opens an outage of the run.
func (f *Unit) raisePowerLost(now time.Time) {
	s := f.s
	if s.Power.LostT.IsZero() {
		s.Power.LostT = now
		if s.running() {
			f.openOutage(now)
		}
	}
	w := f.powerLostContent()
	a := alertKey{rule: RulePowerLost}
	if f.open(a) != nil {
		f.change(a, w, false)
		return
	}
	f.raise(a, now, w)
}

// refreshPowerLost says anew what to do while the mains are away, once the unit
// has gone on to another phase.
func (f *Unit) refreshPowerLost() {
	if a := (alertKey{rule: RulePowerLost}); f.s.Power.Source == lab.SourceBattery && f.s.running() && f.open(a) != nil {
		f.change(a, f.powerLostContent(), false)
	}
}

// powerLostContent words lost mains: first what to do with the hands, then until
// when.
func (f *Unit) powerLostContent() alertContent {
	s := f.s
	w := alertContent{priority: lab.Low, message: "Mains power lost; unit on battery", facts: map[string]any{}}
	if !s.running() {
		w.response = "Check the breaker and the plug with dry hands. Start no run until mains power is back."
		return w
	}
	w.priority = lab.Urgent
	v := f.outlook(false, s.now())
	if v == nil || v.Why != outBattery {
		f.lostElsewhere(f.whereIsFilm(), &w)
		return w
	}
	step := StepWords(f.stepID())
	switch v.Action {
	case process.Finish:
		f.lostElsewhere(filmFilling, &w)
	case process.Drain:
		w.message = fmt.Sprintf("Mains power lost while %s drains: drain it by hand now", step)
		w.harm = "The pump stands still, and the bath works on the film that it covers."
		w.response = v.Text
	default:
		w.message = fmt.Sprintf("Mains power lost in %s: turn the tank by hand", step)
		w.response = v.Text
	}
	w.response += " Dry your hands before touching plugs or switches."
	for name, at := range map[string]*lab.Time{"act_at": v.ActAt, "go_on_until": v.GoOnUntil, "drain_from": v.DrainFrom, "too_late_from": v.TooLateFrom} {
		if at != nil {
			w.facts[name] = at.String()
		}
	}
	if v.PushStops != nil && v.NowStops != nil {
		w.facts["push_error_end_stops"], w.facts["push_error_now_stops"] = *v.PushStops, *v.NowStops
	}
	return w
}

// backByBoot takes a restarted controller that says nothing of its power to
// run on the mains.
func (f *Unit) backByBoot(boot string) {
	p := &f.s.Power
	if p.Source != lab.SourceBattery || p.Boot == boot {
		return
	}
	now := f.s.Clock.T
	p.Source, p.Since, p.Boot, p.LostT = "", now, boot, time.Time{}
	f.clear(alertKey{rule: RulePowerLost}, now)
	f.clear(alertKey{rule: RuleBatteryLow, run: true}, now)
}

func (f *Unit) stepID() string {
	if c := f.s.cur(); c != nil {
		return c.ID
	}
	return ""
}

func (f *Unit) openOutage(now time.Time) *outage {
	o := &outage{LostT: now, LostAt: lab.At(f.s.Clock.report(now)).Time, Kind: "battery", Step: f.stepID()}
	if c := f.s.cur(); c != nil {
		o.N = c.N
	}
	f.s.Run.keepOutage(o)
	return o
}

func (f *Unit) judgeBattery(pct float64, now time.Time) {
	a := alertKey{rule: RuleBatteryLow, run: true}
	if pct >= f.fig().BatteryLowPct {
		f.clear(a, now)
		return
	}
	w := alertContent{priority: lab.Urgent, message: fmt.Sprintf("Battery at %.0f %% and the mains power still lost", pct),
		facts: map[string]any{"battery_pct": lab.Round(pct, 0)}}
	if f.open(a) != nil {
		f.change(a, w, false)
		return
	}
	f.raise(a, now, w)
}

// resumedByBoot notices a controller that started again and carries the run
// on, whether it says so or not.
func (f *Unit) resumedByBoot(m *lab.Message) {
	s := f.s
	if m.Step.Run != s.Run.Name || s.Run.LastBoot == m.Boot {
		return
	}
	s.Run.LastBoot = m.Boot
	f.resumed(true, m, nil)
}

// resumed raises power-resumed, once an outage.
func (f *Unit) resumed(restart bool, m *lab.Message, outageS *float64) {
	s := f.s
	now := s.Clock.T
	o := f.lastOutage()
	if f.sameReturn(o, m.Boot, restart, outageS) {
		if outageS != nil && o.S != *outageS {
			o.S = *outageS
			if f.advisable(o) {
				f.advise(o)
			}
			f.reportRun()
		}
		return
	}
	if o == nil || !o.BackT.IsZero() {
		lost := s.Run.LastT
		if restart && !s.DownT.IsZero() {
			lost = s.DownT
		}
		o = f.openOutage(lost)
		if outageS != nil {
			o.LostT = now.Add(-lab.Seconds(*outageS))
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
	o.Early = m.Step == nil && s.Unsure != sure
	f.advise(o)
	f.reportRun()
}

// adviseAtStep gives the advice again once the first step message after a
// restart has told where the film is.
func (f *Unit) adviseAtStep() {
	if o := f.lastOutage(); o != nil && o.Early {
		o.Early = false
		f.advise(o)
		f.reportRun()
	}
}

// advisable tells whether the advice on an outage may still change: the record
// keeps what was advised while one could act by it.
func (f *Unit) advisable(o *outage) bool {
	c, _ := f.inBath()
	return !o.Settled && (o.ActT.IsZero() || c != nil && c.N == o.N && c.ID == o.Step)
}

// sameReturnS is how long after a return the same one may be said again,
// seconds, where nothing else tells.
const sameReturnS = 60

// sameReturn tells whether a return of the power is the one already known,
// said again: by the event after the new boot or the other way round, or by a
// unit that repeats itself. One outage, one alert.
func (f *Unit) sameReturn(o *outage, boot string, restart bool, outageS *float64) bool {
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

func (f *Unit) lastOutage() *outage {
	if n := len(f.s.Run.Outages); n > 0 {
		return f.s.Run.Outages[n-1]
	}
	return nil
}

// resumedPriority: urgent while what was advised can still be done, then high
// until the last bath is done.
func (f *Unit) resumedPriority(o *outage) lab.Priority {
	switch {
	case f.s.Run.BathsEnd:
		return lab.Low
	case o.Over:
		return lab.High
	}
	return lab.Urgent
}

// settleResumed lowers power-resumed once its advice can no longer be
// followed, and once the last bath is done.
func (f *Unit) settleResumed() {
	for _, o := range f.s.Run.Outages {
		a := alertKey{rule: RulePowerResumed, subject: lab.At(o.BackAt).String(), run: true}
		occ := f.open(a)
		if o.BackT.IsZero() || occ == nil || o.Early && !f.s.Run.BathsEnd {
			continue
		}
		o.Over = o.Over || f.overFor(o)
		want := f.resumedPriority(o)
		if want == lab.Urgent || occ.Priority == f.card(occ.Rule).priority(want) {
			continue
		}
		w := alertContent{priority: want, message: occ.Message, harm: occ.Consequence, facts: occ.Facts, response: f.overText(o)}
		f.change(a, w, true)
	}
}
