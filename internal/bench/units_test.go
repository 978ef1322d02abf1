package bench

import (
	"fmt"
	"testing"
	"time"
)

// What a message costs the program at the same pace, however many units there
// are: the curve should be flat.
func TestUnits(t *testing.T) {
	const rate = 500.0
	var at []point
	for _, n := range of([]int{1, 10, 100, 1000}, []int{1, 100}) {
		s := newSite(t, false)
		s.serve(false)
		s.ready()
		f := newFeeder(t, s.broker, "feeder", 1000)
		units := newTalkers(n)
		if err := units.begin(f); err != nil {
			t.Fatal(err)
		}
		b := s.look(nil)
		units.talk(t.Context(), f, rate, of(3*time.Second, 500*time.Millisecond), nil) // until all is in use
		w0, p0 := s.cpu()
		sent := units.talk(t.Context(), f, rate, of(10*time.Second, 2*time.Second), nil)
		if err := mark(f, 1); err != nil {
			t.Fatal(err)
		}
		b.await(t, 1)
		w1, p1 := s.cpu()
		s.stop()
		at = append(at, point{fmt.Sprint(n), micros(w1-w0, sent), micros(p1-p0, sent)})
	}
	first, last := at[0], at[len(at)-1]
	table.add(row{fmt.Sprintf("wetside's CPU a message at 500 a second, %s units", names(at)), values(at, func(p point) float64 { return p.ours }) + " µs",
		fmt.Sprintf("PostgreSQL %s µs", values(at, func(p point) float64 { return p.postgres })), "last to first " + share(last.ours, first.ours), of("under 500 µs at 1,000", ""), "Units"})
	curves.add(curve{"CPU a message at 500 messages a second, µs", "units", at})
}

// What PostgreSQL uses, and how long a reading takes to a board, in a lab of a
// day, a month and a year.
func TestDays(t *testing.T) {
	var load, boards, traces []point
	for _, days := range of([]int{1, 31, 365}, []int{31}) {
		s := newSite(t, false)
		s.past(days)
		s.readings("old-1")
		s.serve(false)
		s.ready()
		length := of(10*time.Second, 2*time.Second)
		take(of(3*time.Second, time.Second)) // what a start does is over
		w0, p0 := s.cpu()
		take(length)
		w1, p1 := s.cpu()
		idle := 100 * (p1 - p0).Seconds() / length.Seconds()
		idleOurs := 100 * (w1 - w0).Seconds() / length.Seconds()
		took, _ := s.toBoard(5, 50, length)
		w2, p2 := s.cpu()
		name := fmt.Sprint(days)
		load = append(load, point{name, idleOurs, idle}, point{name + " at 50/s", 100 * (w2 - w1).Seconds() / length.Seconds(), 100 * (p2 - p1).Seconds() / length.Seconds()})
		boards = append(boards, point{name, percentile(took, 0.5).Seconds() * 1000, 0})
		traces = append(traces, point{name, s.trace("old-1").Seconds() * 1000, 0})
		s.stop()
	}
	ours := func(p point) float64 { return p.ours }
	table.add(row{"% of a core with nobody there, and at 50 messages/s, days: " + names(load), "wetside " + values(load, ours), "PostgreSQL " + values(load, func(p point) float64 { return p.postgres }), "", "under 1, under 8", "Days"})
	table.add(row{"a unit's trace of 12 h, days: " + names(traces), values(traces, ours) + " ms", "the first", share(traces[len(traces)-1].ours, traces[0].ours), "1.5", "Days"})
	table.add(row{"reading to board at 50 messages/s, p50, days: " + names(boards), values(boards, ours) + " ms", "the first", share(boards[len(boards)-1].ours, boards[0].ours), "the same", "Days"})
	curves.add(curve{"PostgreSQL and wetside, % of a core", "days of history", load})
	curves.add(curve{"reading to board at 50 messages a second, ms", "days of history", boards})
	curves.add(curve{"a unit's trace of 12 hours, ms", "days of history", traces})
}

// trace gives how long it takes to read a unit's traces of half a day: the
// middle of several times.
func (s *site) trace(unit string) time.Duration {
	s.t.Helper()
	var all []time.Duration
	to := time.Now().UTC()
	for range 9 {
		began := time.Now()
		points, err := s.store.Trace(s.t.Context(), unitID(unit), to.Add(-12*time.Hour), to)
		if err != nil || len(points) == 0 {
			s.t.Fatalf("the trace of %s has %d points: %v", unit, len(points), err)
		}
		all = append(all, time.Since(began))
	}
	return percentile(all, 0.5)
}

func micros(d time.Duration, n int) float64 { return float64(d.Microseconds()) / float64(max(n, 1)) }
