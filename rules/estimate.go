package rules

import (
	"math"
	"time"

	"wetside/internal/process"
)

// What the liquid may do while no reading comes. A bath may start startWithinC
// away from its first reading, and a sound heater overshoots by heatSlackC.
// Common practice, no source.
const (
	startWithinC = 3.0
	heatSlackC   = 0.1
	pieceS       = 5.0 // the bounds are summed in steps of this, seconds
)

// estimate is the equivalent time of a stretch without readings, in which the
// liquid went from c0 to c1. The best estimate is the straight line between
// them; the bounds are what the liquid could have done meanwhile: cool toward
// the room, or warm up to what the heater holds. While the power was lost it
// cooled.
func (e *bathConditions) estimate(from, to time.Time, c0, c1 float64, fromRead, toRead bool) process.Rates {
	dt := to.Sub(from).Seconds()
	if !e.latestEnd.IsZero() { // the step may have ended right after from, or as late as latestEnd
		return process.Rates{Best: e.estimateToOpenEnd(c0, dt).Best, High: e.estimateToOpenEnd(c0, e.latestEnd.Sub(from).Seconds()).High}
	}
	a, b, off := to, to, false
	if e.powerLostWithin != nil && fromRead {
		a, b, off = e.powerLostWithin(from, to)
	}
	if !off {
		return e.estimateHeated(c0, c1, dt, fromRead, toRead)
	}
	before, away, after := a.Sub(from).Seconds(), b.Sub(a).Seconds(), to.Sub(b).Seconds()
	sum := e.step.EquivalentWithin(c0, c0, before, e.withinC)
	if toRead && after <= e.limitS {
		return sum.Plus(e.estimateCooling(c0, c1, away)).Plus(e.step.EquivalentWithin(c1, c1, after, e.withinC))
	}
	start := process.Within(c0, e.withinC)
	sum = sum.Plus(e.step.Cooled(e.cool, start, e.room, 0, away))
	if after <= 0 {
		return sum
	}
	cold := e.cool.Between(start, e.room, away)
	if !toRead {
		c1 = min(cold.Best+liquidRateC*after, max(c0, e.setC))
	}
	rest := e.estimateHeated(cold.Best, c1, after, true, toRead)
	rest.Low = min(rest.Low, e.step.EquivalentWithin(cold.Low, cold.Low, after, 0).Low)
	return sum.Plus(rest)
}

// estimateCooling is a cooling of which both ends were read: Newton's law of
// cooling through the two, so that the unit's time constant need not be known.
func (e *bathConditions) estimateCooling(c0, c1, dt float64) process.Rates {
	room := e.room.Best
	if (c0-room)*(c1-room) <= 0 || math.Abs(c1-room) >= math.Abs(c0-room)-1e-6 {
		return e.step.EquivalentWithin(c0, c1, dt, e.withinC)
	}
	tau := dt / math.Log((c0-room)/(c1-room))
	best := e.step.Cooled(process.Cooling{TauS: tau, TauLowS: tau, TauHighS: tau},
		process.Exactly(c0), process.Exactly(room), 0, dt)
	line := e.step.EquivalentWithin(c0, c1, dt, e.withinC)
	line.Best = best.Best
	line.Low, line.High = min(line.Low, best.Low), max(line.High, best.High)
	return line
}

// estimateToOpenEnd is a stretch of which the end was not read: the best estimate
// is that the liquid stayed as it was.
func (e *bathConditions) estimateToOpenEnd(c0, dt float64) process.Rates {
	return e.estimateHeated(c0, c0, dt, true, false)
}

// estimateHeated is a stretch in which the heater may have worked.
func (e *bathConditions) estimateHeated(c0, c1, dt float64, fromRead, toRead bool) process.Rates {
	sum := process.Rates{Best: e.step.Equivalent(c0, c1, dt).Best}
	n := max(1, int(math.Ceil(dt/pieceS)))
	h := dt / float64(n)
	for i := range n {
		s := (float64(i) + 0.5) * h
		low, high := e.reachableC(c0, c1, s, dt, fromRead, toRead)
		mid := c0 + (c1-c0)*s/dt
		low, high = min(low, mid)-e.withinC, max(high, mid)+e.withinC
		sum.Low += h * e.step.Rates(low).Low
		sum.High += h * e.step.Rates(high).High
	}
	return sum
}

// reachableC is the coldest and the warmest that the liquid can be, s seconds
// into a stretch of dt seconds.
func (e *bathConditions) reachableC(c0, c1, s, dt float64, fromRead, toRead bool) (low, high float64) {
	low, high = math.Inf(-1), math.Inf(1)
	if fromRead {
		low = e.cool.Between(process.Exactly(c0), e.room, s).Low
		high = min(max(c0, c1, e.setC+heatSlackC), c0+liquidRateC*s)
	}
	if toRead {
		low = max(low, c1-liquidRateC*(dt-s))
		quick := max(c1-e.room.Low, 0) / max(e.cool.TauLowS, 1)
		high = min(high, c1+quick*(dt-s)+heatSlackC)
	}
	if !fromRead {
		low, high = max(low, c1-startWithinC), min(high, c1+startWithinC)
	}
	return low, high
}
