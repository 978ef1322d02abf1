package escalate

import (
	"slices"
	"time"

	"wetside/internal/lab"
)

// Duty is who can be called, as it stands at one moment.
type Duty struct {
	Plan      lab.DutyPlan
	On        []string             // on duty now, in order
	Reachable []string             // everybody who can be reached at all
	Failing   []string             // of these: no contact method has worked lately; they are tried, and the next is called at once
	Dark      map[string]time.Time // whose phone must stay dark, until when
	Quiet     time.Time            // quiet hours go on until then; zero: none now
	// Film says where a unit's film is; nil: nobody knows.
	Film func(unit string) lab.FilmAt
}

// How soon a case is looked at again that is paused or finds nobody.
const (
	pausedAgain = 15 * time.Second
	nobodyAgain = time.Minute
)

// Advance gives a case as it shall stand at now, and the pages of the steps
// that became due. changed is false where nothing is to be written.
func Advance(c lab.PageCase, d Duty, now time.Time) (out lab.CaseChange, changed bool) {
	out.Case = c
	out.Case.Fresh = false // for this once
	s := summarise(c, d.present(now))
	switch {
	case len(s.active) == 0 && !s.paused:
		out.Case.EndedAt, out.Case.Why = now, s.why
		return out, true
	case newUrgent(c) && c.DueAt.After(now):
		tellAgain(&out, s, d, now)
		return out, true
	case c.DueAt.After(now):
		return out, false
	case len(s.active) == 0:
		out.Case.DueAt = now.Add(pausedAgain)
		return out, true
	case s.spent && c.Step-c.Base >= len(ladderOf(d.Plan, s.priority)):
		// all were called, and nothing can be done any more: the rolls are held
		out.Case.DueAt = now.Add(nobodyAgain)
		return out, true
	case s.priority != lab.Urgent && !s.own && d.Quiet.After(now):
		out.Case.DueAt = d.Quiet
		return out, true
	}
	step(&out, s, d, now)
	return out, true
}

// step makes the step that is due. Where it reaches nobody, or only people
// whom nothing has reached lately, it goes on to the next step at once; what
// is urgent does so too where all are in the dark.
func step(out *lab.CaseChange, s summary, d Duty, now time.Time) {
	c := &out.Case
	ladder := ladderOf(d.Plan, s.priority)
	for range len(ladder) + 1 {
		at := min(c.Step-c.Base, len(ladder)-1)
		last := at == len(ladder)-1 && c.Step-c.Base >= len(ladder)-1
		who := reach(ladder[at], d)
		if c.Step == c.Base {
			who = withTold(who, s, d)
		}
		lit, held := 0, 0
		for _, person := range who {
			p := lab.CasePage{CaseID: c.ID, Step: c.Step, Person: person, Priority: s.priority, NotBefore: now, CreatedAt: now}
			if until, dark := d.Dark[person]; dark && until.After(now) {
				p.NotBefore = until
				held++
			} else if !slices.Contains(d.Failing, person) {
				lit++
			}
			out.Pages = append(out.Pages, p)
		}
		c.Step++
		c.DueAt = now.Add(wait(ladder, at, last, d.Plan, s))
		if lit > 0 || held > 0 && s.priority != lab.Urgent {
			return
		}
		if last {
			lastResort(out, s, d, now)
			return
		}
	}
}

// newUrgent tells whether something urgent joined a case of one unit that was
// urgent already and has steps behind it: those who were called know nothing
// of it yet. One cause that many units share is one call, however many join.
func newUrgent(c lab.PageCase) bool {
	return c.Fresh && c.Step > c.Base
}

// tellAgain calls at once all whom the steps have reached so far. The steps to
// come stay where they are: nobody is called later because more went wrong.
func tellAgain(out *lab.CaseChange, s summary, d Duty, now time.Time) {
	c := &out.Case
	ladder := ladderOf(d.Plan, s.priority)
	lit := false
	for at := range min(c.Step-c.Base, len(ladder)) {
		for _, person := range reach(ladder[at], d) {
			if slices.ContainsFunc(out.Pages, func(p lab.CasePage) bool { return p.Person == person }) {
				continue
			}
			p := lab.CasePage{CaseID: c.ID, Step: c.Step, Person: person, Priority: s.priority, NotBefore: now, CreatedAt: now}
			if until, dark := d.Dark[person]; dark && until.After(now) {
				p.NotBefore = until
			} else if !slices.Contains(d.Failing, person) {
				lit = true
			}
			out.Pages = append(out.Pages, p)
		}
	}
	c.Step++
	c.Base++ // it was no step of the ladder
	if !lit {
		c.DueAt = now
		step(out, s, d, now)
	}
}

// lastResort calls everybody who can be reached, whatever the steps say, where
// the steps reached nobody who may look at a phone now.
func lastResort(out *lab.CaseChange, s summary, d Duty, now time.Time) {
	c := &out.Case
	lit := false
	for _, person := range d.Reachable {
		if d.Dark[person].After(now) || slices.ContainsFunc(out.Pages, func(p lab.CasePage) bool { return p.Person == person }) {
			continue
		}
		out.Pages = append(out.Pages, lab.CasePage{CaseID: c.ID, Step: c.Step - 1, Person: person, Priority: s.priority, NotBefore: now, CreatedAt: now})
		lit = lit || !slices.Contains(d.Failing, person)
	}
	if !lit {
		c.DueAt = now.Add(nobodyAgain)
		for _, until := range d.Dark {
			if until.After(now) && until.Before(c.DueAt) {
				c.DueAt = until
			}
		}
	}
}

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
