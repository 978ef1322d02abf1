package report

import (
	"slices"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
)

// many are runs of one unit, one after the other, with their features.
func many(t testing.TB, process string, n int, faults []sim.Fault, seed uint64) (*watched, []Features) {
	t.Helper()
	plan := sim.UnitPlan{Processes: []string{process}}
	for range n {
		plan.Runs = append(plan.Runs, sim.RunPlan{Process: process})
	}
	w := simulate(t, plan, faults, seed, time.Duration(n)*75*time.Minute)
	var out []Features
	for i := range n {
		ev := w.evidence(t, i)
		run := w.runs[ev.RunName]
		ev.Messages = slices.DeleteFunc(slices.Clone(ev.Messages), func(m lab.Message) bool {
			return m.At.Before(run.StartedAt.Add(-5*time.Minute)) || m.At.After(run.EndedAt.Add(5*time.Minute))
		})
		out = append(out, made(t, ev).Features)
	}
	return w, out
}

// What differs from the good runs is found, farthest first, and is the last
// of the reasons; what does not is left alone.
func TestComparedWithGoodRuns(t *testing.T) {
	const s, n = time.Second, 13
	w, features := many(t, "c41", n, []sim.Fault{
		{Kind: sim.BathOffset, Run: n, Step: "fixer", After: 20 * s, Strength: -1.5}, // well inside 35 to 41
	}, 3)
	good := 0
	for i, f := range features[:n-1] {
		if !f.Good() {
			t.Errorf("run %d without fault is no good run: %s", i+1, f.Verdict)
			continue
		}
		good++
		if i < fewestGood {
			if r := compare(f, comparableRuns(f, features), 0.01, sheetSteps{}); r != nil {
				t.Errorf("run %d was compared with %d good runs", i+1, r.Runs)
			}
			continue
		}
		if r := compare(f, comparableRuns(f, features), 0.01, sheetSteps{}); r == nil || len(r.Findings) > 0 {
			t.Errorf("run %d without fault stands out: %+v", i+1, r)
		}
	}
	ev := w.evidence(t, n-1)
	ev.GoodRuns = features
	r := made(t, ev).Report
	if r.Compared == nil || r.Compared.Runs != good || len(r.Compared.Findings) == 0 {
		t.Fatalf("compared: %+v, want findings beside %d runs", r.Compared, good)
	}
	for i, f := range r.Compared.Findings {
		t.Logf("%s z %v", f.Text, f.Z)
		if f.Step != "fixer" {
			t.Errorf("%s stands out", f.Text)
		}
		if i > 0 && abs(f.Z) > abs(r.Compared.Findings[i-1].Z) {
			t.Errorf("finding %d is farther than the one before it", i+1)
		}
	}
	last := r.Run.Reasons[len(r.Run.Reasons)-1]
	if last.Code != "out-of-pattern" || *r.Run.Verdict != lab.InControl {
		t.Errorf("last reason %+v, verdict %s; want out-of-pattern and in-control: an oddity changes no verdict", last, *r.Run.Verdict)
	}
	if len(r.Timeline.Envelope) == 0 {
		t.Fatal("no envelope")
	}
	checkEnvelope(t, r, features)
}

// The envelope holds nine in ten of the good runs' readings at each place.
func checkEnvelope(t *testing.T, r lab.Report, features []Features) {
	t.Helper()
	for _, b := range r.Timeline.Envelope {
		if b.Low > b.High || b.Low < 15 || b.High > 45 {
			t.Fatalf("envelope at %s: %v to %v", b.At, b.Low, b.High)
		}
	}
	first := r.Run.Steps[0]
	in, all := 0, 0
	for i := range 20 {
		v := courseAt(features[:len(features)-1], first, i)
		low, high := percentile(0.05, v), percentile(0.95, v)
		for _, x := range v {
			all++
			if x >= low && x <= high {
				in++
			}
		}
	}
	if part := float64(in) / float64(all); part < 0.8 || part == 1 {
		t.Errorf("%.2f of the readings lie in the envelope; want about 0.9", part)
	}
}

func abs(v float64) float64 { return max(v, -v) }

// Runs that are all alike must not make the least difference stand out.
func TestRunsThatAreAlike(t *testing.T) {
	_, features := many(t, "c41", 1, nil, 5)
	var good []Features
	for i := range 10 {
		f := features[0]
		f.RunID, f.StartedAt = string(rune('a'+i)), lab.At(f.StartedAt.Add(-time.Duration(i+1)*time.Hour))
		good = append(good, f)
	}
	f := features[0]
	f.Steps = append([]StepFeatures(nil), f.Steps...)
	c := *f.Steps[0].MeanC + 0.05
	f.Steps[0].MeanC = &c
	if r := compare(f, comparableRuns(f, good), 0.01, sheetSteps{}); r == nil || len(r.Findings) != 0 {
		t.Errorf("0.05 °C beside ten runs that are all alike: %+v", r)
	}
	c += 0.3
	if r := compare(f, comparableRuns(f, good), 0.01, sheetSteps{}); r == nil || len(r.Findings) != 1 || r.Findings[0].Feature != "mean temperature" {
		t.Errorf("0.35 °C beside ten runs that are all alike: %+v", r)
	}
}

// Only good runs of the same process, push and unit from before count.
func TestAlike(t *testing.T) {
	at := func(h int) lab.Time { return lab.At(nine.Add(time.Duration(h) * time.Hour)) }
	f := Features{RunID: "x", Unit: "a/b", Process: "c41", Kind: "film", Verdict: lab.InControl, StartedAt: at(10)}
	for _, tt := range []struct {
		why    string
		change func(*Features)
		want   int
	}{
		{"the same", func(*Features) {}, 1},
		{"another unit", func(g *Features) { g.Unit = "a/c" }, 0},
		{"another process", func(g *Features) { g.Process = "bw" }, 0},
		{"another push", func(g *Features) { g.Push = 1 }, 0},
		{"a control strip", func(g *Features) { g.Kind = lab.KindOfRunStrip }, 0},
		{"not good", func(g *Features) { g.Verdict = lab.Inspect }, 0},
		{"later", func(g *Features) { g.StartedAt = at(11) }, 0},
		{"itself", func(g *Features) { g.RunID = "x" }, 0},
	} {
		g := f
		g.RunID, g.StartedAt = "y", at(9)
		tt.change(&g)
		if got := comparableRuns(f, []Features{g, g}); len(got) != tt.want {
			t.Errorf("%s: %d count, want %d", tt.why, len(got), tt.want)
		}
	}
}
