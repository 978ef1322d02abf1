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

// At is the step at another temperature than the sheet's: a copy judged around
// aimC. Where the sheet has a time for that temperature, that time counts, and
// its push times with it; where it takes its time from the unit, the limits
// move along. Else the step is as it was.
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
