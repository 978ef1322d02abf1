package audit

import (
	"strings"
	"testing"
	"time"

	"wetside/internal/sim"
)

// Simulated runs, end to end: the run in the report is the one that was
// judged live, the report is the same from its record, and what to look for
// is named.
func TestReportsOfSimulatedRuns(t *testing.T) {
	const s = time.Second
	for _, tt := range []struct {
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
		{"hot dryer", "c41", sim.Fault{Kind: sim.HotDryer, Step: "drying", Strength: 25, Ramp: 60 * s}, "dryer", "", []string{"curl"}},
		{"network loss", "c41", sim.Fault{Kind: sim.NetworkLoss, Step: "developer", After: 60 * s, For: 60 * s}, "missing-evidence", "developer", []string{"Not all was heard"}},
		{"late messages", "c41", sim.Fault{Kind: sim.Late, Strength: 0.1, Ramp: 8 * s, For: 900 * s}, "", "", nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var faults []sim.Fault
			if tt.fault.Kind != "" {
				tt.fault.Run = 1
				faults = append(faults, tt.fault)
			}
			w := simulate(t, sim.UnitPlan{Processes: []string{tt.process}, Runs: []sim.RunPlan{{Process: tt.process}}}, faults, 7, 110*time.Minute)
			ev := w.evidence(t, 0)
			m := made(t, ev)
			live := w.runs[ev.RunName]
			got := m.Report.Run
			live.Alerts, got.Alerts = nil, nil // those of the report are the store's
			sameJSON(t, "the run live and in the report", live, got)
			sameJSON(t, "the report and the one from its record", m, made(t, again(t, ev)))
			found := false
			for i, r := range m.Report.Run.Reasons {
				t.Logf("%s %s: %s", r.Code, r.Step, r.Text)
				found = found || r.Code == tt.code && r.Step == tt.step
				_ = i
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
