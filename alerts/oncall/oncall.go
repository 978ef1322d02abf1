package oncall

import (
	"fmt"
	"slices"
	"time"

	"wetside/internal/lab"
)

// On lists who is on duty at t, who is called first coming first. A plan
// whose zone or hours cannot be read has nobody on duty: Check refuses such.
func On(p lab.DutyPlan, swaps []lab.DutySwap, t time.Time) []string {
	loc, err := Zone(p)
	if err != nil {
		return nil
	}
	w := wallOf(t, loc)
	var on []string
	for _, h := range p.Hours {
		s, err := spanOf(h.From, h.To)
		if err != nil {
			continue
		}
		date, ok := w.begun(h.Days, s)
		if !ok {
			continue
		}
		for _, person := range h.People {
			if person = swapped(swaps, date.Format(time.DateOnly), person); person != "" && !slices.Contains(on, person) {
				on = append(on, person)
			}
		}
	}
	return on
}

// Names tells whether a plan or a swap names a person.
func Names(p lab.DutyPlan, swaps []lab.DutySwap, person string) bool {
	return slices.ContainsFunc(p.Hours, func(h lab.DutyHours) bool { return slices.Contains(h.People, person) }) ||
		slices.ContainsFunc(slices.Concat(p.Urgent, p.High), func(s lab.DutyStep) bool { return s.Person == person }) ||
		slices.ContainsFunc(swaps, func(s lab.DutySwap) bool { return s.On == person })
}

// swapped gives who stands in for person on a day; "" for nobody. Later swaps
// go on from earlier ones.
func swapped(swaps []lab.DutySwap, day, person string) string {
	for _, s := range swaps {
		if s.Day == day && s.Off == person {
			person = s.On
		}
		if person == "" {
			return ""
		}
	}
	return person
}

// Quiet tells whether t is in quiet hours, and when these end.
func Quiet(p lab.DutyPlan, t time.Time) (until time.Time, quiet bool) {
	loc, err := Zone(p)
	if err != nil || !quietAt(p, loc, t) {
		return time.Time{}, false
	}
	end := t.Add(8 * 24 * time.Hour)
	for _, at := range turns(loc, t, end, quietSpans(p)) {
		if at.After(t) && !quietAt(p, loc, at) {
			return at, true
		}
	}
	return end, true // quiet all week: hardly meant, and looked at again then
}

func quietAt(p lab.DutyPlan, loc *time.Location, t time.Time) bool {
	w := wallOf(t, loc)
	for _, q := range p.Quiet {
		if s, err := spanOf(q.From, q.To); err == nil {
			if _, ok := w.begun(q.Days, s); ok {
				return true
			}
		}
	}
	return false
}

func quietSpans(p lab.DutyPlan) []span {
	var out []span
	for _, q := range p.Quiet {
		if s, err := spanOf(q.From, q.To); err == nil {
			out = append(out, s)
		}
	}
	return out
}

// turns lists the moments in [from, to) at which something that goes by the
// wall's clock may begin or end, in order.
func turns(loc *time.Location, from, to time.Time, spans []span) []time.Time {
	var out []time.Time
	add := func(t time.Time) {
		if !t.Before(from) && t.Before(to) {
			out = append(out, t)
		}
	}
	for date := wallOf(from, loc).back(2); date.Before(to.Add(48 * time.Hour)); date = date.AddDate(0, 0, 1) {
		for _, s := range spans {
			for _, min := range []int{s.from, s.to} {
				for _, t := range instants(date, min, loc) {
					add(t)
				}
			}
		}
	}
	for at := from; at.Before(to); { // where the clock itself is moved
		_, end := at.In(loc).ZoneBounds()
		if end.IsZero() {
			break
		}
		add(end)
		at = end
	}
	slices.SortFunc(out, time.Time.Compare)
	return slices.CompactFunc(out, time.Time.Equal)
}

// Gap is a stretch in which nobody is on duty.
type Gap struct{ From, To time.Time }

// Gaps lists the stretches in [from, to) in which nobody is on duty.
func Gaps(p lab.DutyPlan, swaps []lab.DutySwap, from, to time.Time) []Gap {
	loc, err := Zone(p)
	if err != nil {
		return []Gap{{from, to}}
	}
	var spans []span
	for _, h := range p.Hours {
		if s, err := spanOf(h.From, h.To); err == nil {
			spans = append(spans, s)
		}
	}
	var gaps []Gap
	open := false
	for _, t := range append([]time.Time{from}, turns(loc, from, to, spans)...) {
		nobody := len(On(p, swaps, t)) == 0
		switch {
		case nobody && !open:
			gaps = append(gaps, Gap{From: t})
			open = true
		case !nobody && open:
			gaps[len(gaps)-1].To = t
			open = false
		}
	}
	if open {
		gaps[len(gaps)-1].To = to
	}
	return gaps
}

// WeeklyDue gives the moment of the last weekly test that should have been
// made by t; ok is false where the plan wants none.
func WeeklyDue(p lab.DutyPlan, t time.Time) (at time.Time, ok bool) {
	loc, err := Zone(p)
	if err != nil || p.WeeklyTest == nil {
		return time.Time{}, false
	}
	min, err := minutes(p.WeeklyTest.At)
	if err != nil {
		return time.Time{}, false
	}
	w := wallOf(t, loc)
	for n := range 9 {
		date := w.back(n)
		if dayName(date.Weekday()) != p.WeeklyTest.Day {
			continue
		}
		if at = instants(date, min, loc)[0]; !at.After(t) {
			return at, true
		}
	}
	return time.Time{}, false
}

// Describe says a stretch in words, by the lab's clock.
func (g Gap) Describe(p lab.DutyPlan) string {
	loc, err := Zone(p)
	if err != nil {
		loc = time.UTC
	}
	return fmt.Sprintf("from %s to %s", g.From.In(loc).Format("Mon 2 Jan 15:04"), g.To.In(loc).Format("Mon 2 Jan 15:04"))
}
