package escalate

import (
	"slices"
	"time"

	"wetside/internal/lab"
)

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
	if n.Priority.Rank() > c.Case.Priority.Rank() || paused(c.Case, now) {
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
	return len(s.active) == 0 && !s.paused
}

// paused tells whether all that is left of a case is paused: what joins it now
// is news.
func paused(c lab.PageCase, now time.Time) bool {
	s := summarise(c, unknown(now))
	return len(s.active) == 0 && s.paused
}
