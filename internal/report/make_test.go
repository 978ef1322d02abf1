package report

import (
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
	"wetside/rules/timeline"
)

// Evidence that no report can be made of is refused with what is missing.
func TestEvidenceThatIsNone(t *testing.T) {
	w := simulate(t, sim.UnitPlan{Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41"}}}, nil, 7, 40*time.Minute)
	for _, tt := range []struct {
		why    string
		change func(*Evidence)
		says   string
	}{
		{"no unit", func(e *Evidence) { e.Unit = lab.UnitID{} }, "names no unit"},
		{"no run", func(e *Evidence) { e.RunName = "" }, "names no run"},
		{"no messages", func(e *Evidence) { e.Messages = nil }, "no messages"},
		{"another run", func(e *Evidence) { e.RunName = "r-99" }, `no run "r-99"`},
		{"another unit's", func(e *Evidence) { e.Unit.Unit = "heron" }, "message 1 is of tern-street/plover"},
		{"a state that does not read", func(e *Evidence) { e.Before = &State{Version: timeline.StateVersion, Blob: []byte("{")} }, "does not read"},
	} {
		ev := w.evidence(t, 0)
		tt.change(&ev)
		_, err := Make(ev)
		if err == nil || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("%s: %v; want %q", tt.why, err, tt.says)
		}
		if tt.why != "a state that does not read" && lab.KindOf(err) != lab.KindInvalid {
			t.Errorf("%s: the error is of kind %v", tt.why, lab.KindOf(err))
		}
	}
	ev := w.evidence(t, 0)
	ev.Before = &State{Version: -1, Blob: []byte("old")}
	if _, err := Make(ev); err != nil {
		t.Errorf("a state of another version: %v; want a fresh fold", err)
	}
}

// The order in which evidence is handed in changes nothing.
func TestOrderOfEvidence(t *testing.T) {
	w := simulate(t, sim.UnitPlan{Processes: []string{"bw"}, Runs: []sim.RunPlan{{Process: "bw"}}}, []sim.Fault{
		{Kind: sim.Late, Run: 1, Strength: 0.2, Ramp: 6 * time.Second, For: 10 * time.Minute}}, 9, 70*time.Minute)
	ev := w.evidence(t, 0)
	want := made(t, ev)
	slices.Reverse(ev.Messages)
	slices.Reverse(ev.Alerts)
	sameJSON(t, "reports", want, made(t, ev))
}

// A run is judged by the sheet that was kept with it, not by today's.
func TestJudgedByTheSheetOfTheTime(t *testing.T) {
	w := simulate(t, sim.UnitPlan{Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41"}}}, nil, 7, 110*time.Minute)
	ev := w.evidence(t, 0)
	s := *ev.Criteria.Sheet
	s.Name, s.Steps = "House C-41", slices.Clone(s.Steps)
	s.Steps[0].Push = &process.Push{Stops: []float64{-1, 0, 1}, Values: []float64{130, 160, 190}} // the lab's own: 195 s is a push
	ev.Criteria.Sheet = &s
	r := made(t, again(t, ev)).Report
	if r.JudgedBy.SheetName != "House C-41" || *r.Run.Verdict != lab.OutOfControl || *r.Run.PushErrorStops < 1 {
		t.Errorf("judged by %q: %v, push error %v", r.JudgedBy.SheetName, *r.Run.Verdict, *r.Run.PushErrorStops)
	}
}

// The figures that people set before a run began count, the last of each;
// what was set later or taken back does not.
func TestFiguresInForce(t *testing.T) {
	run := lab.Run{ID: "r", Process: "c41", StartedAt: later(time.Hour), EndedAt: laterPtr(2 * time.Hour)}
	set := func(id, what string, at time.Duration, v any) lab.Entry {
		e := entry(t, id, what, "", 0, v)
		e.At, e.Entered = nine.Add(at), nine.Add(at)
		return e
	}
	list := []lab.Entry{
		set("a", lab.EntryProbe, 0, lab.ProbeCheck{OffsetC: 0.3}),
		set("b", lab.EntryProbe, 10*time.Minute, lab.ProbeCheck{OffsetC: -0.12, UncertaintyC: p(0.03)}),
		set("c", lab.EntryProbe, 90*time.Minute, lab.ProbeCheck{OffsetC: 0.9}),
		set("d", lab.EntryHouseAim, 0, lab.HouseAim{Process: "c41", Step: "developer", EquivalentS: 200}),
		set("e", lab.EntryHouseAim, 0, lab.HouseAim{Process: "bw", Step: "developer", EquivalentS: 300}),
		set("f", lab.EntryContainer, 0, lab.ContainerEvent{Container: "waste", What: lab.Emptied}),
		set("g", lab.EntryContainer, 80*time.Minute, lab.ContainerEvent{Container: "wash", What: lab.ToppedUp}),
		set("h", lab.EntryLoad, 20*time.Minute, lab.Load{Process: "c41"}),
	}
	by, _ := judgedBy(list, run, Criteria{}.config())
	if by.ProbeOffsetC != -0.12 || by.ProbeWithinC != 0.03 || !by.ProbeCheckedAt.Equal(nine.Add(10*time.Minute)) {
		t.Errorf("probe: %+v", by)
	}
	if len(by.HouseAims) != 1 || by.HouseAims[0].EquivalentS != 200 {
		t.Errorf("house aims: %+v", by.HouseAims)
	}
	if by.InspectStops == nil || *by.InspectStops != 0.33 || len(by.Sources) == 0 || !slices.ContainsFunc(by.Figures, isUnconfirmed) {
		t.Errorf("sheet: %+v", by)
	}
	got := ""
	for _, e := range entriesToShow(list, run) {
		got += e.ID
	}
	if got != "bdgh" {
		t.Errorf("the report shows the entries %s, want b, d, g and h", got)
	}
}

func BenchmarkMake(b *testing.B) {
	w := simulate(b, sim.UnitPlan{Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41"}}}, nil, 7, 60*time.Minute)
	ev := w.evidence(b, 0)
	r := made(b, ev).Report
	b.Run("report", func(b *testing.B) {
		for b.Loop() {
			made(b, ev)
		}
	})
	for name, f := range map[string]func(io.Writer, lab.Report, Options) error{"text": Text, "svg": SVG, "pdf": PDF} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if err := f(io.Discard, r, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
