package demo

import (
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/replay"
	"wetside/internal/simulation/sim"
	"wetside/internal/strips"
	"wetside/rules"
)

// The two stories of the demonstration's strips, by the program's own judging:
// a warm bath explains one strip; from the new mix on contrast climbs, slow
// drift is marked before a limit is passed, and no strip is beyond a control
// limit.
func TestDemoStripsTellTwoStories(t *testing.T) {
	day := time.Date(2026, 3, 3, 0, 0, 0, 0, time.UTC) // a Tuesday
	push := stripPush(t, day, stripFaults(day, warmBack))
	usual := stripPush(t, day, nil)
	if push-usual < 0.15 || push-usual > 0.4 {
		t.Fatalf("0.4 °C warm gives a push error of %+.2f stop, else %+.2f", push, usual)
	}
	settings := stripSettings()
	if err := settings.Check(); err != nil {
		t.Fatal(err)
	}
	var reads []strips.Reading
	pushes := map[string]float64{}
	for back := days - 1; back >= 0; back-- {
		run := time.Duration(back).String()
		pushes[run] = usual
		if back == warmBack {
			pushes[run] = push
		}
		s, notes := strips.Evaluate(stripOf(storyUnit, pushes[run], back), "tern-street/plover", reads, settings)
		if len(notes) > 0 {
			t.Errorf("%d days ago: %q", back, notes)
		}
		reads = append(reads, strips.Reading{Strip: s, Run: run, At: lab.At(day.AddDate(0, 0, -back))})
		want := lab.StripIn
		if back == warmBack || back == 0 {
			want = lab.StripAction
		}
		if s.Status != want && back != 1 { // the day before is at the limit
			t.Errorf("%d days ago the strip is %s (%s), want %s", back, s.Status, s.Beyond(), want)
		}
		if back == warmBack || back == 0 {
			p := pushes[run]
			told := strips.Explained(s, strips.Telemetry{PushStops: &p, Slopes: strips.Slopes(reads, pushes)}).Text
			if got := strings.HasPrefix(told, "Explained by telemetry."); got != (back == warmBack) {
				t.Errorf("%d days ago: %q", back, told)
			}
		}
		other, _ := strips.Evaluate(stripOf("avocet", usual, back), "tern-street/avocet", nil, settings)
		if other.Status != lab.StripIn {
			t.Errorf("avocet's strip of %d days ago is %s (%s)", back, other.Status, other.Beyond())
		}
	}
	for _, p := range []float64{-0.03, 0.03} { // as the runs of the day may be
		if s, _ := strips.Evaluate(stripOf(storyUnit, p, 0), "tern-street/plover", nil, settings); s.Status != lab.StripAction {
			t.Errorf("with a push error of %+.2f stop today's strip is %s", p, s.Status)
		}
	}
	if moved := strips.MovedWithMix(reads); !slices.Contains(slices.Collect(maps.Values(moved)), true) {
		t.Errorf("the drift is not told by the new mix: %v", moved)
	}
	i := slices.IndexFunc(reads, func(r strips.Reading) bool { return r.Mix == "B13" })
	drift := 0
	for _, s := range strips.SeriesOf(reads) {
		for _, m := range s.Marks {
			if (m.Signal == strips.EWMA || m.Signal == strips.Nelson3 || m.Signal == strips.CUSUM) && strings.HasPrefix(s.Plot, "hd-ld") && m.Point >= i && m.Point < len(reads)-1 {
				drift++
			}
		}
	}
	if drift == 0 {
		t.Error("nothing marks the drift before a limit is passed")
	}
	if g := strips.GateOf(strips.OfProcess(reads, "c41", &reads[len(reads)-1].Mix), nil, true, day.Add(time.Hour)); g.Gate != strips.GateWatch {
		t.Errorf("the gate is %s: %q", g.Gate, g.Reasons)
	}
}

// stripPush plays a day of the demonstration's lab and gives the push error of
// plover's control strip, by a replay of what it sent.
func stripPush(t *testing.T, day time.Time, faults []sim.Fault) float64 {
	t.Helper()
	to := day.Add(11 * time.Hour)
	l, err := sim.History(seed, day, to, faults...)
	if err != nil {
		t.Fatal(err)
	}
	cfg, err := rules.LoadConfig(nil)
	if err != nil {
		t.Fatal(err)
	}
	cfg.Zone = time.Local
	played := replay.New(cfg)
	for at := day; at.Before(to); {
		at = at.Add(10 * time.Minute)
		for _, raw := range l.Advance(at) {
			if _, _, err := played.Take(t.Context(), raw); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := played.Finish(t.Context()); err != nil {
		t.Fatal(err)
	}
	for _, r := range played.Runs() {
		if r.Unit == "tern-street/"+storyUnit && r.Kind == lab.KindOfRunStrip && r.PushErrorStops != nil {
			if r.Verdict == nil {
				t.Error("the strip's run has no verdict")
			}
			return *r.PushErrorStops
		}
	}
	t.Fatal("plover ran no control strip that day")
	return 0
}
