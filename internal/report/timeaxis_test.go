package report

import (
	"math"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
)

// Whatever the unit's clock does, the trace runs forward, its durations are
// right, and the steps of the drawing stand where their readings are.
func TestTraceOnOneAxis(t *testing.T) {
	const s = time.Second
	for name, faults := range map[string][]sim.Fault{
		"a good clock":      nil,
		"a clock lost":      {{Kind: sim.ClockLost, Run: 1, Step: "developer", After: 60 * s, For: 60 * s}},
		"a restart":         {{Kind: sim.Restart, Run: 1, Step: "bleach", After: 60 * s, For: 90 * s}},
		"a buffer and late": {{Kind: sim.NetworkCut, Run: 1, Step: "bleach", After: 60 * s, For: 120 * s}, {Kind: sim.Reordered, Run: 1, Strength: 0.1, For: 900 * s}},
	} {
		t.Run(name, func(t *testing.T) {
			w := simulate(t, sim.UnitPlan{Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41"}}}, faults, 7, 110*time.Minute)
			m := made(t, w.evidence(t, 0))
			for i := 1; i < len(m.Trace); i++ {
				if m.Trace[i].At.Before(m.Trace[i-1].At.Time) {
					t.Fatalf("row %d at %s comes after one at %s", i, m.Trace[i].At, m.Trace[i-1].At)
				}
			}
			truth := w.truth[0]
			for i, st := range m.Report.Timeline.Steps {
				if st.StartedAt == nil || st.EndedAt == nil {
					t.Fatalf("%s has no beginning or no end", st.Step)
				}
				if took := st.EndedAt.Sub(st.StartedAt.Time).Seconds(); math.Abs(took-truth.Steps[i].TimeS) > 3 {
					t.Errorf("%s took %.1f s, in truth %.1f s", st.Step, took, truth.Steps[i].TimeS)
				}
				var first *Row
				for j := range m.Trace {
					if r := &m.Trace[j]; first == nil && r.N == st.N && r.Phase == lab.PhaseInBath && r.BathC != nil {
						first = r
					}
				}
				if first == nil || first.At.Sub(st.StartedAt.Time).Abs() > 10*s {
					t.Errorf("%s begins at %s, its first reading is %+v", st.Step, st.StartedAt, first)
				}
			}
		})
	}
}

// The equivalent time that the trace comes to is that of the record.
func TestTraceComesToTheRecordsEquivalent(t *testing.T) {
	for _, process := range []string{"c41", "e6-7", "bw"} {
		w := simulate(t, sim.UnitPlan{Processes: []string{process}, Runs: []sim.RunPlan{{Process: process}}}, []sim.Fault{
			{Kind: sim.BathOffset, Run: 1, Step: "developer", After: 60 * time.Second, Strength: 0.7}}, 7, 110*time.Minute)
		m := made(t, w.evidence(t, 0))
		last := map[int]float64{}
		for _, r := range m.Trace {
			if r.EquivalentS != nil {
				last[r.N] = *r.EquivalentS
			}
		}
		seen := 0
		for _, s := range m.Report.Run.Steps {
			if s.EquivalentS == nil {
				continue
			}
			seen++
			// the last reading lies up to one interval before the end of the step
			if d := *s.EquivalentS - last[s.N]; d < -0.5 || d > 5 {
				t.Errorf("%s %s: the record has %.2f s, the trace came to %.2f s", process, s.Step, *s.EquivalentS, last[s.N])
			}
		}
		if seen == 0 {
			t.Errorf("%s has no developer", process)
		}
	}
}
