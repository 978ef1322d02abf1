package report

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// outZ is how far, in robust z, a figure must lie from the good runs to stand
// out: Iglewicz and Hoaglin 1993.
const outZ = 3.5

// zScale makes the MAD of a normal distribution its deviation: the 75th
// percentile of the standard normal distribution.
const zScale = 0.6745

// median of values; NaN for none. The middle two are averaged.
func median(values []float64) float64 {
	n := len(values)
	if n == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(values))
	if n%2 == 1 {
		return s[n/2]
	}
	return (s[n/2-1] + s[n/2]) / 2
}

// mad is the median of the absolute deviations from the median.
func mad(values []float64) float64 {
	m := median(values)
	d := make([]float64, len(values))
	for i, v := range values {
		d[i] = math.Abs(v - m)
	}
	return median(d)
}

// robustZ is 0.6745 (x - median) / MAD, with the MAD no smaller than floor:
// what is measured no finer cannot tell runs apart.
func robustZ(x float64, good []float64, floor float64) (z, med float64) {
	med = median(good)
	return zScale * (x - med) / max(mad(good), floor), med
}

// percentile reads the p-th part (0..1) of values.
func percentile(p float64, values []float64) float64 {
	return stat.Quantile(p, stat.LinInterp, slices.Sorted(slices.Values(values)), nil)
}
