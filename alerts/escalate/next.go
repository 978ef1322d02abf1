package escalate

import (
	"slices"
	"time"

	"wetside/internal/lab"
)

// Upcoming is what the next step of a case would do if it were due now.
type Upcoming struct {
	People []string  // who is paged, those left out whom nothing has reached lately
	Quiet  time.Time // nobody before this moment: quiet hours; zero: not so
}

// Next tells what the next step of a case would do if it were due at now,
// besides paging the one who asks.
func Next(c lab.PageCase, d Duty, now time.Time, asks string) Upcoming {
	c.DueAt, c.Fresh = now, false
	change, changed := Advance(c, d, now)
	var out Upcoming
	if !changed || !change.Case.EndedAt.IsZero() {
		return out
	}
	for _, p := range change.Pages {
		if p.Person != asks && !p.NotBefore.After(now) && !slices.Contains(d.Failing, p.Person) && !slices.Contains(out.People, p.Person) {
			out.People = append(out.People, p.Person)
		}
	}
	if len(change.Pages) == 0 && d.Quiet.Equal(change.Case.DueAt) {
		out.Quiet = d.Quiet
	}
	return out
}
