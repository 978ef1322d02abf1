package rules

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
)

func sortedKeys[K cmp.Ordered, V any](m map[K]V) []K { return slices.Sorted(maps.Keys(m)) }

// median of the values, 0 for fewer than three: too few to call usual.
func (r ring) median() float64 {
	if len(r) < 3 {
		return 0
	}
	v := slices.Sorted(slices.Values(r))
	return v[len(v)/2]
}

// span writes seconds as people say them at a processor: "45 s", "3:15",
// "1:05:00".
func span(s float64) string {
	n := int(math.Round(math.Abs(s)))
	switch {
	case n < 60:
		return fmt.Sprintf("%d s", n)
	case n < 3600:
		return fmt.Sprintf("%d:%02d", n/60, n%60)
	}
	return fmt.Sprintf("%d:%02d:%02d", n/3600, n/60%60, n%60)
}

func round(v float64, digits int) float64 {
	p := math.Pow(10, float64(digits))
	return math.Round(v*p)/p + 0 // never -0
}

func ptr[T any](v T) *T { return &v }
