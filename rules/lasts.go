package rules

import (
	"slices"
	"time"

	"wetside/internal/lab"
)

// Today is the last todayS seconds: a working day without the one before.
// paceLeast runs that began in it tell its pace; startsKept is the cap. Common
// practice, no source.
const (
	todayS     = 12 * 3600
	paceLeast  = 2
	startsKept = 12
)

// noteStart notes that a run began.
func (s *state) noteStart(t time.Time) { s.Starts = lab.LastOf(append(s.Starts, t.Unix()), startsKept) }

// pace is the time from one run to the next at today's pace, and when the next
// begins at that pace: not before now. False where too few runs began today.
func (s *state) pace() (each time.Duration, next time.Time, ok bool) {
	now := s.Clock.T
	i := slices.IndexFunc(s.Starts, func(at int64) bool { return now.Unix()-at < todayS })
	if i < 0 || len(s.Starts)-i < paceLeast {
		return 0, time.Time{}, false
	}
	today := s.Starts[i:]
	last := today[len(today)-1]
	each = time.Duration(last-today[0]) * time.Second / time.Duration(len(today)-1)
	return each, lab.Later(time.Unix(last, 0).UTC().Add(each), now), each > 0
}

// sayLasts says until when a container lasts at today's pace, or why that is not
// known. touched tells whether the next run touches it, known whether what it
// moves is known.
func (u *Unit) sayLasts(v *lab.Container, touched, known bool) {
	each, next, ok := u.s.pace()
	switch {
	case v.Litres == nil:
		v.LastsWhy = lab.LastsNoLevel
	case !known || touched && v.RunsLow == nil:
		v.LastsWhy = lab.LastsNoVolumes
	case !touched:
		v.LastsWhy = lab.LastsUntouched
	case !ok:
		v.LastsWhy = lab.LastsNoPace
	default:
		from, to := next.Add(time.Duration(*v.RunsLow)*each), next.Add(time.Duration(*v.RunsHigh)*each)
		if from.Sub(u.s.Clock.T) >= lab.Seconds(todayS) {
			v.LastsWhy = lab.LastsBeyond
			return
		}
		v.LastsFrom, v.LastsTo = lab.AtPtr(u.s.Clock.report(from)), lab.AtPtr(u.s.Clock.report(to))
	}
}
