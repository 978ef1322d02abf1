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

// How soon a case is looked at again that rests or finds nobody.
const (
	restAgain   = 15 * time.Second
	nobodyAgain = time.Minute
)

// Advance gives a case as it shall stand at now, and the pages of the steps
// that became due. changed is false where nothing is to be written.
func Advance(c lab.PageCase, d Duty, now time.Time) (out lab.CaseChange, changed bool) {
	out.Case = c
	out.Case.Fresh = false // for this once
	s := summarise(c, d.present(now))
	switch {
	case len(s.live) == 0 && !s.resting:
		out.Case.EndedAt, out.Case.Why = now, s.why
		return out, true
	case newUrgent(c) && c.DueAt.After(now):
		tellAgain(&out, s, d, now)
		return out, true
	case c.DueAt.After(now):
		return out, false
	case len(s.live) == 0:
		out.Case.DueAt = now.Add(restAgain)
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

func ladderOf(p lab.DutyPlan, priority lab.Priority) []lab.DutyStep {
	ladder := p.High
	if priority == lab.Urgent {
		ladder = p.Urgent
	}
	if len(ladder) == 0 {
		ladder = []lab.DutyStep{{Who: lab.WhoEverybody}}
	}
	return ladder
}

// reach lists whom a step reaches.
func reach(s lab.DutyStep, d Duty) []string {
	var who []string
	switch s.Who {
	case lab.WhoFirst:
		who = d.On[:min(1, len(d.On))]
	case lab.WhoSecond:
		who = d.On[min(1, len(d.On)):min(2, len(d.On))]
	case lab.WhoNamed:
		who = []string{s.Person}
	default:
		who = slices.Clone(d.On)
		for _, p := range d.Reachable {
			if !slices.Contains(who, p) {
				who = append(who, p)
			}
		}
	}
	return slices.DeleteFunc(slices.Clone(who), func(p string) bool { return !slices.Contains(d.Reachable, p) })
}

// wait is how long the next step waits for an acknowledgement of this one. The
// first escalation comes at a quarter of the time to respond at most.
func wait(ladder []lab.DutyStep, at int, last bool, p lab.DutyPlan, s summary) time.Duration {
	after := p.RepeatHighS
	if s.priority == lab.Urgent {
		after = p.RepeatUrgentS
	}
	if !last {
		after = ladder[at+1].AfterS
	}
	w := time.Duration(after) * time.Second
	if at == 0 && !last {
		w = min(w, s.respond/4)
	}
	return max(w, time.Second)
}

// Take puts new pages of the outbox into the open cases, or makes new ones,
// and advances all. It gives only what changed.
func Take(news []lab.NewPage, open []lab.PageCase, d Duty, now time.Time) []lab.CaseChange {
	cases := make([]lab.CaseChange, len(open))
	for i, c := range open {
		c.Members = slices.Clone(c.Members)
		cases[i].Case = c
	}
	for _, n := range news {
		cases = join(cases, n, now)
	}
	var out []lab.CaseChange
	for _, c := range cases {
		next, changed := Advance(c.Case, d, now)
		next.Join = c.Join
		if changed || len(c.Join) > 0 {
			out = append(out, next)
		}
	}
	return out
}

// join adds a page to the case of its group. What is more pressing than the
// case was begins the steps anew; what is not joins in silence.
func join(cases []lab.CaseChange, n lab.NewPage, now time.Time) []lab.CaseChange {
	m := lab.PageMember{AlertID: n.AlertID, Occurrence: n.Occurrence, Priority: n.Priority, Since: n.CreatedAt, Alert: n.Alert}
	group := Group(n.Alert)
	at := slices.IndexFunc(cases, func(c lab.CaseChange) bool {
		return c.Case.Group == group && c.Case.EndedAt.IsZero() && !finished(c.Case, now)
	})
	if at < 0 {
		for i := range cases { // one open case a group: the one before is over
			if c := &cases[i].Case; c.Group == group && c.EndedAt.IsZero() {
				c.EndedAt = now
				c.Why = summarise(*c, unknown(now)).why
			}
		}
		cases = append(cases, lab.CaseChange{Case: lab.PageCase{Group: group, Priority: n.Priority, OpenedAt: now, DueAt: now}})
		at = len(cases) - 1
	}
	c := &cases[at]
	if n.Priority == lab.Urgent && c.Case.Priority == lab.Urgent && !shared(n.Alert) {
		c.Case.Fresh = true
	}
	if n.Priority.Rank() > c.Case.Priority.Rank() || asleep(c.Case, now) {
		c.Case.Base, c.Case.DueAt = c.Case.Step, now
	}
	if n.Priority.Rank() > c.Case.Priority.Rank() {
		c.Case.Priority = n.Priority
	}
	c.Case.Members = append(slices.DeleteFunc(c.Case.Members, func(o lab.PageMember) bool {
		return o.AlertID == m.AlertID && o.Occurrence == m.Occurrence
	}), m)
	c.Join = append(c.Join, m)
	return cases
}

// finished tells whether all members of a case are over.
func finished(c lab.PageCase, now time.Time) bool {
	s := summarise(c, unknown(now))
	return len(s.live) == 0 && !s.resting
}

// asleep tells whether a case only rests: what joins it now is news.
func asleep(c lab.PageCase, now time.Time) bool {
	s := summarise(c, unknown(now))
	return len(s.live) == 0 && s.resting
}
