package rules

import (
	"cmp"
	"maps"
	"slices"
)

func sortedKeys[K cmp.Ordered, V any](m map[K]V) []K { return slices.Sorted(maps.Keys(m)) }

// median of the values, 0 for fewer than three: too few to call usual.
func (r lastValues) median() float64 {
	if len(r) < 3 {
		return 0
	}
	v := slices.Sorted(slices.Values(r))
	return v[len(v)/2]
}
