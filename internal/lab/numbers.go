package lab

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// Seconds is so many seconds as a duration.
func Seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// SpanText writes seconds as people say them at a processor: "45 s", "3:15",
// "1:05:00".
func SpanText(s float64) string {
	n := int(math.Round(math.Abs(s)))
	switch {
	case n < 60:
		return fmt.Sprintf("%d s", n)
	case n < 3600:
		return fmt.Sprintf("%d:%02d", n/60, n%60)
	}
	return fmt.Sprintf("%d:%02d:%02d", n/3600, n/60%60, n%60)
}

// Round rounds to so many decimals.
func Round(v float64, digits int) float64 {
	p := math.Pow(10, float64(digits))
	return math.Round(v*p)/p + 0 // never -0
}

// Later is the later of two moments.
func Later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// Earlier is the earlier of two moments.
func Earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// LastOf gives the last n of a list, in memory of its own where it is cut.
func LastOf[T any](list []T, n int) []T {
	if len(list) <= n {
		return list
	}
	return slices.Clone(list[len(list)-n:])
}
