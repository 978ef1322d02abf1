package performance

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"wetside/internal/lab"
)

// people counts the calls of each person, who was called most first.
func people(pages []lab.SentPage, from, to time.Time) []lab.PersonFigures {
	by := map[string][]time.Time{}
	for _, p := range pages {
		by[p.Person] = append(by[p.Person], p.At.Time)
	}
	out := []lab.PersonFigures{}
	hours := max(to.Sub(from).Hours(), 1)
	for _, name := range slices.Sorted(maps.Keys(by)) {
		at := by[name]
		slices.SortFunc(at, time.Time.Compare)
		out = append(out, lab.PersonFigures{Person: name, Pages: len(at), PerHour: float64(len(at)) / hours,
			Peak10Min: peak(at, 10*time.Minute), WorstHour: peak(at, time.Hour)})
	}
	slices.SortStableFunc(out, func(a, b lab.PersonFigures) int { return cmp.Compare(b.Pages, a.Pages) })
	return out
}

// peak is the most of sorted moments that fall into any stretch of length d.
func peak(at []time.Time, d time.Duration) int {
	most, first := 0, 0
	for i, t := range at {
		for t.Sub(at[first]) >= d {
			first++
		}
		most = max(most, i-first+1)
	}
	return most
}

// median is the middle of values; nil where there is none.
func median(values []float64) *float64 {
	if len(values) == 0 {
		return nil
	}
	v := slices.Sorted(slices.Values(values))
	m := v[len(v)/2]
	if len(v)%2 == 0 {
		m = (m + v[len(v)/2-1]) / 2
	}
	return &m
}
