package process

import (
	"math"
	"strings"
)

// ColdSlowing is how the time that a bath needs goes up as it gets colder: factors
// by temperature, straight lines in their logarithm between.
type ColdSlowing struct {
	Points  []TimeAt // °C and the factor on the time, rising in temperature; the last is 1
	Analogy bool     // the source speaks of prints and not of film
}

// Words say where the slowing is known from, as the sheet page shows it.
func (x *ColdSlowing) Words() string {
	if x.Analogy {
		return "by analogy with prints"
	}
	return "published for black-and-white"
}

// Factor is by how much more time the bath needs at c; 1 where it is warm
// enough.
func (x *ColdSlowing) Factor(c float64) float64 {
	n := len(x.Points)
	if c >= x.Points[n-1].C {
		return 1
	}
	xs, ys := make([]float64, n), make([]float64, n)
	for i, p := range x.Points {
		xs[i], ys[i] = p.C, math.Log(p.S)
	}
	return math.Exp(interpolate(xs, ys, c))
}

// Completes tells whether the step is one that must be complete before the
// film goes on: a fixer, a bleach or a wash.
func (s *Step) Completes() bool {
	return s.Kind != Dev && (s.Fixes || s.Wash || strings.HasPrefix(s.ID, "bleach"))
}

// NeedS is the least time of such a step, seconds.
func (s *Step) NeedS() float64 {
	if s.Kind == Min {
		return s.LeastS
	}
	return s.ShortestS(s.AimS)
}

// ColdRate is how much of its work a bath below its limits does in a second at
// most and at least. Where nothing is published that is only a guess by which
// a page is made or not, never a time that a person is told.
func (s *Step) ColdRate(c float64) Range {
	if s.Slower != nil {
		return Exactly(1 / s.Slower.Factor(c))
	}
	if c >= s.LowC {
		return Exactly(1)
	}
	k := func(f float64) float64 { return math.Pow(f, (c-s.LowC)/10) }
	return Range{k(completion.Best), k(completion.High), k(completion.Low)}
}

// completion is how the speed of a bath that runs to completion (bleach,
// fixer, wash) falls off for 10 °C below its lower limit: a rule of thumb, 2,
// with 1.5 to 4 observed; assumed, none of a maker's sheets gives it. Within
// its limits and above, such a bath counts in full.
var completion = Factor{Best: 2, Low: 1.5, High: 4}

// curves are those of a bath whose slowing down is published.
func (x *ColdSlowing) curves() curves {
	var c curve
	for _, p := range x.Points {
		c.add(p.C, -math.Log(p.S))
	}
	if len(c.x) > 1 {
		c.below = (c.y[1] - c.y[0]) / (c.x[1] - c.x[0])
	}
	return curves{c, c, c}
}
