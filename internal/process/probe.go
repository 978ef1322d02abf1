package process

import "math"

// Classes of platinum resistance thermometers, IEC 60751.
const (
	ClassA = "A"
	ClassB = "B"
)

// ProbeTolerance is what a platinum probe that was never checked may be off at
// c °C: IEC 60751 class A, +-(0.15 + 0.002 |t|), class B, +-(0.30 + 0.005 |t|).
// A probe whose class is not known counts as class B, the wider of the two.
func ProbeTolerance(class string, c float64) float64 {
	if class == ClassA {
		return 0.15 + 0.002*math.Abs(c)
	}
	return 0.30 + 0.005*math.Abs(c)
}
