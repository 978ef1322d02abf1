package strips

import "math"

// Side says on which side of the aim a parameter's action and control limits
// stand. The run rules and the drift charts always look at both.
type Side string

// The sides.
const (
	Both Side = "both"
	High Side = "high"
	Low  Side = "low"
)

// Point is one value of one parameter, with what it is judged by at its time.
// Action and Control are half widths; 0 means that there is no such limit.
// Sigma 0 means that the spread is not known: then only the limits speak.
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

// blur is the part of a deviation that may be no more than binary arithmetic:
// densities are decimals, and 0.38 - 0.30 must not lie beyond 0.08.
func (p Point) blur() float64 {
	return 1e-12 * math.Max(math.Abs(p.Value), math.Abs(p.Aim))
}

// beyond tells whether the value lies strictly beyond a limit on that side:
// sign +1 above, -1 below the aim.
func (p Point) beyond(sign, width float64) bool {
	return sign*p.deviation()-width > p.blur()+1e-9*width
}

// steps is the deviation in sigmas.
func (p Point) steps() float64 { return p.deviation() / p.Sigma }
