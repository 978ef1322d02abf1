package rules

import (
	"math"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// driftC is what a probe may have drifted since the lab's good runs, °C: all
// that counts against a house aim. Common practice, no source.
const driftC = 0.1

// probeDoubtC is what a reading of a bath is worth in all: the probe's own
// tolerance until it was checked against a thermometer, the check's own spread
// then, only its drift against a house aim.
func (f *fold) probeDoubtC(c *stepRec, aimC float64, a process.Aim) float64 {
	switch {
	case c.Measured > 0:
		return measuredC
	case f.s.Run.Fig.Probe != nil:
		return f.s.Run.Fig.withinC()
	case a.HouseS > 0:
		return driftC
	}
	return process.ProbeTolerance(f.s.Run.Fig.probeClass(), aimC)
}

// honest is the equivalent time of a developer with the bounds that a report
// may promise: what was integrated live, the probe's whole doubt, and what
// part of the film had for longer.
func (f *fold) honest(c *stepRec, sp *process.Step) process.Rates {
	eq := c.Bath.Eq
	eq.High += f.slowDrainS(c) * sp.Rates(c.Bath.PrevC).High // some of the film had it longer
	if more := f.probeDoubtC(c, sp.AimC, f.aim(c)) - f.s.Run.Fig.withinC(); more > 0 {
		eq.Low *= sp.Rates(sp.AimC - more).Low
		eq.High *= sp.Rates(sp.AimC + more).High
	}
	return eq
}

// narrower says what would narrow the range of a push error most.
func (f *fold) narrower(c *stepRec, sp *process.Step, v process.Range) *lab.Narrower {
	width := v.High - v.Low
	if width < 0.02 {
		return nil
	}
	a := f.aim(c)
	with := func(change func(eq *process.Rates), scale bool) float64 {
		eq := f.honest(c, sp)
		change(&eq)
		w, ok := sp.StopsRange(eq, a)
		if !ok {
			return width
		}
		if scale {
			w = sp.Scaled(w)
		}
		return w.High - w.Low
	}
	probe := with(func(eq *process.Rates) {
		k := f.probeDoubtC(c, sp.AimC, a) - measuredC
		if k > 0 {
			eq.Low /= sp.Rates(sp.AimC - k).Low
			eq.High /= sp.Rates(sp.AimC + k).High
		}
	}, true)
	scale := with(func(*process.Rates) {}, false)
	read := width
	if c.Bath.GuessS > 0 {
		part := c.Bath.GuessS / max(c.Bath.SumS, 1)
		read = width * (1 - min(part, 0.9))
	}
	best, text := width, ""
	for _, x := range []struct {
		w    float64
		text string
	}{{probe, "Check the probe against a thermometer"}, {read, "Readings without gaps"}, {scale, "Push times of your own films"}} {
		if x.w < best-1e-3 {
			best, text = x.w, x.text
		}
	}
	if text == "" {
		return nil
	}
	return &lab.Narrower{Text: text, To: round(math.Max(best, 0)/width, 2)}
}
