package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// bathTemperature judges a bath against the sheet's limits at each reading, and
// raises bath-temperature.
func (u *Unit) bathTemperature(c *runStep, sp *process.Step, v float64, t time.Time) {
	fig, a := u.fig(), alertKey{rule: RuleBathTemperature, step: c}
	q, errC, ok := u.smoothed(sp, v, t)
	if !ok {
		return
	}
	over := outside(q, sp, max(u.bathMarginC(sp), errC))
	u.noteSwing(c, sp, q, over, t)
	if u.open(a) != nil {
		u.followExcursion(a, c, sp, q, over, t)
		return
	}
	holdS := fig.BathHoldS
	if sp.Kind == process.Dev {
		holdS = fig.BathHoldDevS
	}
	settled := c.BathT.Add(lab.Seconds(fig.SettlingS))
	due, proved := u.held("bath:out", over > 0, t, holdS)
	if due.Before(settled) {
		due = settled
	}
	proved = proved && !t.Before(due)
	// far outside counts at once, even in the settling time
	far, farProved := u.held("bath:far", over > fig.SettlingExcessC, t, fig.SettlingHoldS)
	if farProved && far.Before(settled) && (!proved || far.Before(due)) {
		due, proved = far, true
	}
	if !proved {
		return
	}
	c.Out, c.OutWarm = true, q > sp.HighC
	c.Outs++
	c.OutMostC = over
	u.dropHolds("bath:in")
	u.raise(a, due, u.bathContent(c, sp, q, t))
}

// followExcursion clears bath-temperature once the bath has been inside its
// limits for long enough. A bath that swings must be inside for longer; one that
// keeps crossing its limit by no more than the probe's noise keeps its alert to
// the end of the bath, in place of a new one each time.
func (u *Unit) followExcursion(a alertKey, c *runStep, sp *process.Step, v, over float64, t time.Time) {
	c.OutMostC = max(c.OutMostC, over)
	clearS := u.fig().BathClearS
	if c.Swings {
		clearS = swingS
	}
	if due, proved := u.held("bath:in", over == 0, t, clearS); proved {
		if c.Outs >= 2 && c.OutMostC <= edgeTimes*max(u.s.Probe.Sigma, u.s.Probe.halfStepC()) {
			return
		}
		u.dropHolds("bath:")
		u.clear(a, due)
		return
	}
	if over > 0 {
		u.change(a, u.bathContent(c, sp, v, t), false)
	}
}

const (
	swingS    = 60 // outside on both sides within this is one swinging bath, seconds
	edgeTimes = 4  // an excursion by less than so many times the noise is only at the limit
)

// noteSwing notes a bath that is outside on both sides within a minute: its
// heater hunts.
func (u *Unit) noteSwing(c *runStep, sp *process.Step, v, over float64, t time.Time) {
	if over <= 0 || t.Sub(c.BathT) < lab.Seconds(u.fig().SettlingS) {
		return
	}
	mine, other := &c.WarmT, &c.CoolT
	if v < sp.LowC {
		mine, other = other, mine
	}
	*mine = t
	if !other.IsZero() && t.Sub(*other) <= lab.Seconds(swingS) {
		c.Swings = true
	}
}

// bathMarginC is how far outside its limits a bath must read to count as outside:
// by half the probe's resolution and, but for a developer, where every second
// counts, by its noise.
func (u *Unit) bathMarginC(sp *process.Step) float64 {
	if sp.Kind == process.Dev {
		return u.s.Probe.halfStepC()
	}
	return max(u.s.Probe.halfStepC(), u.s.Probe.Sigma)
}

// outside is how far v lies outside the limits, 0 where that is no more than
// the margin.
func outside(v float64, sp *process.Step, marginC float64) float64 {
	if d := excess(v, sp); d > marginC+1e-9 {
		return d
	}
	return 0
}

// excess is how far v lies outside the limits, 0 inside.
func excess(v float64, sp *process.Step) float64 {
	const tiny = 1e-9
	if d := max(v-sp.HighC, sp.LowC-v); d > tiny {
		return d
	}
	return 0
}

// bathContent is what bath-temperature says of an excursion.
func (u *Unit) bathContent(c *runStep, sp *process.Step, v float64, t time.Time) alertContent {
	off := lab.Round(v-sp.AimC, 2)
	way := "warm"
	if off < 0 {
		way = "cool"
	}
	if c.Swings {
		return u.swingContent(c, sp, v, t)
	}
	w := alertContent{priority: lab.Low, facts: map[string]any{"bath_c": lab.Round(v, 3), "low_c": sp.LowC, "high_c": sp.HighC,
		"aim_c": sp.AimC, "off_c": off, "way": way}}
	if sp.Kind != process.Dev {
		w.message = fmt.Sprintf("%s %.1f °C, %.1f °C too %s (limits %g to %g °C)", capital(sp.Label), v, excess(v, sp), way, sp.LowC, sp.HighC)
		w.response = "Check heater and preheat; look at this step's temperature before the next run."
		w.harm = "Outside its limits this bath works too slowly, or too fast for the emulsion."
		u.judgeCompletion(c, sp, v, t, &w)
		return w
	}
	w.priority = lab.High
	w.message = fmt.Sprintf("%s %.1f °C (aim %.1f °C)", capital(sp.Label), v, sp.AimC)
	if p, ok := u.project(c, sp, v, t); ok {
		u.addProjection(p, t, &w)
	}
	return w
}
