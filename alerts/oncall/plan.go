package oncall

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
)

// Default is what counts until a lab has made a plan of its own: everybody
// who can be reached is called. Its figures are common practice, no source,
// but for the retries, which are those of the lab's paging notes.
func Default() lab.DutyPlan {
	steps := func(second, all int) []lab.DutyStep {
		return []lab.DutyStep{{Who: lab.WhoFirst}, {Who: lab.WhoSecond, AfterS: second}, {Who: lab.WhoEverybody, AfterS: all}}
	}
	return lab.DutyPlan{
		TimeZone: "UTC", Hours: []lab.DutyHours{}, Quiet: []lab.QuietHours{},
		Urgent: steps(60, 120), High: steps(600, 900),
		RepeatUrgentS: 120, RepeatHighS: 1800,
		Flood:    lab.DutyFlood{Pages: 2, InS: 60, GatherS: 5},
		RetriesS: []int{0, 5, 15, 30, 60}, LinkHours: 24,
	}
}

// The bounds of a plan.
const (
	maxHours   = 200
	maxSteps   = 20
	maxWaitS   = 24 * 3600
	minRepeatS = 30
)

// Check says what is wrong with a plan, and where. people are those who sign
// in. Nothing is left out or corrected silently. The address is not looked at.
func Check(p lab.DutyPlan, people []string) error {
	var wrong []string
	note := func(format string, args ...any) { wrong = append(wrong, fmt.Sprintf(format, args...)) }
	if _, err := Zone(p); err != nil {
		note("%s", err)
	}
	if len(p.Hours) > maxHours {
		note("hours must have at most %[2]d lines; got %[1]d", len(p.Hours), maxHours)
	}
	for i, h := range p.Hours {
		at := fmt.Sprintf("hours[%d]", i)
		checkSpan(note, at, h.Days, h.From, h.To)
		if len(h.People) == 0 {
			note("%s.people is empty; name who is on call, the one to call first in front", at)
		}
		for _, person := range h.People {
			if !slices.Contains(people, person) {
				note("%s.people: there is nobody called %q", at, person)
			}
		}
	}
	for i, q := range p.Quiet {
		checkSpan(note, fmt.Sprintf("quiet[%d]", i), q.Days, q.From, q.To)
	}
	checkSteps(note, "urgent", p.Urgent, people)
	checkSteps(note, "high", p.High, people)
	checkFigures(note, p)
	if len(wrong) > 0 {
		return lab.Errorf(lab.KindInvalid, "%s", strings.Join(wrong, "; "))
	}
	return nil
}

func checkSpan(note func(string, ...any), at string, days []string, from, to string) {
	if len(days) == 0 {
		note("%s.days is empty; give days such as mon", at)
	}
	for _, d := range days {
		if !slices.Contains(Days, d) {
			note("%[1]s.days must be of %[3]s; got %[2]q", at, d, strings.Join(Days, ", "))
		}
	}
	if _, err := spanOf(from, to); err != nil {
		note("%s: %s", at, err)
	}
}

func checkSteps(note func(string, ...any), name string, steps []lab.DutyStep, people []string) {
	if len(steps) == 0 || len(steps) > maxSteps {
		note("%[1]s must have 1 to %[3]d steps; got %[2]d", name, len(steps), maxSteps)
	}
	for i, s := range steps {
		at := fmt.Sprintf("%s[%d]", name, i)
		switch s.Who {
		case lab.WhoFirst, lab.WhoSecond, lab.WhoEverybody:
			if s.Person != "" {
				note("%s names %q; that goes with who: named", at, s.Person)
			}
		case lab.WhoNamed:
			if !slices.Contains(people, s.Person) {
				note("%s: there is nobody called %q", at, s.Person)
			}
		default:
			note("%s.who must be first, second, everybody or named; got %q", at, s.Who)
		}
		if s.AfterS < 0 || s.AfterS > maxWaitS {
			note("%[1]s.after_s must be 0 to %[3]d; got %[2]d", at, s.AfterS, maxWaitS)
		}
	}
}

func checkFigures(note func(string, ...any), p lab.DutyPlan) {
	within := func(name string, v, low, high int) {
		if v < low || v > high {
			note("%[1]s must be %[3]d to %[4]d; got %[2]d", name, v, low, high)
		}
	}
	within("repeat_urgent_s", p.RepeatUrgentS, minRepeatS, maxWaitS)
	within("repeat_high_s", p.RepeatHighS, minRepeatS, maxWaitS)
	within("flood.pages", p.Flood.Pages, 0, 100)
	if p.Flood.Pages > 0 {
		within("flood.in_s", p.Flood.InS, 1, 3600)
		within("flood.gather_s", p.Flood.GatherS, 0, min(60, max(p.Flood.InS, 1)))
	}
	within("link_hours", p.LinkHours, 1, 7*24)
	if len(p.RetriesS) == 0 || len(p.RetriesS) > maxSteps {
		note("retries_s must have 1 to %[2]d waits, the last of which repeats; got %[1]d", len(p.RetriesS), maxSteps)
	}
	for i, s := range p.RetriesS {
		low := 1
		if i == 0 {
			low = 0
		}
		within(fmt.Sprintf("retries_s[%d]", i), s, low, 3600)
	}
	if w := p.WeeklyTest; w != nil {
		if !slices.Contains(Days, w.Day) {
			note("weekly_test.day must be one of %[2]s; got %[1]q", w.Day, strings.Join(Days, ", "))
		}
		if m, err := minutes(w.At); err != nil || m == 24*60 {
			note("weekly_test.at: %q is not a time of day such as 10:00", w.At)
		}
	}
}

// CheckSwap says what is wrong with a swap.
func CheckSwap(s lab.DutySwap, people []string) error {
	if _, err := time.Parse(time.DateOnly, s.Day); err != nil {
		return lab.Errorf(lab.KindInvalid, "day %q is not a date such as 2026-03-05", s.Day)
	}
	if !slices.Contains(people, s.Off) {
		return lab.Errorf(lab.KindInvalid, "off: there is nobody called %q", s.Off)
	}
	if s.On != "" && !slices.Contains(people, s.On) {
		return lab.Errorf(lab.KindInvalid, "on: there is nobody called %q", s.On)
	}
	if s.On == s.Off {
		return lab.Errorf(lab.KindInvalid, "on and off are both %q; nothing is swapped", s.On)
	}
	return nil
}
