package rules

import (
	"math"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// driftC is how far a probe may have drifted since the lab set its house aim, °C.
// Common practice, no source.
const driftC = 0.1

// probeDoubtC is how far a reading of a bath may be off, °C: by the tolerance of
// the probe's class until it was checked against a thermometer, then by the
// spread of that check. Against a house aim only drift counts: what the probe
// was off when the aim was set is part of the aim.
func (u *Unit) probeDoubtC(c *runStep, aimC float64, a process.Aim) float64 {
	switch {
	case c.Measured > 0:
		return measuredC
	case a.HouseS > 0:
		return min(driftC, u.s.Run.Fig.withinC()) // see above
	case u.s.Run.Fig.Probe != nil:
		return u.s.Run.Fig.withinC()
	}
	return process.ProbeTolerance(u.s.Run.Fig.Class, aimC)
}

// equivalentBounds is the equivalent time of a developer with the bounds of the
// report. They hold what was followed live, how far the probe may be off, a slow
// drain, and the range of the temperature factor; that the factor's range itself
// is right they cannot promise.
func (u *Unit) equivalentBounds(c *runStep, sp *process.Step) process.Rates {
	eq := c.Bath.Eq
	eq.High += u.slowDrainS(c) * sp.Rates(c.Bath.PrevC).High // the part of the film that drained last had it longer
	return widened(eq, sp, u.probeDoubtC(c, sp.AimC, u.aim(c))-u.s.Run.Fig.withinC())
}

// widened gives an equivalent time the bounds of a probe that may be off by so
// many °C more, or less where more is below zero.
func widened(eq process.Rates, sp *process.Step, more float64) process.Rates {
	low, high := sp.Rates(sp.AimC-math.Abs(more)).Low, sp.Rates(sp.AimC+math.Abs(more)).High
	if more < 0 {
		low, high = 1/low, 1/high
	}
	eq.Low, eq.High = min(eq.Best, eq.Low*low), max(eq.Best, eq.High*high)
	return eq
}

// narrower says what would make the range of a push error smaller than anything
// else would: that is what the lab should do next.
func (u *Unit) narrower(c *runStep, sp *process.Step, v process.Range) *lab.Narrower {
	width := v.High - v.Low
	if width < 0.02 {
		return nil
	}
	a := u.aim(c)
	with := func(change func(eq *process.Rates), scale bool) float64 {
		eq := u.equivalentBounds(c, sp)
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
	probe := with(func(eq *process.Rates) { // a check now tells nothing of a house aim that was set before
		if k := u.probeDoubtC(c, sp.AimC, a) - probeCheckedC; k > 0 && a.HouseS == 0 && c.Measured == 0 {
			*eq = widened(*eq, sp, -k)
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
	return &lab.Narrower{Text: text, To: lab.Round(math.Max(best, 0)/width, 2)}
}
