package strips

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// baselineSize is how many values set a parameter's own aim and spread.
const baselineSize = 20

// d2 is the mean range of two values of a normal distribution, in sigmas.
// Source: NIST/SEMATECH e-Handbook 6.3.2.2, table of control chart constants.
const d2 = 1.128

// baselineOf gives the aim and the spread that values set: their mean, and
// their mean moving range / 1.128, which a slow drift widens less than it does
// the standard deviation. Only the first baselineSize values count. ok is
// false with fewer than two, which set no spread.
func baselineOf(values []float64) (aim, sigma float64, ok bool) {
	values = values[:min(len(values), baselineSize)]
	if len(values) == 0 {
		return 0, 0, false
	}
	if len(values) == 1 {
		return values[0], 0, false
	}
	ranges := make([]float64, 0, len(values)-1)
	for i, v := range values[1:] {
		ranges = append(ranges, math.Abs(v-values[i]))
	}
	return stat.Mean(values, nil), stat.Mean(ranges, nil) / d2, true
}

// Point is one value of one parameter, with what it is judged by at its time.
// Action and Control are half widths; 0 means that there is no such limit.
// Sigma 0 means that the spread is not known: then only the limits count.
type Point struct {
	Value   float64
	Aim     float64
	Sigma   float64
	Action  float64
	Control float64
	Side    Side
}

// deviation of the value from its aim.
func (p Point) deviation() float64 { return p.Value - p.Aim }

// blur is how much of a deviation may come from binary arithmetic alone:
// densities are decimals, and 0.38 - 0.30 must not lie beyond 0.08.
func (p Point) blur() float64 {
	return 1e-12 * math.Max(math.Abs(p.Value), math.Abs(p.Aim))
}

// beyond tells whether the value lies strictly beyond a limit on that side:
// sign +1 above, -1 below the aim.
func (p Point) beyond(sign, width float64) bool {
	return sign*p.deviation()-width > p.blur()+1e-9*width
}

// sigmas is the deviation in sigmas.
func (p Point) sigmas() float64 { return p.deviation() / p.Sigma }

// Side says on which side of the aim a parameter's action and control limits
// stand. The run rules and the drift charts always look at both.
type Side string

// The sides.
const (
	Both Side = "both"
	High Side = "high"
	Low  Side = "low"
)
