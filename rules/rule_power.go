package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// takePower takes a power message.
func (u *Unit) takePower(m *lab.Message) {
	p, s := m.Power, u.s
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
		u.raisePowerLost(now)
	case source == lab.SourceMains:
		u.clear(alertKey{rule: RulePowerLost}, now)
		u.clear(alertKey{rule: RuleBatteryLow, run: true}, now)
	}
	if s.Power.Source == lab.SourceBattery && s.running() && p.BatteryPct != nil {
		u.judgeBattery(*p.BatteryPct, now)
	}
	if (p.Event == lab.EventRestored || p.Event == lab.EventResumed) && s.running() {
		u.resumed(p.Event == lab.EventResumed || s.Run.LastBoot != m.Boot, m, p.OutageS)
	}
	if source == lab.SourceMains {
		s.Power.LostT = time.Time{}
		u.coolingOver()
	}
}

// raisePowerLost raises power-lost and opens an outage of the run.
func (u *Unit) raisePowerLost(now time.Time) {
	s := u.s
	if s.Power.LostT.IsZero() {
		s.Power.LostT = now
		if s.running() {
			u.openOutage(now)
		}
	}
	w := u.powerLostContent()
	a := alertKey{rule: RulePowerLost}
	if u.open(a) != nil {
		u.change(a, w, false)
		return
	}
	u.raise(a, now, w)
}

// refreshPowerLost updates power-lost when the unit goes on to another phase on
// its battery: what to do depends on the phase.
func (u *Unit) refreshPowerLost() {
	if a := (alertKey{rule: RulePowerLost}); u.s.Power.Source == lab.SourceBattery && u.s.running() && u.open(a) != nil {
		u.change(a, u.powerLostContent(), false)
	}
}

// powerLostContent is what power-lost says: first what to do by hand, then until
// when.
func (u *Unit) powerLostContent() alertContent {
	s := u.s
	w := alertContent{priority: lab.Low, message: "Mains power lost; unit on battery", facts: map[string]any{}}
	if !s.running() {
		w.response = "Check the breaker and the plug with dry hands. Start no run until mains power is back."
		return w
	}
	w.priority = lab.Urgent
	v := u.outlook(false, s.now())
	if v == nil || v.Why != outBattery {
		u.lostElsewhere(u.whereIsFilm(), &w)
		return w
	}
	step := StepWords(u.currentStepID())
	switch v.Action {
	case process.Finish:
		u.lostElsewhere(filmFilling, &w)
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

// backByBoot assumes that a controller that started again has mains power, where
// it says nothing of it.
func (u *Unit) backByBoot(boot string) {
	p := &u.s.Power
	if p.Source != lab.SourceBattery || p.Boot == boot {
		return
	}
	now := u.s.Clock.T
	p.Source, p.Since, p.Boot, p.LostT = "", now, boot, time.Time{}
	u.clear(alertKey{rule: RulePowerLost}, now)
	u.clear(alertKey{rule: RuleBatteryLow, run: true}, now)
}

func (u *Unit) currentStepID() string {
	if c := u.s.currentStep(); c != nil {
		return c.ID
	}
	return ""
}

func (u *Unit) openOutage(now time.Time) *outage {
	o := &outage{LostT: now, LostAt: lab.At(u.s.Clock.report(now)).Time, Kind: "battery", Step: u.currentStepID()}
	if c := u.s.currentStep(); c != nil {
		o.N = c.N
	}
	u.s.Run.keepOutage(o)
	return o
}

func (u *Unit) judgeBattery(pct float64, now time.Time) {
	a := alertKey{rule: RuleBatteryLow, run: true}
	if pct >= u.fig().BatteryLowPct {
		u.clear(a, now)
		return
	}
	w := alertContent{priority: lab.Urgent, message: fmt.Sprintf("Battery at %.0f %% and the mains power still lost", pct),
		facts: map[string]any{"battery_pct": lab.Round(pct, 0)}}
	if u.open(a) != nil {
		u.change(a, w, false)
		return
	}
	u.raise(a, now, w)
}
