package process

import "math"

// Aim is what a step is judged against.
type Aim struct {
	Push float64
	SetS float64 // the unit's own set time; used where the sheet takes it from there
	// HouseS is the house aim: the equivalent time that the lab's good runs
	// on this unit really get, seconds; 0: the sheet's time.
	HouseS float64
}

// TargetS is the equivalent time aimed at, seconds: the house aim's, else the
// sheet's. False where it cannot be known.
func (s *Step) TargetS(a Aim) (float64, bool) {
	if a.HouseS > 0 && s.Kind == Dev {
		return a.HouseS, true
	}
	return s.TimeFor(a.Push, a.SetS)
}

// Stops is the push error of an equivalent time against the house aim where
// there is one: what lies between the two on the sheet's own push times. So
// the error against the sheet is that against the house aim and, added, what
// the house aim itself is off the sheet.
func (s *Step) Stops(equivalentS float64, a Aim) (float64, bool) {
	v, ok := s.PushError(equivalentS, a.Push, a.SetS)
	if !ok {
		return 0, false
	}
	return withinStops(v - s.houseStops(a))
}

// houseStops is how far the house aim lies off the sheet.
func (s *Step) houseStops(a Aim) float64 {
	if a.HouseS <= 0 {
		return 0
	}
	v, _ := s.PushError(a.HouseS, a.Push, a.SetS)
	return v
}

// StopsRange is Stops of an equivalent time and its bounds.
func (s *Step) StopsRange(equivalent Range, a Aim) (Range, bool) {
	b, ok := s.Stops(equivalent.Best, a)
	l, _ := s.Stops(equivalent.Low, a)
	h, _ := s.Stops(equivalent.High, a)
	return Range{b, l, h}, ok
}

// equivalentFor is the equivalent time of a push error, seconds.
func (s *Step) equivalentFor(stops float64, a Aim) (float64, bool) {
	times, ok := s.pushTimes(a.Push, a.SetS)
	if !ok {
		return 0, false
	}
	return interpolate(s.Push.Stops, times, a.Push+stops+s.houseStops(a)), true
}

// Off tells beyond which edge of the verdict an equivalent time is, as beyondEdge
// does, but against the house aim where there is one.
func (s *Step) Off(equivalentS float64, a Aim) int {
	target, ok := s.TargetS(a)
	if s.Kind != Dev || !ok {
		return 0
	}
	if s.Edges.Ratio {
		return s.beyondEdge(equivalentS, target, a.Push, a.SetS)
	}
	stops, ok := s.Stops(equivalentS, a)
	if !ok {
		return 0
	}
	return s.Edges.edgePassed(stops)
}

// edgePassed tells how far out a push error is.
func (e Edges) edgePassed(stops float64) int {
	return edgePassed(math.Abs(stops) >= e.InspectStops, math.Abs(stops) > e.OutStops)
}

// EdgeTimes are the equivalent times at which the judgement of a step
// changes, seconds: TargetS is aimed at; from Under to Over it is in control;
// below OutUnder or above OutOver it is out of control. An edge that the step
// does not have is 0 or +Inf.
type EdgeTimes struct{ TargetS, Under, Over, OutUnder, OutOver float64 }

// EdgeTimes gives the step's edges. False where its time cannot be known.
func (s *Step) EdgeTimes(a Aim) (EdgeTimes, bool) {
	target, ok := s.TargetS(a)
	if !ok {
		return EdgeTimes{}, false
	}
	e := EdgeTimes{TargetS: target, Over: math.Inf(1), OutOver: math.Inf(1)}
	switch {
	case s.Kind == Min:
		e.Under = s.ShortestS(target)
	case s.Kind == Exact:
		e.Under, e.Over = s.ShortestS(target), s.LongestS(target)
	case s.Edges.Ratio:
		e.Under, e.Over = target*(1-s.Edges.InspectUnder), target*(1+s.Edges.InspectOver)
		e.OutUnder, e.OutOver = target*(1-s.Edges.OutUnder), target*(1+s.Edges.OutOver)
	default:
		for _, x := range []struct {
			to    *float64
			stops float64
		}{{&e.Under, -s.Edges.InspectStops}, {&e.Over, s.Edges.InspectStops},
			{&e.OutUnder, -s.Edges.OutStops}, {&e.OutOver, s.Edges.OutStops}} {
			v, ok := s.equivalentFor(x.stops, a)
			if !ok { // a developer without push times: its tolerance of time
				e.Under, e.Over = s.ShortestS(target), s.LongestS(target)
				e.OutUnder, e.OutOver = 0, math.Inf(1)
				return e, true
			}
			*x.to = max(v, 0)
		}
	}
	return e, true
}
