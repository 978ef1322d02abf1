package rules

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"wetside/internal/lab"
)

// What these tests hold was once broken on purpose without a test that noticed.

// says plays a script and gives the message of what a rule found first.
func says(t *testing.T, s *script, rule string) OccurrenceChange {
	t.Helper()
	b := newBench(t).play(s.messages())
	for _, o := range b.found {
		if o.Rule == rule {
			return o
		}
	}
	t.Fatalf("no %s: %v", rule, b.lines())
	return OccurrenceChange{}
}

// A developer that drains slowly goes on developing some of the film: ten
// seconds too long and a drain of half a minute more are a stop (the push
// times of Z-131: 30 s), which is out of control; the ten seconds alone are
// to be looked at.
func TestSlowDrainDevelopsOn(t *testing.T) {
	for extra, want := range map[float64]string{0: lab.Inspect, 25: lab.OutOfControl} {
		s := newScript("c41")
		s.phase(0, lab.PhaseIdle, "", 0)
		s.phase(1, lab.PhaseHeating, "developer", 1)
		s.step(20, 20+205, "developer", 1, always(37.8))
		s.stays(225, 225+10+extra, lab.PhaseDraining, "developer", 1)
		at := 20 + 205 + 20 + extra
		for i, id := range []string{"bleach", "wash-1", "fixer", "wash-2", "final-rinse"} {
			set, _ := s.setS(id)
			s.step(at, at+set, id, i+2, always(38))
			at += set + 20
		}
		s.phase(at, lab.PhaseDone, "", 0)
		b := newBench(t).play(s.messages())
		r := b.runs[RunID(s.unit, "r1")]
		if r.Verdict == nil || *r.Verdict != want {
			t.Errorf("a drain %g s slower: %v %+v; want %s", extra, r.Verdict, r.Reasons, want)
		}
	}
}

// A container that is nearly full by its level is told by its level; the float
// switch is named only where it is what says so.
func TestNearlyFullSaysByWhat(t *testing.T) {
	for name, tt := range map[string]struct {
		level float64
		full  []string
		want  string
	}{
		"by its level": {16.1, nil, "16.1 of 18.9 L"},
		"by its float": {5, []string{"waste"}, "full (float switch)"},
		"by both":      {16.1, []string{"waste"}, "16.1 of 18.9 L"},
	} {
		s := newScript("c41")
		s.stays(0, 100, lab.PhaseIdle, "", 0)
		for _, at := range []float64{10, 40, 70} {
			s.level(at, "waste", tt.level, tt.full...)
		}
		o := says(t, s, RuleWasteNearlyFull)
		if !strings.Contains(o.Message, tt.want) {
			t.Errorf("%s: %q; want %q in it", name, o.Message, tt.want)
		}
	}
}

// Beyond the push table the message says past which push error it surely is.
func TestBeyondThePushTable(t *testing.T) {
	for c, want := range map[float64]string{33: "less than -", 42: "more than +"} {
		s := newScript("c41")
		dev(s, 295, always(c))
		if o := says(t, s, RuleBathTemperature); !strings.Contains(o.Message, want) || strings.Contains(o.Message, "0.0 stop") {
			t.Errorf("at %g °C: %q; want %q and a push error", c, o.Message, want)
		}
	}
}

// What the next run like this one wants of each container is shown while it
// runs: six draws of wash water and ten drains into the waste of half a litre.
func TestNextRunWhileItRuns(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	s.without(func(e *event) bool { return e.at > 200 })
	b := newBench(t).play(s.messages())
	v, _ := b.e.View(s.unit, b.clock)
	got := map[string]float64{}
	for _, c := range v.Containers {
		got[c.Name] = *c.NextRunL
	}
	for name, want := range map[string]float64{"waste": 5, "wash": 3} {
		if got[name] != want {
			t.Errorf("%s: the next run moves %g l; want %g (%v)", name, got[name], want, got)
		}
	}
}

// One degree off all along: at 38.8 °C the developer of C-41 needs 195 s /
// 2.9^0.1 = 175.3 s, at 36.8 °C 216.9 s (sheets.md, the factor of 2.9 for 10 °C).
func TestDrainEarlyOrLate(t *testing.T) {
	for c, want := range map[float64]string{38.8: "(20 s early)", 36.8: "(22 s late)"} {
		s := newScript("c41")
		dev(s, 295, always(c))
		s.without(func(e *event) bool { return e.at > 160 })
		if o := says(t, s, RuleBathTemperature); !strings.Contains(o.Response, want) {
			t.Errorf("at %g °C: %q; want %q", c, o.Response, want)
		}
	}
}

// Beyond the cap the last run of another process is forgotten, never that of
// the one in hand.
func TestPastKeepsTheProcessInHand(t *testing.T) {
	s := &state{Past: map[string]pastRun{}}
	for i := range pastKept + 2 {
		s.Past[fmt.Sprintf("p%02d", i)] = pastRun{}
	}
	s.keepPast("p00")
	_, inHand := s.Past["p00"]
	_, first := s.Past["p01"]
	_, last := s.Past[fmt.Sprintf("p%02d", pastKept+1)]
	if len(s.Past) != pastKept || !inHand || first || !last {
		t.Errorf("%d are kept, in hand %v, the first other %v, the last %v", len(s.Past), inHand, first, last)
	}
}

// Film that stands in a drain without power goes on developing: what the
// outlook comes to grows with the clock on the wall, with nothing new heard.
// 30 s are a stop of the push times of Z-131, from normal.
func TestOutlookOfAStuckDrainGrows(t *testing.T) {
	s := cutDraining()
	b := heardBy(t, s, 330)
	var stops []float64
	for _, at := range []float64{330, 345} {
		v, _ := b.e.View(s.unit, moment(at))
		if v.Outlook == nil || v.Outlook.PushStops == nil {
			t.Fatalf("at %g: outlook %+v", at, v.Outlook)
		}
		stops = append(stops, *v.Outlook.PushStops)
	}
	if by := stops[1] - stops[0]; by < 0.2 || by > 0.7 {
		t.Errorf("%v stops 15 s apart; want about half a stop more", stops)
	}
}

// The board shows film that no run goes on with for as long as it is in the
// unit: drained by hand it still is, taken out it is not; film that only waits
// for somebody to fetch it from a run that ended as it should is none of it.
func TestFilmLeftOnTheBoard(t *testing.T) {
	for name, c := range map[string]struct {
		did  string
		left int
	}{"nothing": {"", 1}, "drained by hand": {lab.FilmDrained, 1}, "moved": {lab.FilmMoved, 0}, "discarded": {lab.FilmDiscarded, 0}} {
		s := newScript("c41")
		at := upTo(s, "bleach")
		s.step(at, at+100, "bleach", 2, always(38))
		s.without(func(e *event) bool { return e.at >= at+100 })
		ends(s, at+100, at+200)
		var did []lab.Entry
		if c.did != "" {
			did = append(did, enters(s.unit, at+150, lab.EntryFilm, RunID(s.unit, "r1"), lab.FilmDoing{What: c.did}))
		}
		if v := played(t, s, did...).e.View2(s.unit); len(v.Film) != c.left {
			t.Errorf("%s: the board shows %+v; want %d", name, v.Film, c.left)
		}
	}
	s := newScript("c41")
	at := upTo(s, "")
	s.phase(at, lab.PhaseWaiting, "final-rinse", 6).WaitsFor = lab.WaitToDryer
	s.run = "r2"
	s.phase(at+60, lab.PhaseHeating, "developer", 1)
	if v := played(t, s).e.View2(s.unit); len(v.Film) != 0 {
		t.Errorf("fetched: the board shows %+v", v.Film)
	}
}

// Film left in a developer: until the time to drain it that time is told, and
// only from then on that it has passed.
func TestStrandedInDeveloperBeforeAndAfterItsTime(t *testing.T) {
	for last, want := range map[float64]string{180: "drain it by hand; turn the tank by hand until then", 260: "has passed: if the developer is still in"} {
		s := newScript("c41")
		s.phase(0, "idle", "", 0)
		s.phase(1, "heating", "developer", 1)
		s.step(20, 100, "developer", 1, always(37.8))
		s.without(func(e *event) bool { return e.at >= 100 })
		ends(s, 101, last)
		if o := says(t, s, RuleFilmStranded); !strings.Contains(o.Response, want) {
			t.Errorf("at %g s: %q; want %q", last, o.Response, want)
		}
	}
}

// What is kept of a run's holes is bounded, and nothing of their length and of
// the earliest place is lost beyond that.
func TestHolesAreKeptToTheCap(t *testing.T) {
	r := &run{}
	for i := range holesKept + 3 {
		r.keepHole(hole{After: 10 - i%2, S: 12})
	}
	sum := 0.0
	for _, h := range r.Holes {
		sum += h.S
	}
	if last := r.Holes[len(r.Holes)-1]; len(r.Holes) != holesKept || sum != 12*(holesKept+3) || last.After != 9 {
		t.Errorf("%d holes of %g s, the last %+v; want %d of %d s", len(r.Holes), sum, last, holesKept, 12*(holesKept+3))
	}
}

// Fixed film that waited for somebody to take it to the dryer can be gone on
// with all the same: the unit says that a second rinse is of the run before.
func TestFilmThatWaitedIsGoneOnWith(t *testing.T) {
	s := newScript("c41")
	at := upTo(s, "")
	s.phase(at, lab.PhaseWaiting, "final-rinse", 6).WaitsFor = lab.WaitToDryer
	rescue(s, at+30, "r2", "final-rinse")
	for _, e := range s.events {
		if e.m.Step != nil && e.m.Step.Run == "r2" {
			e.m.Step.Continues = "r1"
		}
	}
	r := played(t, s).runs[RunID(s.unit, "r2")]
	if r.Film == nil || len(r.Film.Runs) != 2 || deref(r.Verdict) != lab.InControl {
		t.Errorf("the film of the second run: %+v, %s %+v; want it to be that of both", r.Film, deref(r.Verdict), r.Reasons)
	}
}

// A bath that goes out a second time, by far more than its probe trembles, is
// over again once it has been inside for long enough.
func TestSecondExcursionEnds(t *testing.T) {
	runScenarios(t, []scenario{{name: "twice out", write: func(s *script) {
		bleached(s, func(t float64) float64 {
			if t >= 400 && t < 430 || t >= 520 && t < 550 {
				return 34.5
			}
			return 35.4
		})
	}, want: []string{"bath-temperature bleach low 415-450", "bath-temperature bleach low 535-570"}}})
}

// A strip of E-6 that is out names no run of C-41: what went through since it
// was in is of its own process.
func TestStripOutNamesRunsOfItsProcess(t *testing.T) {
	u := newScript("c41").unit
	read := func(at float64, standing string) lab.Entry {
		return enters(u, at, lab.EntryStrip, "", lab.Strip{Process: "e6-7", Standing: standing})
	}
	b := played(t, c41Run(t, nil), read(-60, lab.StripIn), read(1700, lab.StripOut), read(1710, lab.StripOut))
	if runs, _ := b.only(RuleStripOut).Facts["runs"].([]string); len(runs) != 0 {
		t.Errorf("runs %q, want none", runs)
	}
}

// Within a minute the liquid before the fill does not jump by ten degrees: such
// a reading is not believed. After more than a minute it may be other liquid.
func TestPreheatThatJumps(t *testing.T) {
	for at, want := range map[float64][]string{90: nil, 90.1: {"preheat-off developer high 95-160"}} {
		s := newScript("c41")
		dev(s, 295, always(37.8))
		s.setC(37.8)
		s.preheat(30, 37.8)
		s.preheat(at, 27.8)
		newBench(t).play(s.messages()).want(want...)
	}
}

// The bounds of what a probe can be believed to read are within it.
func TestBelievedAtItsBounds(t *testing.T) {
	f := newWatch(newBench(t).e.cfg, newScript("c41").unit).fold()
	fig := f.fig()
	for v, want := range map[float64]bool{fig.BelieveLowC: true, fig.BelieveHighC: true, fig.BelieveLowC - 0.01: false, fig.BelieveHighC + 0.01: false} {
		if got := f.believable(v); got != want {
			t.Errorf("%g °C: believed %v, want %v", v, got, want)
		}
	}
}

// A developer that swings evenly about its aim heads nowhere: the heater is
// what is told.
func TestSwingingHeadsNowhere(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, func(t float64) float64 { return 37.8 + 0.35*math.Sin(2*math.Pi*t/40) })
	o := says(t, s, RuleBathTemperature)
	if !strings.Contains(o.Message, "swings between") || strings.Contains(o.Message, "heading") || !strings.HasPrefix(o.Response, "The heater hunts") {
		t.Errorf("%q, %q", o.Message, o.Response)
	}
}

// What the board says the unit does, by what the unit said last.
func TestActivity(t *testing.T) {
	for want, last := range map[string]func(s *script, at float64){
		lab.ActivityRunning: func(s *script, at float64) { s.phase(at, lab.PhaseHeating, "bleach", 2) },
		lab.ActivityWaiting: func(s *script, at float64) {
			s.phase(at, lab.PhaseWaiting, "bleach", 2).WaitsFor = lab.WaitChemistry
		},
		lab.ActivityDrying: func(s *script, at float64) { s.phase(at, lab.PhaseDrying, "", 0) },
		lab.ActivityIdle:   func(s *script, at float64) { s.phase(at, lab.PhaseIdle, "", 0) },
	} {
		s := newScript("c41")
		dev(s, 295, always(37.8))
		last(s, 315)
		b := newBench(t).play(s.messages())
		if v := b.e.View2(s.unit); v.Activity != want {
			t.Errorf("%s, want %s", v.Activity, want)
		}
	}
}

// A developer drained at its latest second was not too long; a tenth of a
// second later it was (sheets.md: 195 s and 2 %).
func TestVerdictAtTheLatestSecond(t *testing.T) {
	for end, want := range map[float64]bool{298.9: false, 299: true} {
		s := newScript("c41")
		dev(s, end, always(37.8))
		s.phase(end+15, lab.PhaseAborted, "", 0)
		r := newBench(t).play(s.messages()).runs[RunID(s.unit, "r1")]
		if got := slices.Contains(reasons(r), "step-long developer"); got != want {
			t.Errorf("drained at %g s: too long %v, want %v: %+v", end, got, want, r.Reasons)
		}
	}
}
