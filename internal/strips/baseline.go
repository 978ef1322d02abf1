package strips

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// BaselineSize is how many values set a parameter's own aim and spread.
const BaselineSize = 20

// d2 is the mean range of two values of a normal distribution, in sigmas.
// Source: NIST/SEMATECH e-Handbook 6.3.2.2, table of control chart constants.
const d2 = 1.128

// Baseline gives the aim and the spread that values set: their mean, and
// their mean moving range / 1.128, which a slow drift widens less than it does
// the standard deviation. Only the first BaselineSize values count. ok is
// false with fewer than two, which set no spread.
func Baseline(values []float64) (aim, sigma float64, ok bool) {
	values = values[:min(len(values), BaselineSize)]
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
