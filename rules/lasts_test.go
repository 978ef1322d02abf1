package rules_test

import (
	"testing"
	"time"

	"wetside/internal/lab"
)

// Will it last: by hand, 3 L a run into 18.9 L, a run an hour. 8.4 L in it leave
// room for 3.5 runs; the next begins at 2:00 (two began, at 0:00 and 1:00), and
// the first that it will not do for at 5:00. What is not known is said as that.
func TestWillItLast(t *testing.T) {
	for _, c := range []struct {
		name     string
		runs     int
		level    float64 // read after the last run, 0: none
		at       float64 // asked at
		from, to float64 // hours
		why      string
	}{
		{name: "known to the run", runs: 2, level: 8.4, at: 5600, from: 5, to: 5},
		{name: "between two whole ones", runs: 2, level: 9.9, at: 5600, from: 4, to: 5},
		{name: "the next is late: from now on", runs: 2, level: 8.4, at: 9000, from: 2.5 + 3, to: 2.5 + 3},
		{name: "no room for the next", runs: 2, level: 17.5, at: 5600, from: 2, to: 2},
		{name: "one run is no pace", runs: 1, level: 8, at: 3000, why: lab.LastsNoPace},
		{name: "no level", runs: 2, at: 5600, why: lab.LastsNoLevel},
		{name: "no run yet", level: 8, at: 3000, why: lab.LastsNoVolumes},
		{name: "yesterday's runs are no pace of today", runs: 2, level: 8, at: 60000, why: lab.LastsNoPace},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newScript("c41")
			s.Stays(-60, -10, lab.PhaseIdle, "", 0)
			for i := range c.runs {
				s.Run = []string{"r1", "r2"}[i]
				s.C41(float64(i) * 3600)
			}
			s.Stays(c.at-300, c.at, lab.PhaseIdle, "", 0)
			if c.level > 0 {
				s.Levels(c.at-295, c.at, 20, "waste", always(c.level))
			}
			v := needs(newBench(t).Play(s.Messages()), s.Unit, "waste")
			if v.LastsWhy != c.why || (v.LastsFrom == nil) != (c.why != "") {
				t.Fatalf("lasts from %v, why not %q; want %q", show(v.LastsFrom), v.LastsWhy, c.why)
			}
			if c.why != "" {
				return
			}
			for what, of := range map[string]struct {
				is   *lab.Time
				want float64
			}{"from": {v.LastsFrom, c.from}, "to": {v.LastsTo, c.to}} {
				if off := of.is.Sub(moment(of.want * 3600)).Abs(); off > 30*time.Second {
					t.Errorf("lasts %s %s; want %s (%d to %d runs)", what, of.is, moment(of.want*3600), *v.RunsLow, *v.RunsHigh)
				}
			}
		})
	}
}
