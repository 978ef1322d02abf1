package process

import (
	"math"
	"slices"
)

// atWithinC is how near a set temperature must be to one the sheet has a time for.
const atWithinC = 0.3

// HasTimeAt tells whether the sheet has a time of its own for a temperature.
func (s *Step) HasTimeAt(c float64) bool { return s.timeAt(c) >= 0 }

func (s *Step) timeAt(c float64) int {
	return slices.IndexFunc(s.AtC, func(t TimeAt) bool { return math.Abs(t.C-c) <= atWithinC })
}

// At is the step at another temperature than the sheet's: a copy with its
// limits around aimC. Where the sheet has a time for that temperature, the copy
// has that time, with the push times scaled by it. Where the sheet has none and
// does not take the time from the unit, the step is given unchanged.
func (s *Step) At(aimC float64) *Step {
	i := s.timeAt(aimC)
	if i < 0 && !s.FromUnit {
		return s
	}
	out := *s
	if i >= 0 {
		aimC = s.AtC[i].C
		if k := s.AtC[i].S / s.AimS; s.Push != nil && !s.Push.Factors {
			p := Push{Stops: s.Push.Stops, Values: slices.Clone(s.Push.Values)}
			for j := range p.Values {
				p.Values[j] *= k
			}
			out.Push = &p
		}
		out.AimS = s.AtC[i].S
	}
	out.AimC, out.LowC, out.HighC = aimC, s.LowC+aimC-s.AimC, s.HighC+aimC-s.AimC
	if d := s.Developer; d != nil && d.Factor == nil {
		k := d.curves(aimC, s.Factor)
		out.kinetics = &k
	}
	return &out
}

// TimeFor is the step's time in seconds for a push. setS is the unit's own
// set time, used only where the sheet takes its time from the unit. False
// where the time cannot be known.
func (s *Step) TimeFor(push, setS float64) (float64, bool) {
	if s.FromUnit {
		return setS, setS > 0 && (s.Push == nil || s.PushKnown(push))
	}
	if s.Push == nil {
		return s.AimS, s.AimS > 0
	}
	if !s.PushKnown(push) {
		return 0, false
	}
	v := interpolate(s.Push.Stops, s.Push.Values, push)
	if s.Push.Factors {
		v *= s.AimS
	}
	return v, v > 0
}

// Tolerance is how far, in seconds, the step may fall short of or exceed the
// given sheet time. For a least-time step Short is below LeastS and Over is
// above AimS.
func (s *Step) Tolerance(sheetS float64) (short, over float64) {
	switch s.Kind {
	case Dev:
		t := math.Max(3, 0.02*sheetS)
		short, over = t, t
	case Exact:
		t := math.Max(10, 0.10*sheetS)
		short, over = t, t
	default:
		short, over = math.Max(3, 0.02*s.LeastS), math.Max(60, 0.25*s.AimS)
	}
	if s.UnderS > 0 {
		short = s.UnderS
	}
	if s.OverS > 0 {
		over = s.OverS
	}
	return short, over
}

// ShortestS is the time below which the step was too short, seconds: the
// sheet's time, or the least time, less its tolerance.
func (s *Step) ShortestS(sheetS float64) float64 {
	short, _ := s.Tolerance(sheetS)
	if s.Kind == Min {
		return s.LeastS - short
	}
	return sheetS - short
}

// LongestS is the time beyond which the step was too long, seconds.
func (s *Step) LongestS(sheetS float64) float64 {
	_, over := s.Tolerance(sheetS)
	return sheetS + over
}

// interpolate reads y at x off straight lines through the points, the outer two
// carried on.
func interpolate(xs, ys []float64, x float64) float64 {
	if len(xs) == 1 {
		return ys[0]
	}
	i := 1
	for i < len(xs)-1 && x > xs[i] {
		i++
	}
	return ys[i-1] + (ys[i]-ys[i-1])*(x-xs[i-1])/(xs[i]-xs[i-1])
}
