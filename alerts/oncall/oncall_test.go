package oncall

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
)

func at(t *testing.T, s string) time.Time {
	t.Helper()
	v, err := time.Parse(time.RFC3339, s)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// plan is a lab in London: Wren and Robin on weekdays, Heron the nights from
// Saturday, nobody else.
func plan() lab.DutyPlan {
	p := Default()
	p.TimeZone = "Europe/London"
	p.Hours = []lab.DutyHours{
		{Days: Days[:5], From: "08:00", To: "17:30", People: []string{"Wren", "Robin"}},
		{Days: []string{"sat"}, From: "22:00", To: "06:00", People: []string{"Heron"}},
	}
	return p
}

// The changes to and from summer time are those of the IANA database for
// Europe/London: 2026-03-29 01:00 UTC and 2026-10-25 01:00 UTC.
func TestOn(t *testing.T) {
	swaps := []lab.DutySwap{
		{Day: "2026-03-03", Off: "Wren", On: "Heron"},
		{Day: "2026-03-04", Off: "Wren", On: ""},
		{Day: "2026-03-05", Off: "Wren", On: "Heron"}, {Day: "2026-03-05", Off: "Heron", On: "Robin"},
		{Day: "2026-03-07", Off: "Heron", On: "Wren"},
	}
	for _, c := range []struct {
		when, at string
		want     []string
	}{
		{"the first minute", "2026-03-02T08:00:00Z", []string{"Wren", "Robin"}},
		{"a second before", "2026-03-02T07:59:59Z", nil},
		{"the last minute", "2026-03-02T17:29:59Z", []string{"Wren", "Robin"}},
		{"the end is not in it", "2026-03-02T17:30:00Z", nil},
		{"swapped", "2026-03-03T09:00:00Z", []string{"Heron", "Robin"}},
		{"nobody stands in", "2026-03-04T09:00:00Z", []string{"Robin"}},
		{"swapped twice, to who is on already", "2026-03-05T09:00:00Z", []string{"Robin"}},
		{"after midnight, swapped for the day it began", "2026-03-08T03:00:00Z", []string{"Wren"}},
		{"summer: eight on the wall is seven UTC", "2026-03-30T07:00:00Z", []string{"Wren", "Robin"}},
		{"summer: not a second before", "2026-03-30T06:59:59Z", nil},
		{"the night that is an hour short: still on", "2026-03-29T04:59:00Z", []string{"Heron"}},
		{"and over at six on the wall, five UTC", "2026-03-29T05:00:00Z", nil},
		{"the night that is an hour long: begins at 21 UTC", "2026-10-24T21:00:00Z", []string{"Heron"}},
		{"and ends at six UTC", "2026-10-25T05:59:00Z", []string{"Heron"}},
		{"and is over", "2026-10-25T06:00:00Z", nil},
	} {
		if got := On(plan(), swaps, at(t, c.at)); !slices.Equal(got, c.want) {
			t.Errorf("%s (%s): %v; want %v", c.when, c.at, got, c.want)
		}
	}
}

func TestGaps(t *testing.T) {
	p := plan()
	p.Hours = []lab.DutyHours{{Days: Days, From: "06:00", To: "01:30", People: []string{"Wren"}}}
	got := Gaps(p, nil, at(t, "2026-03-28T12:00:00Z"), at(t, "2026-03-30T12:00:00Z"))
	want := []Gap{
		// 01:30 on the wall is skipped on that day: the hours end when the clock jumps to 02:00
		{at(t, "2026-03-29T01:00:00Z"), at(t, "2026-03-29T05:00:00Z")},
		{at(t, "2026-03-30T00:30:00Z"), at(t, "2026-03-30T05:00:00Z")},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	// the hour that comes twice counts twice: on until 01:30, off, on again, off
	got = Gaps(p, nil, at(t, "2026-10-24T12:00:00Z"), at(t, "2026-10-25T12:00:00Z"))
	want = []Gap{
		{at(t, "2026-10-25T00:30:00Z"), at(t, "2026-10-25T01:00:00Z")},
		{at(t, "2026-10-25T01:30:00Z"), at(t, "2026-10-25T06:00:00Z")},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("autumn (-want +got)\n%s", diff)
	}
	if got := Gaps(lab.DutyPlan{TimeZone: "Nowhere"}, nil, at(t, "2026-03-28T12:00:00Z"), at(t, "2026-03-29T12:00:00Z")); len(got) != 1 {
		t.Errorf("a zone that is not known: %v; want one gap", got)
	}
}

// What Gaps says is what On says, minute by minute, in zones whose offsets
// change by an hour, by half an hour, and by a whole day's standards oddly.
func TestGapsAgreeWithOn(t *testing.T) {
	for _, zone := range []string{"Europe/London", "Australia/Lord_Howe", "America/St_Johns", "Asia/Kathmandu"} {
		p := plan()
		p.TimeZone = zone
		for _, from := range []time.Time{at(t, "2026-03-27T00:00:00Z"), at(t, "2026-04-04T00:00:00Z"), at(t, "2026-10-31T00:00:00Z")} {
			to := from.AddDate(0, 0, 4)
			gaps := Gaps(p, nil, from, to)
			for now := from; now.Before(to); now = now.Add(time.Minute) {
				in := slices.ContainsFunc(gaps, func(g Gap) bool { return !now.Before(g.From) && now.Before(g.To) })
				if nobody := len(On(p, nil, now)) == 0; in != nobody {
					t.Fatalf("%s %s: nobody %v, in a gap %v", zone, now, nobody, in)
				}
			}
		}
	}
}

func TestQuiet(t *testing.T) {
	p := plan()
	p.Quiet = []lab.QuietHours{{Days: Days, From: "22:00", To: "07:00"}, {Days: []string{"sun"}, From: "07:00", To: "09:00"}}
	for _, c := range []struct {
		at, until string
	}{
		{"2026-03-02T21:59:59Z", ""},
		{"2026-03-02T22:00:00Z", "2026-03-03T07:00:00Z"},
		{"2026-03-08T03:00:00Z", "2026-03-08T09:00:00Z"}, // Sunday: the one goes over into the other
		{"2026-03-29T00:30:00Z", "2026-03-29T08:00:00Z"}, // summer time begins in it
	} {
		until, quiet := Quiet(p, at(t, c.at))
		if quiet != (c.until != "") || quiet && !until.Equal(at(t, c.until)) {
			t.Errorf("%s: quiet %v until %v; want %q", c.at, quiet, until, c.until)
		}
	}
}

func TestWeeklyDue(t *testing.T) {
	p := plan()
	if _, ok := WeeklyDue(p, at(t, "2026-03-02T12:00:00Z")); ok {
		t.Error("due without a setting")
	}
	p.WeeklyTest = &lab.WeeklyTest{Day: "mon", At: "10:00"}
	for now, want := range map[string]string{
		"2026-03-02T09:59:59Z": "2026-02-23T10:00:00Z",
		"2026-03-02T10:00:00Z": "2026-03-02T10:00:00Z",
		"2026-03-30T09:00:00Z": "2026-03-30T09:00:00Z", // summer time
	} {
		if got, ok := WeeklyDue(p, at(t, now)); !ok || !got.Equal(at(t, want)) {
			t.Errorf("%s: %v; want %s", now, got, want)
		}
	}
}

func TestCheck(t *testing.T) {
	people := []string{"Wren", "Robin", "Heron"}
	if err := Check(plan(), people); err != nil {
		t.Errorf("a good plan: %v", err)
	}
	if err := Check(Default(), nil); err != nil {
		t.Errorf("the built-in plan: %v", err)
	}
	for what, c := range map[string]struct {
		edit func(*lab.DutyPlan)
		want string
	}{
		"zone":     {func(p *lab.DutyPlan) { p.TimeZone = "London" }, "time_zone \"London\" is not known"},
		"no zone":  {func(p *lab.DutyPlan) { p.TimeZone = "" }, "time_zone is missing"},
		"day":      {func(p *lab.DutyPlan) { p.Hours[0].Days = []string{"Monday"} }, "hours[0].days must be of"},
		"time":     {func(p *lab.DutyPlan) { p.Hours[1].From = "25:00" }, "got \"25:00\""},
		"form":     {func(p *lab.DutyPlan) { p.Hours[1].To = "8:00" }, "\"8:00\" is not a time of day such as 08:30"},
		"nobody":   {func(p *lab.DutyPlan) { p.Hours[0].People = nil }, "hours[0].people is empty"},
		"unknown":  {func(p *lab.DutyPlan) { p.Hours[0].People = []string{"Finch"} }, "nobody called \"Finch\""},
		"no steps": {func(p *lab.DutyPlan) { p.Urgent = nil }, "urgent must have 1"},
		"who":      {func(p *lab.DutyPlan) { p.High[1].Who = "boss" }, "got \"boss\""},
		"named":    {func(p *lab.DutyPlan) { p.High[1] = lab.DutyStep{Who: lab.WhoNamed, Person: "Finch"} }, "high[1]: there is nobody called \"Finch\""},
		"repeat":   {func(p *lab.DutyPlan) { p.RepeatUrgentS = 1 }, "repeat_urgent_s must be 30"},
		"retries":  {func(p *lab.DutyPlan) { p.RetriesS = []int{0, 0} }, "retries_s[1] must be 1"},
		"gather":   {func(p *lab.DutyPlan) { p.Flood.GatherS = 90 }, "flood.gather_s must be 0"},
		"weekly":   {func(p *lab.DutyPlan) { p.WeeklyTest = &lab.WeeklyTest{Day: "mon", At: "24:00"} }, "weekly_test.at"},
	} {
		p := plan()
		c.edit(&p)
		if err := Check(p, people); lab.KindOf(err) != lab.KindInvalid || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v; want %q in it", what, err, c.want)
		}
	}
	if err := CheckSwap(lab.DutySwap{Day: "2026-02-30", Off: "Wren", On: "Robin"}, people); err == nil {
		t.Error("a swap on the 30th of February passes")
	}
}

// The figures of a plan at their bounds pass, beyond them they are refused.
func TestCheckAtTheBounds(t *testing.T) {
	steps := func(n int) (list []lab.DutyStep) {
		for range n {
			list = append(list, lab.DutyStep{Who: lab.WhoEverybody})
		}
		return list
	}
	for what, c := range map[string]struct {
		edit func(p *lab.DutyPlan, more int)
	}{
		"after_s":         {func(p *lab.DutyPlan, more int) { p.Urgent[0].AfterS = maxWaitS + more }},
		"after_s, least":  {func(p *lab.DutyPlan, more int) { p.Urgent[0].AfterS = -more }},
		"steps":           {func(p *lab.DutyPlan, more int) { p.Urgent = steps(maxSteps + more) }},
		"repeat_urgent_s": {func(p *lab.DutyPlan, more int) { p.RepeatUrgentS = minRepeatS - more }},
		"repeat_high_s":   {func(p *lab.DutyPlan, more int) { p.RepeatHighS = maxWaitS + more }},
		"link_hours":      {func(p *lab.DutyPlan, more int) { p.LinkHours = 7*24 + more }},
	} {
		for more, ok := range []bool{true, false} {
			p := plan()
			p.Urgent = slices.Clone(p.Urgent)
			c.edit(&p, more)
			if err := Check(p, []string{"Wren", "Robin", "Heron"}); (err == nil) != ok {
				t.Errorf("%s, %d beyond its bound: %v", what, more, err)
			}
		}
	}
}
