package rules

import (
	"encoding/json"
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// A probe whose last readings moved by no more than steadyC is steady: the
// difference to a thermometer is its offset. One that is off by more than
// offsetMostC is broken, and no offset corrects it.
const (
	steadyC     = 0.3
	offsetMostC = 5
)

// applyMeasured takes what a person's thermometer showed in the bath at hand.
// Where the probe was steady the difference is its offset for this bath; else
// the bath stands at what was measured, and goes on from there.
func (u *Unit) applyMeasured(k *Entry) {
	s, c := u.s, u.s.currentStep()
	var b lab.Measured
	if json.Unmarshal(k.Body, &b) != nil || lab.BoundMeasured.Check("c", b.C) != nil || !s.running() ||
		k.RunID != "" && k.RunID != s.Run.ID || c == nil || c.BathT.IsZero() || !c.EndT.IsZero() || !c.DrainT.IsZero() {
		return
	}
	q, t := &s.Probe, s.Clock.T
	c.Measured++
	if off := b.C - q.LastC; u.steady(t) && math.Abs(off) <= offsetMostC {
		c.OffsetC += off
		c.Bath.shift(off, u.spec(c))
	} else {
		if c.OwnAimC == 0 {
			u.ownAim(c, b.C, t)
		}
		c.Bath.read(t, b.C, u.conditionsOf(c))
	}
	u.endDoubt(c, t)
	u.dropHolds("bath:")
	q.LastC, q.LastT, q.Free, q.JumpT = b.C, t, false, time.Time{}
	s.Bath = reading{b.C, t}
	if a := (alertKey{rule: RuleReadingDoubtful, step: c}); u.open(a) != nil {
		u.change(a, u.measuredContent(c, b.C, t), true)
	}
	u.reportRun()
}

// steady tells whether the probe was believed and did not move right before t.
func (u *Unit) steady(t time.Time) bool {
	q := &u.s.Probe
	if q.BadN > 0 || q.LastT.IsZero() || t.Sub(q.LastT).Seconds() > u.readingLimitS() {
		return false
	}
	sum := 0.0
	for _, d := range q.Noise[max(0, len(q.Noise)-5):] {
		sum += d
	}
	return math.Abs(sum) <= steadyC
}

// measuredContent is what reading-doubtful says once somebody has measured the
// bath: when to drain is known again.
func (u *Unit) measuredContent(c *runStep, v float64, t time.Time) alertContent {
	w := u.doubtContent(c, u.s.Probe.Shown.V, c.Doubt.Why)
	w.message = "Measured " + trim1(v) + " °C; probe still doubtful"
	w.facts["measured_c"] = lab.Round(v, 2)
	sp := u.spec(c)
	if sp == nil || sp.Kind != process.Dev {
		return w
	}
	if p, ok := u.project(c, sp, v, t); ok {
		at := t.Add(lab.Seconds(max(p.endNowBetterS, 0)))
		w.facts["act_at"] = lab.At(u.s.Clock.report(at)).String()
		w.response = "Drain at " + u.clockWords(at) + " by what was measured. Do not go by the probe."
	}
	return w
}

// shift corrects all readings of a bath by off °C.
func (b *bathIntegral) shift(off float64, sp *process.Step) {
	b.SumC += off * b.SumS
	b.MinC, b.MaxC = b.MinC+off, b.MaxC+off
	b.PrevC, b.HeldC = b.PrevC+off, b.HeldC+off
	if sp != nil {
		k := sp.Rates(sp.AimC + off).Best
		b.Eq = process.Rates{Best: b.Eq.Best * k, Low: b.Eq.Low * k, High: b.Eq.High * k}
	}
}
