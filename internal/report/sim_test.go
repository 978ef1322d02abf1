package report

import (
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/simulation/sim"
)

// Simulated runs, end to end: the run in the report is the one that was
// judged live, the report is the same from its record, and what to look for
// is named.
func TestReportsOfSimulatedRuns(t *testing.T) {
	const s = time.Second
	for _, tt := range labtest.Few([]struct {
		name    string
		process string
		fault   sim.Fault
		code    string // a reason that must be there, "" none
		step    string
		look    []string // words of what to look for, or of the remedy
	}{
		{"no fault", "c41", sim.Fault{}, "", "", nil},
		{"warm developer", "c41", sim.Fault{Kind: sim.BathOffset, Step: "developer", After: 20 * s, Strength: 2.5}, "bath-warm", "developer", []string{"Denser", "crossover"}},
		{"cool developer", "c41", sim.Fault{Kind: sim.BathOffset, Step: "developer", After: 20 * s, Strength: -2.5}, "bath-cool", "developer", []string{"Thinner"}},
		{"long developer", "c41", sim.Fault{Kind: sim.LongStep, Step: "developer", Strength: 40}, "step-long", "developer", []string{"Denser"}},
		{"short bleach", "c41", sim.Fault{Kind: sim.ShortStep, Step: "bleach", Strength: 250}, "step-short", "bleach", []string{"Silver left", "again", "before drying"}},
		{"short fixer", "bw", sim.Fault{Kind: sim.ShortStep, Step: "fixer", Strength: 200}, "step-short", "fixer", []string{"yellow stain", "fix again"}},
		{"skipped bleach", "e6-7", sim.Fault{Kind: sim.SkippedStep, Step: "bleach"}, "step-skipped", "bleach", []string{"muddy", "bleach and fix again"}},
		{"no rotation", "bw", sim.Fault{Kind: sim.NoRotation, Step: "developer", After: 60 * s, For: 60 * s}, "rotation", "developer", []string{"Streaks"}},
		{"warm first developer", "e6-3", sim.Fault{Kind: sim.BathOffset, Step: "first-developer", After: 20 * s, Strength: 2}, "bath-warm", "first-developer", []string{"too light"}},
		{"power cut in developer", "c41", sim.Fault{Kind: sim.PowerCut, Step: "developer", After: 60 * s, For: 90 * s}, "outage", "developer", []string{"unevenly"}},
		{"turned by hand", "c41", sim.Fault{Kind: sim.HandTurned, Step: "developer", After: 70 * s, For: 60 * s}, "outage", "developer", []string{"unevenly"}},
		{"hot dryer", "c41", sim.Fault{Kind: sim.HotDryer, Step: "drying", Strength: 25, Ramp: 60 * s}, "dryer", "", []string{"curl"}},
		{"network loss", "c41", sim.Fault{Kind: sim.NetworkLoss, Step: "developer", After: 60 * s, For: 60 * s}, "missing-evidence", "developer", []string{"Not all data was received"}},
		{"late messages", "c41", sim.Fault{Kind: sim.Late, Strength: 0.1, Ramp: 8 * s, For: 900 * s}, "", "", nil},
	}, 4) {
		t.Run(tt.name, func(t *testing.T) {
			var faults []sim.Fault
			if tt.fault.Kind != "" {
				tt.fault.Run = 1
				faults = append(faults, tt.fault)
				if tt.fault.Kind == sim.HandTurned {
					faults = append(faults, sim.Fault{Kind: sim.PowerCut, Run: 1, Step: "developer", After: 60 * s, For: 90 * s})
				}
			}
			w := simulate(t, sim.UnitPlan{Processes: []string{tt.process}, Runs: []sim.RunPlan{{Process: tt.process}}}, faults, 7, 110*time.Minute)
			ev := w.evidence(t, 0)
			m := made(t, ev)
			live := w.runs[ev.RunName]
			got := m.Report.Run
			live.Alerts, got.Alerts = nil, nil // those of the report are the store's
			sameJSON(t, "the run live and in the report", live, got)
			sameJSON(t, "the report and the one from its record", m, made(t, again(t, ev)))
			if tt.fault.Kind == sim.HandTurned && len(m.Report.Timeline.ByHand) != 1 {
				t.Errorf("turned by hand: %+v", m.Report.Timeline.ByHand)
			}
			found := false
			for _, r := range m.Report.Run.Reasons {
				t.Logf("%s %s: %s", r.Code, r.Step, r.Text)
				found = found || r.Code == tt.code && r.Step == tt.step
			}
			if tt.code == "" {
				if len(m.Report.Look) > 0 {
					t.Errorf("a run without fault has something to look for: %+v", m.Report.Look)
				}
				return
			}
			if !found {
				t.Fatalf("no reason %s in %s", tt.code, tt.step)
			}
			for _, l := range m.Report.Look {
				if l.Code != tt.code || l.Step != tt.step {
					continue
				}
				for _, word := range tt.look {
					if !strings.Contains(l.Look+" "+l.Remedy, word) {
						t.Errorf("%s %s: %q is not said: %s / %s", l.Code, l.Step, word, l.Look, l.Remedy)
					}
				}
				return
			}
			t.Errorf("nothing to look for is named for %s in %s", tt.code, tt.step)
		})
	}
}

// A later run, made from its own evidence and the fold's state before it, is
// the one that was judged live.
func TestLaterRunFromTheStateBeforeIt(t *testing.T) {
	const s = time.Second
	plan := sim.UnitPlan{Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41"}, {Process: "c41"}, {Process: "c41"}}}
	w := simulate(t, plan, []sim.Fault{
		{Kind: sim.PowerCut, Run: 2, Step: "developer", After: 60 * s, For: 200 * s}, // it learns how it cools
		{Kind: sim.Restart, Run: 3, Step: "developer", After: 60 * s, For: 60 * s},
	}, 11, 4*time.Hour)
	for n := 1; n < 3; n++ {
		ev := w.evidence(t, n)
		run := w.runs[ev.RunName]
		if ev.Before = w.before[run.ID]; ev.Before == nil {
			t.Fatalf("there is no state before run %d", n+1)
		}
		ev.Messages = slices.DeleteFunc(slices.Clone(ev.Messages), func(m lab.Message) bool {
			return m.At.Before(run.StartedAt.Add(-10*time.Minute)) || m.At.After(run.EndedAt.Add(5*time.Minute))
		})
		m := made(t, again(t, ev))
		got := m.Report.Run
		got.Alerts, run.Alerts = nil, nil
		sameJSON(t, "the run live and in the report", run, got)
		if len(m.Trace) == 0 || m.Report.Timeline.From.Time.IsZero() {
			t.Error("no trace")
		}
	}
}
