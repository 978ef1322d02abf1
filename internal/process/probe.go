package process

import "math"

// Classes of platinum resistance thermometers, IEC 60751.
const (
	ClassA = "A"
	ClassB = "B"
)

// ProbeTolerance is what a platinum probe that was never checked may be off at
// c °C: IEC 60751 class A, +-(0.15 + 0.002 |t|), class B, +-(0.30 + 0.005 |t|).
// A probe of unknown kind is taken for one of class B.
func ProbeTolerance(class string, c float64) float64 {
	if class == ClassA {
		return 0.15 + 0.002*math.Abs(c)
	}
	return 0.30 + 0.005*math.Abs(c)
}

// Scaled widens a push error by what the push times themselves scatter from
// film to film: an error of nothing stays nothing.
func (s *Step) Scaled(v Range) Range {
	if s.Push == nil || s.Push.Spread == (Factor{}) {
		return v
	}
	lo, hi := s.Push.Spread.Low, s.Push.Spread.High
	return Range{v.Best, min(v.Low*lo, v.Low*hi), max(v.High*lo, v.High*hi)}
}

// SideOfUnknown tells on which side of a push without a time an equivalent
// time came out, and a bound on that side: where the film surely came out
// below it, at most so many stops; else at least. False where nothing can be
// said.
func (s *Step) SideOfUnknown(eq Range, push, setS float64) (side int, bound float64, ok bool) {
	if s.Push == nil || s.Push.Factors { // the time is the unit's, and says nothing without a push
		return 0, 0, false
	}
	p := s.Push.Stops
	low, high := p[0]-beyondStops, p[len(p)-1]+beyondStops
	at := func(x float64) float64 { return min(max(lines(s.Push.Values, p, x), low), high) }
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
