package oncall

import (
	"slices"
	"time"

	"wetside/internal/lab"
)

// Coming is somebody who goes on call at a moment, and their place among
// those on call then, from 1.
type Coming struct {
	Person string
	Place  int
	At     time.Time
}

// ComingOn lists who goes on call in (from, to) and is not on call at from,
// each once, soonest first.
func ComingOn(p lab.DutyPlan, swaps []lab.DutySwap, from, to time.Time) []Coming {
	loc, err := Zone(p)
	if err != nil {
		return nil
	}
	var spans []span
	for _, h := range p.Hours {
		if s, err := spanOf(h.From, h.To); err == nil {
			spans = append(spans, s)
		}
	}
	seen := On(p, swaps, from)
	var out []Coming
	for _, t := range turns(loc, from, to, spans) {
		for i, person := range On(p, swaps, t) {
			if !slices.Contains(seen, person) {
				seen = append(seen, person)
				out = append(out, Coming{person, i + 1, t})
			}
		}
	}
	return out
}
