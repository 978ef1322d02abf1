package alerts

import (
	"time"

	"wetside/internal/lab"
)

// Change is one occurrence of a condition as the rules see it now: new,
// changed, moved or taken back.
type Change struct {
	lab.Occurrence
	// Noticed is the arrival time at which it was found out.
	Noticed time.Time
	// FoundAfterwards: it had already ended when it was noticed. It is shown
	// and reported, not paged.
	FoundAfterwards bool
	// Was is the id that the same occurrence had before late evidence moved
	// its beginning; "" otherwise.
	Was string
	// Withdrawn: later evidence says that it never was.
	Withdrawn bool
}

// Refs lists what Apply wants loaded for the changes: the keys, whose open or
// latest alert it needs, and the ids of occurrences it may find in older ones.
func Refs(changes []Change) (keys, ids []string) {
	seenKey, seenID := map[string]bool{}, map[string]bool{}
	add := func(seen map[string]bool, to []string, v string) []string {
		if v == "" || seen[v] {
			return to
		}
		seen[v] = true
		return append(to, v)
	}
	for _, c := range changes {
		keys = add(seenKey, keys, c.Key)
		ids = add(seenID, ids, c.ID)
		ids = add(seenID, ids, c.Was)
	}
	return keys, ids
}
