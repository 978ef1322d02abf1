package rules_test

import (
	"math"
	"testing"

	"wetside/internal/lab"
)

// wasteOf is the waste container as the unit's page shows it.
func wasteOf(t *testing.T, b *bench, u lab.UnitID) *lab.Container {
	t.Helper()
	c := needs(b, u, "waste")
	if c == nil || c.Litres == nil || c.SpreadL == nil {
		t.Fatalf("waste: %s; want a level with its spread", show(c))
	}
	return c
}

// A tank with nothing but counted volume works, and its spread grows with what is
// counted: 5 % of 3 L a run, common to all fills, beside the 0.15 L of the eye
// that read 2 L off. By hand: sqrt(0.15² + (0.05 * 6)²) = 0.335 after two runs.
func TestCountedOnly(t *testing.T) {
	l := 2.0
	s := newScript("c41")
	s.Phase(-10, lab.PhaseIdle, "", 0)
	end := s.C41(0)
	s.Run = "r2"
	end = s.C41(end + 60)
	s.Stays(end+10, end+30, lab.PhaseIdle, "", 0)
	set := enters(s.Unit, -5, lab.EntryContainer, "", lab.ContainerEvent{Container: "waste", What: lab.SetLevel, Litres: &l})
	b := played(t, s, set)
	c := wasteOf(t, b, s.Unit)
	if *c.Litres != 8 || math.Abs(*c.SpreadL-0.345) > 0.02 || c.LevelBy != lab.LevelByCounted {
		t.Errorf("%g L to within %g by %q; want 8 to within 0.34 by counting", *c.Litres, *c.SpreadL, c.LevelBy)
	}
	// room for 10.9 L at 3 L a run: 3.6, twice 0.21 to either side
	if *c.RunsLeft != 3 || *c.RunsLow != 3 || *c.RunsHigh != 4 {
		t.Errorf("%d runs left, %d to %d; want 3, 3 to 4", *c.RunsLeft, *c.RunsLow, *c.RunsHigh)
	}
	b.Restart()
	if again := wasteOf(t, b, s.Unit); show(again) != show(c) {
		t.Errorf("after a restart %s; before %s", show(again), show(c))
	}
}

// Levels stand still: noise of 0.3 L on a probe moves what is shown by less than
// half of it once it is known, and a single reading that cannot be moves nothing.
func TestLevelsStandStill(t *testing.T) {
	s := newScript("c41")
	s.Stays(0, 2000, lab.PhaseIdle, "", 0)
	noise := []float64{0.3, -0.2, 0.1, -0.4, 0.25, 0.05, -0.35, 0.4, -0.1, 0, -0.25, 0.2}
	i := 0
	for at := 10.0; at < 1990; at += 30 {
		s.Level(at, "waste", 8+noise[i%len(noise)])
		i++
	}
	b, least, most := newBench(t), 99.0, 0.0
	for _, m := range s.Messages() {
		b.Play([]lab.Message{m})
		if m.Tank != nil && m.At.After(moment(900)) {
			l := *wasteOf(t, b, s.Unit).Litres
			least, most = min(least, l), max(most, l)
		}
	}
	if least < 7.85 || most > 8.15 {
		t.Errorf("between %g and %g L; the probe reads 7.6 to 8.4 of 8", least, most)
	}
	s = newScript("c41")
	s.Stays(0, 500, lab.PhaseIdle, "", 0)
	s.Levels(10, 400, 30, "waste", always(8))
	s.Level(405, "waste", 3)
	b = newBench(t).Play(s.Messages())
	if c := wasteOf(t, b, s.Unit); *c.Litres != 8 || c.Changed != nil {
		t.Errorf("one reading of 3 L: it holds %g, changed %s; want 8 and nothing", *c.Litres, show(c.Changed))
	}
	s.Levels(430, 480, 30, "waste", always(8))
	if c := wasteOf(t, newBench(t).Play(s.Messages()), s.Unit); *c.Litres != 8 || c.Changed != nil {
		t.Errorf("and 8 L again: it holds %g, changed %s; want 8 and nothing", *c.Litres, show(c.Changed))
	}
}

// What people do is recognized by itself, asked for where it is a fall by a third
// or more, and answered by any word of theirs.
func TestPeopleAreRecognized(t *testing.T) {
	u := newScript("c41").Unit
	did := func(at float64, what string) lab.Entry {
		return enters(u, at, lab.EntryContainer, "", lab.ContainerEvent{Container: "waste", What: what})
	}
	for _, c := range []struct {
		name    string
		level   at
		entries []lab.Entry
		what    string
		ask     bool
	}{
		{name: "emptied", level: func(t float64) float64 { return max(0.1, 12-max(0, t-300)*0.3) }, what: lab.LooksEmptied, ask: true},
		{name: "emptied, and said", level: func(t float64) float64 { return max(0.1, 12-max(0, t-300)*0.3) },
			entries: []lab.Entry{did(400, lab.Emptied)}, what: lab.LooksEmptied},
		{name: "half poured off", level: func(t float64) float64 { return max(6, 12-max(0, t-300)*0.3) }, what: lab.LooksLowered, ask: true},
		{name: "a little poured off", level: func(t float64) float64 { return max(10, 12-max(0, t-300)*0.3) }, what: lab.LooksLowered},
		{name: "topped up", level: func(t float64) float64 { return min(12, 2+max(0, t-300)*0.3) }, what: lab.LooksToppedUp},
		{name: "a leak is no doing of people", level: func(t float64) float64 { return 12 - max(0, t-300)*1.0/60 }},
		{name: "nor is a tap that drips in", level: func(t float64) float64 { return 2 + max(0, t-300)*0.2/60 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newScript("c41")
			s.Stays(0, 700, lab.PhaseIdle, "", 0)
			s.Levels(10, 690, 30, "waste", c.level)
			got := wasteOf(t, played(t, s, c.entries...), u).Changed
			switch {
			case got == nil && c.what == "":
			case got == nil || got.What != c.what || got.Ask != c.ask:
				t.Errorf("changed %s; want %q, asked %v", show(got), c.what, c.ask)
			case got.Within > movedAtMostS:
				t.Errorf("within %g s", got.Within)
			}
		})
	}
}

const movedAtMostS = 180

// What a person reads off counts with its own spread, also where it agrees with
// the probe; where it parts from it the probe is doubted, not the person.
func TestReadOff(t *testing.T) {
	for said, want := range map[float64][2]float64{5.1: {5.03, 5.08}, 14: {13.99, 14.01}} {
		s := newScript("c41")
		s.Stays(0, 700, lab.PhaseIdle, "", 0)
		s.Levels(10, 690, 30, "waste", always(5))
		b := played(t, s, enters(s.Unit, 300, lab.EntryContainer, "", lab.ContainerEvent{Container: "waste", What: lab.SetLevel, Litres: &said}))
		c := wasteOf(t, b, s.Unit)
		if *c.Litres < want[0] || *c.Litres > want[1] || *c.SpreadL > 0.16 || c.Measured == nil || !c.Measured.Used {
			t.Errorf("%g L read off beside a probe at 5: %g L to within %g, %s; want %g to %g", said, *c.Litres, *c.SpreadL, show(c.Measured), want[0], want[1])
		}
	}
}

// One alert an emptying: a load of another process takes the next run away and
// brings it back, and nothing is emptied.
func TestOneAlertAnEmptying(t *testing.T) {
	s := newScript("c41")
	s.Levels(1, 1600, 20, "waste", rises(4.3, 0.5, c41Drains...))
	end := s.C41(0)
	s.Stays(end+10, end+1000, lab.PhaseIdle, "", 0)
	s.Levels(end+30, end+990, 30, "waste", between(7.3, end+800, end+1000, 0.1))
	small := enters(s.Unit, -60, lab.EntryCapacity, "", lab.ContainerCapacity{Container: "waste", CapacityL: 10})
	b := played(t, s, small, enters(s.Unit, end+300, lab.EntryLoad, "", lab.Load{Process: "e6-3"}), enters(s.Unit, end+600, lab.EntryLoad, "", lab.Load{Process: "c41"}))
	b.Want("waste-nearly-full developer/waste high 6-2405")
}
