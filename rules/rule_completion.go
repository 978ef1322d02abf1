package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// judgeCompletion judges a bath that must run to completion and is too cold: if it
// stays so, will it have done its work in the time that it is set to? It adds to
// w how much longer it needs.
func (u *Unit) judgeCompletion(c *runStep, sp *process.Step, v float64, t time.Time, w *alertContent) {
	if v >= sp.LowC || !sp.Completes() {
		return
	}
	left := u.unitEndsS(c, t)
	if left < 0 {
		left = max(sp.AimS-t.Sub(c.fromT()).Seconds(), 0)
	}
	done := max(c.Bath.SumS-c.Bath.OutS, 0) // seconds within the published range
	need, rate := sp.NeedS(), sp.ColdRate(v)
	if sp.Slower != nil {
		done = c.Bath.Eq.Best
	}
	if done+rate.Low*left >= need {
		return
	}
	add := need - done // below its range nothing is published: only time within it counts
	if sp.Slower != nil {
		add = (need - done - rate.Best*left) / rate.Best
	}
	if add <= 0 {
		return
	}
	ends := t.Add(lab.Seconds(left + add))
	w.facts["add_s"], w.facts["need_s"], w.facts["done_s"] = lab.Round(add, 0), need, lab.Round(done, 0)
	w.facts["act_at"] = lab.At(u.s.Clock.report(ends)).String()
	w.harm = "Too cold, this bath does not finish its work in the time it is set to."
	if sp.Slower != nil {
		w.response = fmt.Sprintf("Give it %s more: drain at %s. Warm it if you can (%s).", lab.SpanText(add), u.clockWords(ends), sp.Slower.Words())
	} else {
		w.response = fmt.Sprintf("Bring it to %g °C or more and run %s from then: drain at %s at the earliest. Below that no time is published.", sp.LowC, lab.SpanText(need), u.clockWords(t.Add(lab.Seconds(need-done))))
	}
	w.priority = lab.High
	if sp.Wash && !u.firstColdWash(c) {
		w.priority = lab.Low
	}
}

// firstColdWash tells whether this is the first cold wash of the day. The water
// stays as cold as it is, and a second alert would tell nobody anything new.
func (u *Unit) firstColdWash(c *runStep) bool {
	day := u.wallClock(u.s.Clock.T, time.DateOnly)
	if u.s.ColdWash == day && c.ColdFill != c.Fills {
		return false
	}
	u.s.ColdWash, c.ColdFill = day, c.Fills
	return true
}

// swingContent is what bath-temperature says of a bath that swings.
func (u *Unit) swingContent(c *runStep, sp *process.Step, v float64, t time.Time) alertContent {
	w := alertContent{priority: lab.Low, facts: map[string]any{"bath_c": lab.Round(v, 3), "low_c": sp.LowC, "high_c": sp.HighC,
		"aim_c": sp.AimC, "way": "swings", "min_c": lab.Round(c.Bath.MinC, 2), "max_c": lab.Round(c.Bath.MaxC, 2)}}
	w.message = fmt.Sprintf("%s swings between %.1f and %.1f °C (limits %g to %g °C)", capital(sp.Label), c.Bath.MinC, c.Bath.MaxC, sp.LowC, sp.HighC)
	w.response = "The heater hunts: check its regulator, its sensor's place and the circulation. Let the run go on."
	if sp.Kind != process.Dev {
		return w
	}
	w.priority = lab.High
	if p, ok := u.project(c, sp, (c.Bath.MinC+c.Bath.MaxC)/2, t); ok && p.beyond > 0 {
		u.addProjection(p, t, &w)
	}
	return w
}
