package rules_test

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/rules"
)

// Contract, section 2: roll-mismatch.
func TestRollMismatch(t *testing.T) {
	u := newScript("c41").Unit
	run := rules.RunID(u, "r1")
	roll := func(check, process string, push float64) lab.Roll {
		return lab.Roll{TwinCheck: check, Process: process, Push: push}
	}
	load := func(at float64, runID string, rolls ...lab.Roll) lab.Entry {
		return enters(u, at, lab.EntryLoad, runID, lab.Load{Process: "c41", Rolls: rolls})
	}
	for _, tt := range []struct {
		name    string
		write   func(s *script)
		entries []lab.Entry
		want    []string
		says    string
	}{
		{name: "all rolls fit", entries: []lab.Entry{load(-30, "", roll("1", "c41", 0), roll("2", "", 0))}},
		{name: "one wants a push: urgent, high once the first bath is in", entries: []lab.Entry{load(-30, "", roll("1", "c41", 0), roll("48213", "c41", 1))},
			want: []string{"roll-mismatch  high 1-1595"}, says: "Roll 48213 is for C-41 push 1; the unit is set to C-41 normal"},
		{name: "another process", entries: []lab.Entry{load(-30, "", roll("7", "e6-7", 0))},
			want: []string{"roll-mismatch  high 1-1595"}, says: "Roll 7 is for E-6 normal; the unit is set to C-41 normal"},
		{name: "e6 is done by e6-7: c41 by c41-kit", write: func(s *script) {
			for _, e := range s.Events {
				if e.M.Step != nil && e.M.Step.Process != "" {
					e.M.Step.Process = "c41-kit"
				}
			}
		}, entries: []lab.Entry{load(-30, "", roll("7", "c41", 0))}},
		{name: "taken out before the first bath", entries: []lab.Entry{load(-30, "", roll("7", "e6-7", 0)),
			enters(u, 10, lab.EntryRolls, run, lab.RollsChange{Remove: []string{"7"}})},
			want: []string{"roll-mismatch  urgent 1-10"}},
		{name: "loaded while the run goes on", entries: []lab.Entry{load(100, run, roll("7", "e6-7", 0))},
			want: []string{"roll-mismatch developer high 100-1595"}},
		{name: "the load was taken back", entries: []lab.Entry{load(-30, "", roll("7", "e6-7", 0)), enters(u, -10, lab.EntryUnload, "", nil)}},
		{name: "a flush carries no film", write: func(s *script) {
			for _, e := range s.Events {
				if e.M.Step != nil {
					e.M.Step.Kind = "flush"
				}
			}
		}, entries: []lab.Entry{load(-30, "", roll("7", "e6-7", 0))}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := played(t, c41Run(t, tt.write), tt.entries...)
			b.Want(tt.want...)
			for _, o := range b.Found {
				if tt.says != "" && o.Message != tt.says {
					t.Errorf("says %q, want %q", o.Message, tt.says)
				}
			}
			if r := b.Runs[run]; len(tt.want) > 0 && strings.HasSuffix(tt.want[0], "1595") &&
				(len(r.Reasons) == 0 || r.Reasons[0].Code != "wrong-process" || *r.Verdict != lab.Inspect) {
				t.Errorf("verdict %s by %v, want inspect by wrong-process", *r.Verdict, r.Reasons)
			}
		})
	}
}

// What a load carries is in the run's record, and in the view before it.
func TestLoadOfTheRun(t *testing.T) {
	s := c41Run(t, nil)
	run := rules.RunID(s.Unit, "r1")
	b := newBench(t)
	b.Due = []lab.Entry{enters(s.Unit, -20, lab.EntryLoad, "", lab.Load{Process: "c41", Rolls: []lab.Roll{{TwinCheck: "1"}}}),
		enters(s.Unit, 400, lab.EntryRolls, run, lab.RollsChange{Add: []lab.Roll{{TwinCheck: "2"}}})}
	b.EnterUntil(moment(-10))
	v, _ := b.E.View(s.Unit, moment(-10))
	if v.Load == nil || len(v.Load.Rolls) != 1 {
		t.Fatalf("the view shows load %v before the unit spoke, want one roll", v.Load)
	}
	b.Play(s.Messages())
	var checks []string
	for _, r := range b.Runs[run].Rolls {
		checks = append(checks, r.TwinCheck)
	}
	if !slices.Equal(checks, []string{"1", "2"}) {
		t.Errorf("rolls %v, want 1 and 2", checks)
	}
	if v, _ := b.E.View(s.Unit, b.Clock); v.Load != nil {
		t.Errorf("load %v is still there after its run", v.Load)
	}
}

// Containers without a sensor go by what people say; a sensor knows better.
func TestContainerEvents(t *testing.T) {
	level := func(b *bench, u lab.UnitID, name string) string {
		v, _ := b.E.View(u, b.Clock)
		for _, c := range v.Containers {
			if c.Name == name && c.Litres != nil {
				return fmt.Sprintf("%.1f", *c.Litres)
			}
		}
		return "unknown"
	}
	u := newScript("c41").Unit
	l := 9.0
	set := enters(u, -30, lab.EntryContainer, "", lab.ContainerEvent{Container: "waste", What: lab.SetLevel, Litres: &l})
	emptied := enters(u, 1640, lab.EntryContainer, "", lab.ContainerEvent{Container: "waste", What: lab.Emptied})
	for _, tt := range []struct {
		name    string
		write   func(s *script)
		entries []lab.Entry
		want    string
	}{
		{"set, then a run of six half litres", nil, []lab.Entry{set}, "12.0"},
		{"emptied after it, though the unit says nothing more", nil, []lab.Entry{set, emptied}, "0.0"},
		{"that taken back", nil, []lab.Entry{set, emptied, enters(u, 1700, lab.EntryTakesBack, "", lab.TakesBack{ID: emptied.ID})}, "12.0"},
		{"a sensor that talks knows better", func(s *script) { s.Level(1599, "waste", 14) }, []lab.Entry{set, emptied}, "14.0"},
		{"one that fell silent does not", func(s *script) { s.Level(500, "waste", 14) }, []lab.Entry{emptied}, "0.0"},
		{"nothing known", nil, nil, "unknown"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := played(t, c41Run(t, tt.write), tt.entries...)
			if got := level(b, u, "waste"); got != tt.want {
				t.Errorf("waste holds %s l, want %s", got, tt.want)
			}
		})
	}
}

// A run that a person says was a flush is judged as one, afterwards too.
func TestRunKindAfterwards(t *testing.T) {
	s := c41Run(t, func(s *script) { s.Warm(100, 160, 39) })
	run := rules.RunID(s.Unit, "r1")
	b := played(t, s)
	if len(b.Found) != 1 || *b.Runs[run].Verdict == lab.InControl {
		t.Fatalf("found %v, verdict %s", b.Lines(), *b.Runs[run].Verdict)
	}
	b = played(t, s, enters(s.Unit, 3000, lab.EntryKindOfRun, run, lab.KindChange{Kind: "flush"}))
	b.Want()
	if r := b.Runs[run]; r.Verdict != nil || r.Kind != "flush" {
		t.Errorf("kind %s, verdict %v, want a flush without one", r.Kind, r.Verdict)
	}
}

// Figures that people set count for the runs that begin after them.
func TestFigures(t *testing.T) {
	s := c41Run(t, nil)
	run := rules.RunID(s.Unit, "r1")
	u := s.Unit
	within := 0.02
	for _, tt := range []struct {
		name    string
		entry   lab.Entry
		equiv   float64 // of the developer
		stops   float64
		half    float64 // of the range, by the probe
		sheet   *float64
		verdict string
	}{
		// IEC 60751, class B at 37.8 °C: 0.30 + 0.005 x 37.8 = 0.489 °C
		{name: "none: the probe is of class B", entry: enters(u, -9, lab.EntryNote, "", lab.Note{Text: "-"}),
			equiv: 195, stops: 0, half: 195 * (math.Pow(3.1, 0.0489) - 1) / 30, verdict: "in-control"},
		// sheets.md: 2.9 ^ (0.1/10) of 195 s
		{name: "probe checked: its offset is added", entry: enters(u, -9, lab.EntryProbe, "", lab.ProbeCheck{OffsetC: 0.1, UncertaintyC: &within}),
			equiv: 195 * math.Pow(2.9, 0.01), stops: 195 * (math.Pow(2.9, 0.01) - 1) / 30,
			half: 195 * (math.Pow(3.1, 0.012) - math.Pow(2.9, 0.01)) / 30, verdict: "in-control"},
		{name: "checked after the run began: not for this run", entry: enters(u, 30, lab.EntryProbe, "", lab.ProbeCheck{OffsetC: 1}),
			equiv: 195, stops: 0, half: 195 * (math.Pow(3.1, 0.0489) - 1) / 30, verdict: "in-control"},
		{name: "house aim: against it, the sheet's beside it", entry: enters(u, -9, lab.EntryHouseAim, "", lab.HouseAim{Process: "c41", Step: "developer", EquivalentS: 183}),
			equiv: 195, stops: 12.0 / 30, half: 195 * (math.Pow(3.1, 0.01) - 1) / 30, sheet: new(float64), verdict: "inspect"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := played(t, s, tt.entry).Runs[run]
			st := r.Steps[0]
			if math.Abs(*st.EquivalentS-tt.equiv) > 0.02 || math.Abs(*st.PushErrorStops-tt.stops) > 2e-3 || *r.Verdict != tt.verdict {
				t.Errorf("equivalent %g, push error %g, %s; want %g, %g, %s", *st.EquivalentS, *st.PushErrorStops, *r.Verdict, tt.equiv, tt.stops, tt.verdict)
			}
			// the sheet's push times scatter by a quarter from film to film
			want := 1.25*(tt.stops+tt.half) - tt.stops
			if half := *st.PushErrorHighStops - *st.PushErrorStops; math.Abs(half-want) > 2e-3 {
				t.Errorf("range %g above, want %g", half, want)
			}
			if (st.PushErrorSheetStops != nil) != (tt.sheet != nil) || tt.sheet != nil && math.Abs(*st.PushErrorSheetStops) > 1e-3 {
				t.Errorf("push error by the sheet %v", st.PushErrorSheetStops)
			}
		})
	}
}

// A developer that the lab chose: its own table judges. The rotary table for
// TMX in XTOL 1:1, 120 (Kodak F-32, rotary tubes, as the shipped data quotes
// it): 7 3/4 min at 68 °F, 7 1/4 min at 72 °F.
func TestDeveloperChoice(t *testing.T) {
	const c72F = 200.0 / 9
	s := newScript("bw")
	s.Phase(0, "idle", "", 0)
	s.Phase(1, "heating", "developer", 1)
	s.WholeStep(20, 410, "developer", 1, always(c72F))
	s.Phase(420, "heating", "stop-bath", 2)
	s.SetC(20)
	id := ""
	for _, d := range process.Builtin().Developers() {
		if strings.Contains(d.Name(), "XTOL 1:1") && strings.Contains(d.Name(), "TMX") && d.Format == "120" {
			id = d.ID
		}
	}
	if id == "" {
		t.Fatal("no such developer in the book")
	}
	plain := played(t, s).Runs[rules.RunID(s.Unit, "r1")]
	chosen := played(t, s, enters(s.Unit, -9, lab.EntryDeveloper, "", lab.DeveloperChoice{Process: "bw", Step: "developer", Developer: id})).Runs[rules.RunID(s.Unit, "r1")]
	if got, want := *plain.Steps[0].EquivalentS, 390*math.Pow(2.5, (c72F-20)/10); math.Abs(got-want) > 0.5 {
		t.Errorf("by the sheet's factor %g, want %g", got, want)
	}
	if got, want := *chosen.Steps[0].EquivalentS, 390*465.0/435; math.Abs(got-want) > 0.5 {
		t.Errorf("by the table %g, want %g", got, want)
	}
}

// The state before a run, fed with the run's own messages, gives the record
// again.
func TestBefore(t *testing.T) {
	s := newScript("c41")
	end := s.C41(0)
	s.Run = "r2"
	s.C41(end + 60)
	s.Warm(end+180, end+240, 38.6)
	s.Level(end+30, "waste", 8)
	entries := []lab.Entry{enters(s.Unit, -9, lab.EntryProbe, "", lab.ProbeCheck{OffsetC: 0.05}),
		enters(s.Unit, end+50, lab.EntryLoad, "", lab.Load{Process: "c41", Rolls: []lab.Roll{{TwinCheck: "5"}}})}
	b := played(t, s, entries...)
	id := rules.RunID(s.Unit, "r2")
	v, blob, ok := b.E.Before(s.Unit, id)
	if !ok {
		t.Fatal("no state before the run")
	}
	again := newBench(t)
	if err := again.E.Restore(s.Unit, v, blob); err != nil {
		t.Fatal(err)
	}
	var own []lab.Message
	for _, m := range s.Messages() {
		if m.At.After(moment(end + 60)) {
			own = append(own, m)
		}
	}
	again.Play(own)
	for _, e := range entries {
		again.Note(again.E.Feed(t.Context(), []lab.Arrival{{Entry: &e}}, again))
	}
	again.Note(again.E.Flush(t.Context(), again))
	got, _ := json.Marshal(again.Runs[id])
	want, _ := json.Marshal(b.Runs[id])
	if string(got) != string(want) {
		t.Errorf("made again\n%s\nwant\n%s", got, want)
	}
	if _, _, ok := b.E.Before(s.Unit, "nobody"); ok {
		t.Error("a state before a run that never was")
	}
}
