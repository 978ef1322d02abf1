package process

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func c41Developer(t interface{ Fatal(...any) }) *Step {
	sheet, _ := Builtin().Sheet("c41")
	s, ok := sheet.Step("developer")
	if !ok {
		t.Fatal("no developer")
	}
	return s
}

// held is film that has had so many seconds in a developer at its sheet's
// temperature and stays there.
func held(soFar, endsS float64) FilmInBath {
	return FilmInBath{SoFar: Exactly(soFar), Bath: Exactly(37.8), EndsS: endsS, ReactS: ReactS}
}

// At the sheet's temperature equivalent seconds are seconds, so every moment
// can be counted on fingers. C-41: 195 s, push times 30 s a stop, edges 0.33
// and 0.67 stop, that is 185.1 to 204.9 and 174.9 to 215.1 s.
func TestOutlookAtTheSheetsTemperature(t *testing.T) {
	s := c41Developer(t)
	for _, tt := range []struct {
		name                   string
		st                     FilmInBath
		goOn, act, late, nowEq float64
	}{
		// 95 s to go by its own counter, which runs on: it may come back until
		// a person must start, 20 s before the aim.
		{"early, counter runs", held(100, 95), 75, 75, 95.1, 120},
		// The counter stands: what the outage takes comes on top, and 9.9 s
		// of it are within the edge.
		{"early, counter stands", FilmInBath{SoFar: Exactly(100), Bath: Exactly(37.8), EndsS: 95, CounterStands: true, ReactS: 20}, 9.9, 75, 95.1, 120},
		{"the aim is nearer than a person", held(180, 15), 0, 0, 15.1, 200},
		{"past the second edge", held(220, 0), 0, 0, 0, 240},
		{"draining takes 10 s", FilmInBath{SoFar: Exactly(100), Bath: Exactly(37.8), EndsS: 95, ReactS: 20, DrainS: 10}, 65, 65, 85.1, 130},
		{"its end is not known", held(100, -1), 75, 75, 95.1, 120},
		{"it would end far too soon", held(100, 40), 0, 75, 95.1, 120},
	} {
		m, ok := s.Outlook(tt.st)
		if !ok {
			t.Fatal("no outlook")
		}
		for _, x := range []struct {
			what      string
			got, want float64
		}{{"go on until", m.GoOnUntilS, tt.goOn}, {"drain from", m.DrainFromS, tt.goOn}, {"act", m.ActS, tt.act},
			{"too late from", m.TooLateFromS, tt.late}, {"now", m.Now.Best, tt.nowEq}} {
			if math.Abs(x.got-x.want) > 0.05 {
				t.Errorf("%s: %s %.2f s, want %.2f", tt.name, x.what, x.got, x.want)
			}
		}
	}
	m, _ := s.Outlook(held(100, 95))
	for _, tt := range []struct {
		t    float64
		want string
	}{{0, GoOn}, {74, GoOn}, {76, DrainAt}, {94, DrainAt}, {96, Hold}} {
		if got := m.ActionAt(tt.t); got != tt.want {
			t.Errorf("at %.0f s %s, want %s", tt.t, got, tt.want)
		}
	}
	if !m.Pushes || math.Abs(m.DoneStops.Best) > 0.001 || math.Abs(m.NowStops.Best+2.5) > 0.001 {
		t.Errorf("done %+v, now %+v; want 0 and -2.5 stops (75 s at 30 s a stop)", m.DoneStops, m.NowStops)
	}
}

// Whatever the developer, the cooling and the step: the deadlines come in their
// order, draining at ActS hits the aim where there is still time, and waiting
// to the last moment of "go on" ends within the edges, a little later not.
func TestOutlookHoldsWhatItSays(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := c41Developer(rt)
		cool := Cooling{TauS: rapid.Float64Range(1500, 6000).Draw(rt, "tau"), TauLowS: 1200, TauHighS: 12000}
		st := FilmInBath{Aim: Aim{Push: rapid.SampledFrom([]float64{-1, 0, 0.5, 2}).Draw(rt, "push")},
			SoFar: Within(rapid.Float64Range(0, 300).Draw(rt, "so far"), 2), Bath: Within(rapid.Float64Range(25, 38.5).Draw(rt, "bath"), 0.1),
			Cooling: &cool, Toward: Within(21, 3), EndsS: rapid.Float64Range(-1, 250).Draw(rt, "ends"),
			CounterStands: rapid.Bool().Draw(rt, "stands"), ReactS: 20, DrainS: rapid.Float64Range(0, 20).Draw(rt, "drain")}
		if rapid.Bool().Draw(rt, "house") {
			st.HouseS = rapid.Float64Range(150, 260).Draw(rt, "house aim")
		}
		m, ok := s.Outlook(st)
		if !ok {
			rt.Fatal("no outlook")
		}
		if m.GoOnUntilS != m.DrainFromS || m.DrainFromS > m.ActS+0.01 || m.ActS > m.TooLateFromS {
			rt.Fatalf("out of order: %+v", m)
		}
		if m.Done.Low > m.Done.Best || m.Done.Best > m.Done.High || m.DoneStops.Low > m.DoneStops.Best || m.DoneStops.Best > m.DoneStops.High {
			rt.Fatalf("bounds out of order: %+v", m)
		}
		if m.ActS > 0 && math.Abs(m.DoneStops.Best) > 0.001 {
			rt.Fatalf("draining at %.1f s ends %+.3f stop off", m.ActS, m.DoneStops.Best)
		}
		e, _ := s.EdgeTimes(st.Aim)
		if _, stops, _ := s.IfDrained(st, m.TooLateFromS); m.TooLateFromS > 0 && math.Abs(stops.Best-s.Edges.OutStops) > 0.001 {
			rt.Fatalf("too late from %.1f s, but then it ends %+.3f stop off", m.TooLateFromS, stops.Best)
		}
		if st.EndsS >= 0 && m.GoOnUntilS > 0 {
			if v := s.endsByItself(st, m.GoOnUntilS); v < e.Under-0.1 || v > e.Over+0.1 {
				rt.Fatalf("power back at %.1f s ends at %.1f, edges %+v", m.GoOnUntilS, v, e)
			}
		}
	})
}

func TestOutlookOfOtherSteps(t *testing.T) {
	sheet, _ := Builtin().Sheet("e6-7")
	bleach, _ := sheet.Step("bleach")
	m, ok := bleach.Outlook(FilmInBath{SoFar: Exactly(100), Bath: Exactly(36), EndsS: 260, ReactS: 20})
	if !ok || m.ActionAt(5000) != GoOn || m.Pushes {
		t.Errorf("a min step waits: %+v", m)
	}
	wash, _ := sheet.Step("wash-1") // exact, 120 s -10/+60
	m, _ = wash.Outlook(FilmInBath{SoFar: Exactly(50), Bath: Exactly(30), EndsS: 70, ReactS: 20})
	if math.Abs(m.ActS-110) > 0.01 || !math.IsInf(m.TooLateFromS, 1) {
		t.Errorf("the first wash is to be drained at 180 s: %+v", m)
	}
	color, _ := sheet.Step("color-developer") // 360 s, inspect -5/+20 %, out -15/+40 %
	m, _ = color.Outlook(FilmInBath{SoFar: Exactly(300), Bath: Exactly(38), EndsS: 60, CounterStands: true, ReactS: 20})
	if math.Abs(m.ActS-40) > 0.01 || math.Abs(m.TooLateFromS-(504-320)) > 0.01 || m.Pushes {
		t.Errorf("color developer: %+v", m)
	}
	bw, _ := Builtin().Sheet("bw")
	dev, _ := bw.Step("developer")
	if _, ok := dev.Outlook(FilmInBath{SoFar: Exactly(100), Bath: Exactly(20)}); ok {
		t.Error("an outlook without a time")
	}
}

// A house aim takes the place of the sheet's time; the two errors differ by
// what the aim is off the sheet.
func TestHouseAim(t *testing.T) {
	s := c41Developer(t)
	house := Aim{HouseS: 189}
	for _, tt := range []struct{ eq, sheet, house float64 }{{189, -0.2, 0}, {195, 0, 0.2}, {219, 0.8, 1}} {
		a, _ := s.Stops(tt.eq, Aim{})
		b, _ := s.Stops(tt.eq, house)
		if math.Abs(a-tt.sheet) > 1e-9 || math.Abs(b-tt.house) > 1e-9 {
			t.Errorf("%.0f s: %+.3f and %+.3f stop, want %+.1f and %+.1f", tt.eq, a, b, tt.sheet, tt.house)
		}
		if back, ok := s.equivalentFor(b, house); !ok || math.Abs(back-tt.eq) > 1e-9 {
			t.Errorf("%+.3f stop is %.2f s, want %.0f", b, back, tt.eq)
		}
	}
	if s.Off(204, Aim{}) != 0 || s.Off(204, house) != 1 || s.Off(216, Aim{}) != 2 {
		t.Error("the edges do not go with the aim")
	}
	if target, _ := s.TargetS(house); target != 189 {
		t.Errorf("target %.0f s", target)
	}
	sheet, _ := Builtin().Sheet("bw")
	bw, _ := sheet.Step("developer")
	if v, ok := bw.Stops(500, Aim{Push: 1, SetS: 500}); !ok || math.Abs(v) > 1e-9 {
		t.Errorf("a set time is its own aim: %+.3f", v)
	}
}

func TestAdvise(t *testing.T) {
	c41, _ := Builtin().Sheet("c41")
	e6, _ := Builtin().Sheet("e6-7")
	step := func(sh *Sheet, id string) *Step { s, _ := sh.Step(id); return s }
	dev, bleach, wash := step(c41, "developer"), step(c41, "bleach"), step(c41, "wash-2")
	exact := step(e6, "wash-1")
	at := func(soFar, c, ends float64) FilmInBath {
		return FilmInBath{SoFar: Exactly(soFar), Bath: Exactly(c), EndsS: ends, ReactS: 20}
	}
	with := func(st FilmInBath, f func(*FilmInBath)) FilmInBath { f(&st); return st }
	for _, tt := range []struct {
		name string
		s    *Step
		st   FilmInBath
		want string
		left float64
	}{
		{"ends at the aim", dev, at(100, 37.8, 95), Continue, 95},
		{"within 2 %", dev, at(100, 37.8, 97), Continue, 97},
		{"its counter lost a minute", dev, at(100, 37.8, 155), Shorten, 95},
		{"past the aim", dev, at(200, 37.8, 60), Discard, 0}, // 20 s to press: 220 s, the second edge is at 215.1
		{"just past the aim", dev, at(194, 37.8, 60), Shorten, 1},
		{"past the aim, the unit drains at once", dev, at(200, 37.8, 0), Continue, 0},
		{"past the aim, the unit ends before a person could", dev, at(196, 37.8, 15), Continue, 15},
		// Ten degrees below: 2.9 times slower, so 95 s take 275.5.
		{"cooled", dev, at(100, 27.8, 95), Extend, 95 * 2.9},
		{"far over", dev, at(260, 37.8, 0), Discard, 0},
		{"gone, good", dev, with(at(196, 37.8, 0), func(s *FilmInBath) { s.Ended = true }), Continue, 0},
		{"gone, far short", dev, with(at(120, 37.8, 0), func(s *FilmInBath) { s.Ended = true }), Discard, 0},
		{"bleach warm enough", bleach, at(200, 38, 190), Continue, 190},
		{"bleach that the unit ends too soon", bleach, at(100, 38, 40), Extend, 160}, // least 260
		// Five degrees under its limit, at the low bound (factor 4) half as
		// fast: 160 s missing take 320.
		{"bleach cold", bleach, at(100, 30, 40), Extend, 320},
		{"bleach ice-cold", bleach, at(10, 8, 40), Repeat, 390},
		{"bleach gone too soon", bleach, with(at(100, 38, 0), func(s *FilmInBath) { s.Ended = true }), Repeat, 390},
		{"bleach gone, had its least", bleach, with(at(262, 38, 0), func(s *FilmInBath) { s.Ended = true }), Continue, 0},
		{"wash stood still", wash, with(at(195, 30, 0), func(s *FilmInBath) { s.StoodS = 100 }), Repeat, 195},
		{"wash stood, time made up", wash, with(at(150, 30, 150), func(s *FilmInBath) { s.StoodS = 100 }), Continue, 150},
		{"first wash over its time", exact, at(150, 38, 60), Shorten, 0},
		{"first wash within", exact, at(100, 38, 40), Continue, 40},
		{"first wash short", exact, at(60, 38, 20), Extend, 60},
	} {
		a, ok := tt.s.Advise(tt.st)
		if !ok || a.Action != tt.want || math.Abs(a.LeftS-tt.left) > 0.01 {
			t.Errorf("%s: %s, %.2f s left; want %s, %.2f", tt.name, a.Action, a.LeftS, tt.want, tt.left)
		}
		if want := max(0, tt.left-20); a.Action != Repeat && math.Abs(a.ActS-want) > 0.01 {
			t.Errorf("%s: act after %.2f s, want %.2f", tt.name, a.ActS, want)
		}
	}
}

func TestThirds(t *testing.T) {
	for stops, want := range map[float64]string{
		0: "less than 1/6 stop", -0.1: "less than 1/6 stop", 0.33: "about +1/3 stop", -0.7: "about -2/3 stop",
		1.05: "about +1 stop", 1.4: "about +1 1/3 stops", -2.02: "about -2 stops", 0.17: "about +1/3 stop",
	} {
		if got := Thirds(stops); got != want {
			t.Errorf("%+.2f: %q, want %q", stops, got, want)
		}
	}
	if got := ThirdsRange(Range{0.4, 0.1, 0.9}); got != "about +1/3 stop (0 to +1)" {
		t.Error(got)
	}
	if got := ThirdsRange(Range{0.4, 0.3, 0.45}); got != "about +1/3 stop" {
		t.Error(got)
	}
}
