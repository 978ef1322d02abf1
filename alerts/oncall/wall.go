package oncall

import (
	"fmt"
	"slices"
	"time"
	_ "time/tzdata" // the zones' rules come with the program

	"wetside/internal/lab"
)

// Days are the names of the days of the week, as plans write them.
var Days = []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}

func dayName(d time.Weekday) string { return Days[(int(d)+6)%7] }

// Zone gives the plan's time zone.
func Zone(p lab.DutyPlan) (*time.Location, error) {
	if p.TimeZone == "" || p.TimeZone == "Local" {
		return nil, lab.Errorf(lab.KindInvalid, "time_zone is missing; give a name such as Europe/London")
	}
	loc, err := time.LoadLocation(p.TimeZone)
	if err != nil {
		return nil, lab.Errorf(lab.KindInvalid, "time_zone %q is not known; give a name such as Europe/London or America/New_York", p.TimeZone)
	}
	return loc, nil
}

// minutes reads "08:30" as minutes of the day; 24:00 is the end of the day.
func minutes(s string) (int, error) {
	var h, m int
	if len(s) != 5 || s[2] != ':' {
		return 0, fmt.Errorf("%q is not a time of day such as 08:30", s)
	}
	for i, c := range []byte(s) {
		if i != 2 && (c < '0' || c > '9') {
			return 0, fmt.Errorf("%q is not a time of day such as 08:30", s)
		}
	}
	h, m = int(s[0]-'0')*10+int(s[1]-'0'), int(s[3]-'0')*10+int(s[4]-'0')
	if h > 24 || m > 59 || h == 24 && m > 0 {
		return 0, fmt.Errorf("time of day must be 00:00 to 24:00; got %q", s)
	}
	return h*60 + m, nil
}

// span is a stretch of the wall clock, in minutes from the midnight that
// begins its day; to may be beyond the day's end.
type span struct{ from, to int }

func spanOf(from, to string) (span, error) {
	f, err := minutes(from)
	if err != nil {
		return span{}, err
	}
	t, err := minutes(to)
	if err != nil {
		return span{}, err
	}
	if f == 24*60 {
		return span{}, fmt.Errorf("%q is the end of a day; hours begin at 23:59 at the latest", from)
	}
	if t <= f {
		t += 24 * 60
	}
	return span{f, t}, nil
}

// wall is a moment on the wall's clock.
type wall struct {
	y       int
	m       time.Month
	d       int
	minutes int
}

func wallOf(t time.Time, loc *time.Location) wall {
	t = t.In(loc)
	y, m, d := t.Date()
	return wall{y, m, d, t.Hour()*60 + t.Minute()}
}

// back is the date n days before.
func (w wall) back(n int) time.Time { return time.Date(w.y, w.m, w.d-n, 12, 0, 0, 0, time.UTC) }

// begun gives the date on which hours that cover w began, if they do. Hours
// last at most a day, so they began today or yesterday.
func (w wall) begun(days []string, s span) (date time.Time, ok bool) {
	for n := range 2 {
		date = w.back(n)
		at := w.minutes + n*24*60
		if slices.Contains(days, dayName(date.Weekday())) && at >= s.from && at < s.to {
			return date, true
		}
	}
	return time.Time{}, false
}

// instants are the moments at which the wall may show so many minutes after
// the midnight that begins date: none or one of them is it, two in the hour
// that comes twice.
func instants(date time.Time, min int, loc *time.Location) []time.Time {
	y, m, d := date.Date()
	naive := time.Date(y, m, d, 0, min, 0, 0, time.UTC)
	var out []time.Time
	for _, near := range []time.Duration{-24 * time.Hour, 24 * time.Hour} {
		_, offset := naive.Add(near).In(loc).Zone()
		t := naive.Add(-time.Duration(offset) * time.Second)
		if !slices.ContainsFunc(out, t.Equal) {
			out = append(out, t)
		}
	}
	return out
}
