package escalate

import (
	"slices"
	"time"

	"wetside/internal/lab"
)

// Compose makes the message of some pages. It is told which cases they are of.
type Compose func(pages []lab.CasePage, cases []lab.PageCase) lab.PageMessage

// Reword words a message that is to be tried again, as things stand now.
type Reword func(m lab.PageMessage, cases []lab.PageCase) lab.PageBody

// Queue decides what goes out to one person next.
func Queue(q lab.PersonQueue, d Duty, person string, now time.Time, compose Compose, reword Reword) lab.QueueDecision {
	out := lab.QueueDecision{DropPages: map[int64]string{}, DropMessages: map[string]string{}, HoldPages: map[int64]time.Time{}}
	dark := d.Dark[person]
	due := duePages(q, &out, now)
	again, at := nextTry(q, &out, now)
	if dark.After(now) {
		if len(due) > 0 || again != nil {
			out.Wait = dark
		}
		for _, p := range due {
			if !p.NotBefore.After(now) {
				out.HoldPages[p.ID] = dark
			}
		}
		return out
	}
	send := sendAt(q.Recent, d.Plan.Flood, due, now)
	var when time.Time
	switch {
	case len(due) > 0 && !send.After(now):
		pages := ripe(due, d.Plan.Flood, now)
		if len(pages) > 0 {
			m := compose(pages, casesOf(q, pages))
			m.NextTry = now.Add(Retry(d.Plan, 1))
			out.New, out.NextTry = &m, m.NextTry
			return out
		}
		when = earliest(due)
	case len(due) > 0:
		when = send
	}
	if again != nil && !at.After(now) {
		out.Again, out.NextTry = again.ID, now.Add(Retry(d.Plan, again.Tries+1))
		if !again.Body.Test {
			body := reword(*again, casesOfMessage(q, *again))
			out.Body = &body
		}
		return out
	}
	out.Wait = when
	if again != nil && (when.IsZero() || at.Before(when)) {
		out.Wait = at
	}
	return out
}

// Retry is how long to wait before the try after so many.
func Retry(p lab.DutyPlan, tries int) time.Duration {
	waits := p.RetriesS
	if len(waits) == 0 {
		waits = []int{0, 5, 15, 30, 60}
	}
	return time.Duration(waits[min(tries, len(waits)-1)]) * time.Second
}

// duePages lists pages that still need to go out, and drops the others.
func duePages(q lab.PersonQueue, out *lab.QueueDecision, now time.Time) []lab.CasePage {
	var due []lab.CasePage
	for _, p := range q.Pages {
		if why := needless(q.Cases[p.CaseID]); why != "" {
			out.DropPages[p.ID] = why
			continue
		}
		due = append(due, p)
	}
	slices.SortStableFunc(due, func(a, b lab.CasePage) int { return b.Priority.Rank() - a.Priority.Rank() })
	return due
}

// needless says why nobody needs a page of this case any more; "" where
// somebody does. What is paused is still worth knowing for who was to hear of it.
func needless(c lab.PageCase) string {
	s := summarise(c, unknown(time.Time{}))
	if len(s.active) == 0 && !s.paused {
		return s.why
	}
	return ""
}

// nextTry finds the message whose next try comes first, the most pressing
// among those that are due, and drops those that nobody needs any more.
func nextTry(q lab.PersonQueue, out *lab.QueueDecision, now time.Time) (*lab.PageMessage, time.Time) {
	var best *lab.PageMessage
	for i := range q.Messages {
		m := &q.Messages[i]
		if why := messageNeedless(q, *m, now); why != "" {
			out.DropMessages[m.ID] = why
			continue
		}
		if best == nil || before(*m, *best, now) {
			best = m
		}
	}
	if best == nil {
		return nil, time.Time{}
	}
	return best, best.NextTry
}

func before(a, b lab.PageMessage, now time.Time) bool {
	dueA, dueB := !a.NextTry.After(now), !b.NextTry.After(now)
	switch {
	case dueA != dueB:
		return dueA
	case dueA && a.Priority.Rank() != b.Priority.Rank():
		return a.Priority.Rank() > b.Priority.Rank()
	}
	return a.NextTry.Before(b.NextTry)
}

// How often and how long a test is tried: nobody waits for it all day.
const (
	testTries = 3
	testFor   = 15 * time.Minute
)

func messageNeedless(q lab.PersonQueue, m lab.PageMessage, now time.Time) string {
	if m.Body.Test {
		switch {
		case m.Tries >= testTries:
			return "the test failed"
		case now.Sub(m.CreatedAt) > testFor:
			return "the test is too old"
		}
		return ""
	}
	why := "nothing is left to do"
	for _, id := range m.Cases {
		if why = needless(q.Cases[id]); why == "" {
			return ""
		}
	}
	return why
}

// sendAt says when the next message may go out, given those that went lately.
// The first goes at once. The second waits a little, so that the rest of a
// flood can join it; after that, the phone rests until the window is over.
// What is less pressing does not hold back what is more: only messages as
// pressing as the due pages count.
func sendAt(recent []lab.RecentPage, f lab.DutyFlood, due []lab.CasePage, now time.Time) time.Time {
	if f.Pages <= 0 || len(due) == 0 {
		return now
	}
	window := time.Duration(f.InS) * time.Second
	recent = slices.DeleteFunc(slices.Clone(recent), func(r lab.RecentPage) bool {
		return !r.At.Add(window).After(now) || r.Priority.Rank() < due[0].Priority.Rank() // the most pressing is first
	})
	switch n := len(recent); {
	case n == 0:
		return now
	case n >= f.Pages:
		return recent[n-f.Pages].At.Add(window)
	default:
		return recent[n-1].At.Add(time.Duration(f.GatherS) * time.Second)
	}
}

// ripe takes the pages that may go out now: all of them where a flood is
// bounded, else those of one case.
func ripe(due []lab.CasePage, f lab.DutyFlood, now time.Time) []lab.CasePage {
	now = now.Add(time.Microsecond) // the store's resolution
	pages := slices.DeleteFunc(slices.Clone(due), func(p lab.CasePage) bool { return p.NotBefore.After(now) })
	if f.Pages <= 0 && len(pages) > 0 {
		of := pages[0].CaseID
		pages = slices.DeleteFunc(pages, func(p lab.CasePage) bool { return p.CaseID != of })
	}
	return pages
}

func earliest(due []lab.CasePage) time.Time {
	at := due[0].NotBefore
	for _, p := range due {
		if p.NotBefore.Before(at) {
			at = p.NotBefore
		}
	}
	return at
}

func casesOfMessage(q lab.PersonQueue, m lab.PageMessage) []lab.PageCase {
	var out []lab.PageCase
	for _, id := range m.Cases {
		if !slices.ContainsFunc(out, func(c lab.PageCase) bool { return c.ID == id }) {
			out = append(out, q.Cases[id])
		}
	}
	return out
}

func casesOf(q lab.PersonQueue, pages []lab.CasePage) []lab.PageCase {
	var out []lab.PageCase
	for _, p := range pages {
		if !slices.ContainsFunc(out, func(c lab.PageCase) bool { return c.ID == p.CaseID }) {
			out = append(out, q.Cases[p.CaseID])
		}
	}
	return out
}
