package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// disbelieved takes a reading that is not believed: it is shown and counted as
// doubtful, and nothing else is built on it.
func (u *Unit) disbelieved(c *runStep, v float64, t time.Time, why string) {
	q := &u.s.Probe
	c.Doubt.N++
	c.Doubt.Why = why
	q.Shown, q.Why = reading{v, t}, why
	q.BadN++
	if q.BadN == 1 {
		q.BadT = t
	}
	u.dropHolds("bath:sound")
	due, proved := u.held("bath:doubt", true, t, u.fig().DoubtHoldS)
	if why == doubtFlat && !c.Doubt.Flat {
		u.unbelieveFlat(c, t)
		due, proved = u.flatLimit(c), true
		q.BadT, q.BadN = lab.Later(q.FlatT, q.FillT), q.FlatN
	}
	if why == doubtJump && proved && q.BadN >= doubtReadings && (q.JumpT.IsZero() || !q.JumpT.Before(q.FillT)) {
		q.JumpT = t
	}
	if !proved || q.BadN < doubtReadings || !u.followed() {
		return
	}
	a, w := alertKey{rule: RuleReadingDoubtful, step: c}, u.doubtContent(c, v, why)
	if u.open(a) != nil {
		u.change(a, w, false)
		return
	}
	u.dropHolds("bath:out")
	u.dropHolds("bath:far")
	u.clear(alertKey{rule: RuleBathTemperature, step: c}, q.BadT)
	u.raise(a, due, w)
}

// doubtReadings is how many readings in a row must be doubtful.
const doubtReadings = 3

// unbelieveFlat takes the readings of a stuck probe out of the bath's integral:
// they were counted before it was known.
func (u *Unit) unbelieveFlat(c *runStep, t time.Time) {
	q := &u.s.Probe
	c.Doubt.Flat = true
	c.Doubt.N += q.FlatN - 1
	c.Bath.forget(lab.Later(q.FlatT, q.FillT), t, q.RawC+u.offsetC(c), u.conditionsOf(c))
}

// believed takes a reading that is believed: it ends a doubtful time, and tells
// of the probe's resolution and noise.
func (u *Unit) believed(c *runStep, v float64, t time.Time) {
	q := &u.s.Probe
	u.endDoubt(c, t)
	u.dropHolds("bath:doubt")
	a := alertKey{rule: RuleReadingDoubtful, step: c}
	if u.open(a) != nil {
		if due, proved := u.held("bath:sound", true, t, u.fig().BathClearS); proved {
			u.dropHolds("bath:sound")
			u.clear(a, due)
		}
	}
	if !q.LastT.IsZero() {
		q.learn(v, v-q.LastC)
	}
	if !q.JumpT.IsZero() && u.cameBack(c, v, t) {
		q.JumpT = time.Time{}
	}
	q.LastC, q.LastT = v, t
}

// endDoubt adds the doubtful time that ends to the step's. A single doubtful
// reading is a spike and costs nothing.
func (u *Unit) endDoubt(c *runStep, t time.Time) {
	q := &u.s.Probe
	if q.BadN >= 2 {
		c.Doubt.S += max(t.Sub(q.BadT).Seconds(), 0)
	}
	q.BadN, q.BadT = 0, time.Time{}
	q.Shown, q.Why = reading{}, ""
}

// unreadS is for how many seconds of a step no believed reading came though the
// unit had power.
func (c *runStep) unreadS() float64 { return max(c.Doubt.S, c.Bath.UnreadS) }

// mostlyUnread tells whether half of a step or more was not read.
func (u *Unit) mostlyUnread(c *runStep) bool {
	if c.Measured > 0 {
		return false // somebody looked
	}
	s, unread := c.EndT.Sub(c.BathT).Seconds(), c.unreadS()
	if u.s.Run != nil { // a loss of power that became known later was counted as unread: it is estimated instead
		if a, b, ok := u.powerLostWithin(c.BathT, c.EndT); ok {
			unread = min(unread, s-b.Sub(a).Seconds())
		}
	}
	return s > 0 && 2*unread >= s-1e-6
}

// doubtContent is what reading-doubtful says: what is wrong with the readings,
// and of a developer when to drain it by the clock.
func (u *Unit) doubtContent(c *runStep, v float64, why string) alertContent {
	q, sp := &u.s.Probe, u.spec(c)
	name := capital(StepWords(c.ID))
	if sp != nil {
		name = capital(sp.Label)
	}
	w := alertContent{priority: lab.Low, facts: map[string]any{"reads_c": lab.Round(v, 2), "why": why, "since": lab.At(u.s.Clock.report(q.BadT)).String()}}
	if !q.LastT.IsZero() {
		w.facts["believed_c"] = lab.Round(q.LastC, 2)
	}
	switch why {
	case doubtFahrenheit:
		w.message = fmt.Sprintf("%s reads %.1f, which is degrees Fahrenheit (%.1f °C)", name, v, toC(v))
		w.response = "Measure the bath with a thermometer and enter it. After the run set the unit to send Celsius."
	case doubtRange:
		w.message = fmt.Sprintf("%s reads %.1f °C, which no bath can be: probe doubtful", name, v)
	case doubtJump:
		w.message = fmt.Sprintf("%s reads %.1f °C, a jump of %+.1f °C: probe doubtful", name, v, v-q.LastC)
		if q.LastT.IsZero() {
			w.message = fmt.Sprintf("%s reads %.1f °C; the probe jumped in the bath before and has not come back", name, v)
		}
	case doubtFlat:
		w.message = fmt.Sprintf("%s reads %.2f °C without any change for %s: probe doubtful", name, v, lab.SpanText(u.s.Clock.T.Sub(q.FlatT).Seconds()))
	}
	if sp == nil || sp.Kind != process.Dev {
		return w
	}
	w.priority = lab.Urgent
	if target, ok := u.targetS(c); ok && !c.BathT.IsZero() {
		at := c.fromT().Add(lab.Seconds(target))
		w.facts["act_at"] = lab.At(u.s.Clock.report(at)).String()
		if w.response == "" || why == doubtFahrenheit {
			w.response = fmt.Sprintf("Do not go by the probe: drain by the clock at %s. Measure the bath with a thermometer now and enter it.", u.clockWords(at))
		}
	}
	return w
}

// targetS is the time in the bath that is aimed at, by the clock.
func (u *Unit) targetS(c *runStep) (float64, bool) {
	sp := u.spec(c)
	if sp == nil {
		return 0, false
	}
	return sp.TargetS(u.aim(c))
}
