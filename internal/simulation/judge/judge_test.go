package judge

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"time"

	"go.uber.org/goleak"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func TestTheSameSeedsGiveTheSameTable(t *testing.T) {
	table := func() string {
		s, err := Judge(t.Context(), Seeds{Name: "test", First: 31, Count: labtest.Fewer(8, 2)})
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		s.Print(&b)
		s.Misses(&b, 3)
		return b.String()
	}
	first := table()
	if second := table(); first != second {
		t.Errorf("two goes at the same seeds differ:\n%s\n%s", first, second)
	}
	if !strings.Contains(first, "verdict right") {
		t.Errorf("the table says nothing of verdicts:\n%s", first)
	}
}

// Every fault that the simulator knows, and everything that people do, is
// tried in some scenario, in every process.
func TestEveryFaultIsTried(t *testing.T) {
	kinds, procs := map[sim.Kind]int{}, map[string]int{}
	for i := range ForJudging.Count {
		s := drawScenario(ForJudging.First + uint64(i))
		procs[s.process]++
		for _, f := range s.faults {
			kinds[f.Kind]++
		}
	}
	for _, r := range toldRows() {
		for seed := range uint64(oddCases) {
			for _, f := range r.make(seed + 1).cfg.Schedule.Faults {
				kinds[f.Kind]++
			}
		}
	}
	for i := range levelFaults {
		for _, f := range drawLevelWeek(uint64(i+1), &levelFaults[i]).faults {
			kinds[f.Kind]++
		}
	}
	for _, k := range append(append([]sim.Kind{}, sim.Kinds...), sim.ActionKinds...) {
		if kinds[k] == 0 {
			t.Errorf("%s is never tried", k)
		}
	}
	for _, p := range process.Builtin().IDs() {
		if procs[p] < 20 {
			t.Errorf("%s is tried %d times", p, procs[p])
		}
	}
	if d, j := ForDevelopment, ForJudging; d.First+uint64(d.Count) > j.First && j.First+uint64(j.Count) > d.First {
		t.Error("the seeds for development and those for judging overlap")
	}
}

// made is a developer of C-41 that stood in its bath at one temperature.
func made(t *testing.T, c, lasted float64) (*playedScenario, *stepTruth) {
	t.Helper()
	sheet, _ := process.Builtin().Sheet("c41")
	at := startOfDay
	x := &stepTruth{sheet: &sheet.Steps[0], sheetS: 195, tickS: tickS}
	x.Step, x.ControllerSetS, x.InBath, x.TimeS = "developer", 195, at, lasted
	for s := tickS; s <= lasted; s += tickS {
		x.wet = append(x.wet, sim.FilmMoment{At: at.Add(seconds(s)), N: 1, Phase: lab.PhaseInBath, Litres: 0.5, C: c, ProbeC: c, RPM: 60, Power: true, Room: 21})
	}
	x.Drained = at.Add(seconds(lasted))
	p := &playedScenario{scenario: &scenario{process: "c41"}, replay: newReplay(at), traits: sim.UnitTraits{LossW: 1.2, WallJ: 350, LiquidJ: 4180, DrainLS: 0.045, FillLS: 0.05}}
	return p, x
}

// By hand, from the sheet: 2.9 per 10 °C, 30 s a stop (reference sheet c41).
func TestTheTruthByHand(t *testing.T) {
	for _, c := range []struct {
		c, lasted, eq, stops float64
		level, top           int
	}{
		{37.8, 195, 195, 0, inControl, inControl},
		{37.8, 225, 225, 1, outOfControl, outOfControl},
		{37.8, 207, 207, 0.4, inspect, inspect},                   // beyond 0.33 and its gray of 0.06
		{38.7, 195, 195 * 1.10055, 0.6536, inspect, outOfControl}, // 2.9^0.09; within 0.06 of 0.67
		{38.8, 195, 195 * 1.11234, 0.7303, outOfControl, outOfControl},
		{37.9, 195, 195 * 1.01070, 0.0696, inControl, inControl},
	} {
		p, x := made(t, c.c, c.lasted)
		p.excursions(x)
		eq := p.equivalentS(x, byFilm, 2.9, 0)
		stops, ok := x.stops(eq, 0)
		if !ok || math.Abs(eq-c.eq) > 0.01 || math.Abs(stops-c.stops) > 0.002 {
			t.Errorf("%.1f °C for %.0f s: %.2f s, %+.3f stop; want %.2f s, %+.3f", c.c, c.lasted, eq, stops, c.eq, c.stops)
		}
		var r verdictRange
		p.trueVerdictOfStep(&r, x, &sim.RunTruth{Process: "c41"})
		if r.level != c.level || r.top != c.top {
			t.Errorf("%.1f °C for %.0f s: level %d to %d; want %d to %d: %v %v", c.c, c.lasted, r.level, r.top, c.level, c.top, r.why, r.edges)
		}
	}
}

// The best moment to drain film that stands without power, against the
// closed form of a bath that stays as warm as it is.
func TestTheBestMomentByHand(t *testing.T) {
	p, x := made(t, 36.8, 100)
	rate := math.Pow(2.9, -0.1)
	best := p.bestDrain(x, startOfDay.Add(50*time.Second)).Sub(startOfDay).Seconds()
	if want := 195 / rate; math.Abs(best-want) > 1 {
		t.Errorf("best moment %.1f s; want %.1f s", best, want)
	}
	still := cooling{c: 36.8, room: 36.8, tau: 2000, factor: 2.9, had: 100 * rate, x: x}
	if got, want := still.until(195), 195/rate-100; math.Abs(got-want) > 1 {
		t.Errorf("%.1f s more; want %.1f s", got, want)
	}
	// Newton: after one time constant 1/e of the difference is left.
	k := cooling{c: 37.8, room: 37.8 - 10, tau: 100, factor: 2.9, x: x}
	got := k.after(100)
	sum := 0.0
	for i := range 10000 {
		s := (float64(i) + 0.5) / 100
		sum += 0.01 * math.Pow(2.9, (-10+10*math.Exp(-s/100))/10)
	}
	if math.Abs(got-sum) > 0.01 {
		t.Errorf("%.3f equivalent seconds; want %.3f", got, sum)
	}
}

// A record that says something else than the truth is a miss: the judge can
// fail.
func TestAWrongRecordIsAMiss(t *testing.T) {
	p, err := play(t.Context(), drawScenario(noneSeed(t)))
	if err != nil {
		t.Fatal(err)
	}
	if o := p.judgeRun(); !o.clean || !o.verdictOK() || o.leftOut || len(o.pushes) != 1 || !o.pushes[0].Covered {
		t.Fatalf("a clean run: %+v", o)
	}
	for id, r := range p.replay.runs {
		wrong := lab.OutOfControl
		r.Verdict = &wrong
		for i := range r.Steps {
			if s := &r.Steps[i]; s.PushErrorStops != nil {
				far := 2.0
				s.PushErrorStops, s.PushErrorLowStops, s.PushErrorHighStops = &far, &far, &far
			}
		}
		p.replay.runs[id] = r
	}
	o := p.judgeRun()
	if o.verdictOK() || o.pushes[0].Covered {
		t.Errorf("a wrong record passes: %+v", o)
	}
	s := newScore(Seeds{First: 1, Count: 1}, []outcome{o})
	if !s.Failed() {
		t.Error("the score does not fail")
	}
	for id := range p.replay.runs {
		delete(p.replay.runs, id)
	}
	if o := p.judgeRun(); !o.missing || o.verdictOK() {
		t.Error("a run without a record passes")
	}
}

// noneSeed is the first seed whose run nothing goes wrong in.
func noneSeed(t *testing.T) uint64 {
	t.Helper()
	for seed := uint64(500); seed < 600; seed++ {
		if s := drawScenario(seed); s.name == "none" {
			return seed
		}
	}
	t.Fatal("no seed without trouble")
	return 0
}

func TestQuantile(t *testing.T) {
	// Nearest rank, as in the usual textbook example: 15, 20, 35, 40, 50.
	list := []float64{50, 15, 40, 20, 35}
	for _, c := range []struct{ q, want float64 }{{0.05, 15}, {0.30, 20}, {0.40, 20}, {0.50, 35}, {1, 50}} {
		if got := quantile(list, c.q); got != c.want {
			t.Errorf("quantile %.2f is %g; want %g", c.q, got, c.want)
		}
	}
}
