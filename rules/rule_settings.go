package rules

import (
	"fmt"
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// wrongTemperatureSet compares the set temperature with the sheet's while it
// can still be changed: before the bath is in.
func (u *Unit) wrongTemperatureSet(st *lab.Step) {
	c, t := u.s.currentStep(), u.s.Clock.T
	if c == nil || st.SetC == nil || !u.judged() || c.N != st.N || c.ID != st.Step || !inBaths(st.Phase) {
		return
	}
	sp, a := u.baseSpec(c), alertKey{rule: RuleWrongTemperatureSet, step: c}
	if sp == nil {
		return
	}
	w, wrong := u.setTemperatureContent(c, sp, *st.SetC)
	switch {
	case !wrong:
		u.clear(a, t)
	case u.open(a) != nil:
		u.change(a, w, false)
	case !c.WrongC && (st.Phase == lab.PhaseHeating || st.Phase == lab.PhaseFilling):
		c.WrongC = true
		u.raise(a, t, w)
	}
}

// setTemperatureContent tells whether a set temperature is wrong for a step, and
// what wrong-temperature-set says of it.
func (u *Unit) setTemperatureContent(c *runStep, sp *process.Step, set float64) (alertContent, bool) {
	name := capital(sp.Label)
	w := alertContent{priority: lab.High, facts: map[string]any{"set_c": set, "aim_c": sp.AimC, "low_c": sp.LowC, "high_c": sp.HighC}}
	if inFahrenheit(set, sp.LowC, sp.HighC) {
		w.message = fmt.Sprintf("%s is set to %g, which is degrees Fahrenheit (%.1f °C); the sheet says %g °C", name, set, toC(set), sp.AimC)
		w.response = fmt.Sprintf("Set %g °C at the unit, or set it to send Celsius.", sp.AimC)
		w.facts["fahrenheit"] = true
		return w, true
	}
	if sp.FromUnit || sp.HasTimeAt(set) {
		return w, false
	}
	w.message = fmt.Sprintf("%s is set to %g °C; the sheet says %g °C", name, set, sp.AimC)
	w.response = fmt.Sprintf("Set %g °C at the unit before it fills.", sp.AimC)
	if sp.Kind != process.Dev {
		return w, set > sp.HighC+u.fig().WrongSetOutC+roundingSlack || set < sp.LowC-u.fig().WrongSetOutC-roundingSlack
	}
	a := process.Aim{Push: u.s.Run.Push, SetS: c.SetS}
	target, ok := sp.TimeFor(a.Push, a.SetS)
	if !ok {
		return w, math.Abs(set-sp.AimC) > u.fig().WrongSetOutC+(sp.HighC-sp.LowC)/2
	}
	rate := sp.Rates(set).Best
	if sp.Off(target*rate, a) == 0 {
		return w, false
	}
	add := lab.Round(target/rate-target, 0)
	w.facts["add_s"], w.facts["sheet_s"] = add, target
	if stops, ok := sp.Stops(target*rate, a); ok && sp.Side(target*rate, a) == 0 {
		w.facts["push_error_end_stops"] = lab.Round(stops, 2)
	}
	if math.Abs(add) <= target { // no such time makes up for it
		w.response += fmt.Sprintf(" If it stays at %g °C, a total of %s corrects density, not color balance.", set, lab.SpanText(target+add))
	}
	return w, true
}

// baseSpec is the sheet's step as the sheet has it, whatever the unit is set to.
func (u *Unit) baseSpec(c *runStep) *process.Step {
	sh := u.sheet()
	if sh == nil || c == nil || c.Index < 0 {
		return nil
	}
	return &sh.Steps[c.Index]
}

// pushUnknown raises push-unknown for a push that the sheet has no time for.
func (u *Unit) pushUnknown() {
	s, sh := u.s, u.sheet()
	a := alertKey{rule: RulePushUnknown, run: true}
	if sh == nil || !u.judged() {
		return
	}
	for i := range sh.Steps {
		sp := &sh.Steps[i]
		if sp.Push == nil || sp.PushKnown(s.Run.Push) {
			continue
		}
		low, high := sp.Push.Stops[0], sp.Push.Stops[len(sp.Push.Stops)-1]
		if u.open(a) == nil {
			u.raise(a, s.Clock.T, alertContent{priority: lab.Low,
				message: fmt.Sprintf("%s: the sheet has times for %s to %s only", capital(process.PushWords(s.Run.Push)), process.PushWords(low), process.PushWords(high)),
				facts:   map[string]any{"push": s.Run.Push, "from": low, "to": high, "step": sp.ID}})
		}
		return
	}
	u.clear(a, s.Clock.T)
}

// ownAim finds the temperature to judge a developer around where the sheet leaves
// it to the unit: what the unit is set to, else the mean of its bath from 30 to
// 60 s.
func (u *Unit) ownAim(c *runStep, v float64, t time.Time) {
	sp := u.baseSpec(c)
	if sp == nil || !sp.FromUnit || c.OwnFixed {
		return
	}
	if c.OwnAimC == 0 {
		if set := asCelsius(c.SetC, sp); set > 0 {
			c.OwnAimC, c.OwnFixed = set, true
			return
		}
		c.OwnAimC = lab.Round(v, 1) // until the mean is known
	}
	in := t.Sub(c.BathT).Seconds()
	if in >= 30 && in <= 60 {
		c.OwnSumC, c.OwnN = c.OwnSumC+v, c.OwnN+1
	}
	if in < 60 {
		return
	}
	if c.OwnN == 0 {
		c.OwnSumC, c.OwnN = v, 1
	}
	mean := c.OwnSumC / float64(c.OwnN)
	k := u.spec(c).Rates(mean).Best // what was counted around the first guess is counted around the mean now
	c.Bath.Eq = process.Rates{Best: c.Bath.Eq.Best / k, Low: c.Bath.Eq.Low / k, High: c.Bath.Eq.High / k}
	c.OwnAimC, c.OwnFixed = mean, true
}

// aimKnown tells whether the limits of a bath are known by now.
func (u *Unit) aimKnown(c *runStep, sp *process.Step) bool { return !sp.FromUnit || c.OwnFixed }

// aimC is the temperature that a step is judged around: 0 for the sheet's.
func (c *runStep) aimC(sp *process.Step) float64 {
	if c.OwnAimC > 0 {
		return c.OwnAimC
	}
	return asCelsius(c.SetC, sp)
}
