package process

import "math"

// PushError is what an equivalent time amounts to against the push asked
// for, in stops: + pushed, - pulled. setS is the unit's own set time (for
// sheets that take their time from the unit). False where the step does not
// push.
func (s *Step) PushError(equivalentS, push, setS float64) (float64, bool) {
	times, ok := s.pushTimes(push, setS)
	if !ok {
		return 0, false
	}
	return withinStops(interpolate(times, s.Push.Stops, equivalentS) - push)
}

// mostStops bounds a push error. No film shows more; without the bound a
// reading that no bath can have would give a push error of any size.
const mostStops = 20

func withinStops(v float64) (float64, bool) {
	if math.IsNaN(v) {
		return 0, false
	}
	return math.Max(-mostStops, math.Min(v, mostStops)), true
}

// leastNormalS is the shortest normal time, in seconds, by which push factors
// are multiplied: a unit that is set to less develops nothing.
const leastNormalS = 1

// beyondStops is how far beyond its table a push still has a time, on the
// straight line through the last two.
const beyondStops = 0.5

// PushKnown tells whether the sheet has a time for a push: within its table,
// or no more than half a stop beyond.
func (s *Step) PushKnown(push float64) bool {
	if s.Push == nil {
		return true
	}
	p := s.Push.Stops
	return push >= p[0]-beyondStops-1e-9 && push <= p[len(p)-1]+beyondStops+1e-9
}

// Side tells whether an equivalent time lies within what the push table covers
// (0), below it (-1) or above it (+1).
func (s *Step) Side(equivalentS float64, a Aim) int {
	times, ok := s.pushTimes(a.Push, a.SetS)
	if !ok {
		return 0
	}
	v, p := interpolate(times, s.Push.Stops, equivalentS), s.Push.Stops
	switch {
	case v < p[0]-beyondStops-1e-9:
		return -1
	case v > p[len(p)-1]+beyondStops+1e-9:
		return 1
	}
	return 0
}

// Bound is the push error of the table's end and half a stop on one side: an
// equivalent time beyond the table is surely further out than that.
func (s *Step) Bound(side int, a Aim) float64 {
	p := s.Push.Stops
	v := p[0] - beyondStops
	if side > 0 {
		v = p[len(p)-1] + beyondStops
	}
	return v - a.Push - s.houseStops(a)
}

// pushTimes are the times of the push table in seconds.
func (s *Step) pushTimes(push, setS float64) ([]float64, bool) {
	if s.Push == nil {
		return nil, false
	}
	if !s.Push.Factors {
		return s.Push.Values, true
	}
	normal := s.AimS
	if s.FromUnit {
		if !s.PushKnown(push) {
			return nil, false
		}
		normal = setS / interpolate(s.Push.Stops, s.Push.Values, push)
	}
	if !(normal >= leastNormalS) {
		return nil, false
	}
	times := make([]float64, len(s.Push.Values))
	for i, f := range s.Push.Values {
		times[i] = f * normal
	}
	return times, true
}

// beyondEdge tells how far out an equivalent time is: 0 within, 1 beyond the
// inspect edge, 2 beyond the second edge. sheetS is the step's time for the
// push asked for.
func (s *Step) beyondEdge(equivalentS, sheetS, push, setS float64) int {
	if s.Kind != Dev {
		return 0
	}
	e := s.Edges
	if e.Ratio {
		r := equivalentS/sheetS - 1
		return edgePassed(r < -e.InspectUnder || r > e.InspectOver, r < -e.OutUnder || r > e.OutOver)
	}
	stops, ok := s.PushError(equivalentS, push, setS)
	if !ok {
		return 0
	}
	return e.edgePassed(stops)
}

func edgePassed(inspect, out bool) int {
	switch {
	case out:
		return 2
	case inspect:
		return 1
	}
	return 0
}

// Scaled widens the bounds of a push error by how much push times differ from
// film to film. An error of zero stays zero.
func (s *Step) Scaled(v Range) Range {
	if s.Push == nil || s.Push.Spread == (Factor{}) {
		return v
	}
	lo, hi := s.Push.Spread.Low, s.Push.Spread.High
	return Range{v.Best, min(v.Low*lo, v.Low*hi), max(v.High*lo, v.High*hi)}
}

// SideOfUnknown tells on which side of a push without a time an equivalent
// time came out, and a bound on that side: where the film surely came out
// below it, bound is the most stops that it can be; else the least. False
// where neither is certain.
func (s *Step) SideOfUnknown(eq Range, push, setS float64) (side int, bound float64, ok bool) {
	if s.Push == nil || s.Push.Factors { // the time is the unit's, and says nothing without a push
		return 0, 0, false
	}
	p := s.Push.Stops
	low, high := p[0]-beyondStops, p[len(p)-1]+beyondStops
	at := func(x float64) float64 { return min(max(interpolate(s.Push.Values, p, x), low), high) }
	switch {
	case at(eq.High) < high && at(eq.High) < push:
		return -1, at(eq.High) - push, true
	case at(eq.Low) > low && at(eq.Low) > push:
		return 1, at(eq.Low) - push, true
	case push < low:
		return 1, at(eq.Low) - push, true
	}
	return 0, 0, false
}
