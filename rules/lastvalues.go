package rules

import (
	"math"
	"slices"
)

// lastValues are the last values of something, for what is usual of it.
type lastValues []float64

const lastValuesKept = 15

func (r *lastValues) add(v float64) {
	*r = append(*r, v)
	if len(*r) > lastValuesKept {
		*r = append(lastValues(nil), (*r)[len(*r)-lastValuesKept:]...)
	}
}

// sigma is the standard deviation of readings by their last differences, 0 while
// too few are known (see noise.go).
func (r lastValues) sigma() float64 {
	n := len(r)
	if n < noiseLeast {
		return 0
	}
	var buf [lastValuesKept]float64
	v := buf[:copy(buf[:], r)]
	slices.Sort(v)
	mid := v[n/2]
	for i := range v {
		v[i] = math.Abs(v[i] - mid)
	}
	slices.Sort(v)
	return 1.4826 * v[n/2] / math.Sqrt2
}

// most is the largest of the values, 0 for none.
func (r lastValues) most() float64 {
	if len(r) == 0 {
		return 0
	}
	return slices.Max(r)
}

// median of the values, 0 for fewer than three: too few to call usual.
func (r lastValues) median() float64 {
	if len(r) < 3 {
		return 0
	}
	v := slices.Sorted(slices.Values(r))
	return v[len(v)/2]
}
