package report

import (
	"math"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/simulation/sim"
)

// The drawing's curve is thinned out, but no extreme of any bath is lost, and
// it breaks where a bath ends.
func TestCurveKeepsExtremes(t *testing.T) {
	w := simulate(t, sim.UnitPlan{Processes: []string{"e6-7"}, Runs: []sim.RunPlan{{Process: "e6-7"}}}, []sim.Fault{
		{Kind: sim.BathOffset, Run: 1, Step: "bleach", After: 100 * time.Second, Strength: 3, For: 5 * time.Second}}, 7, 110*time.Minute)
	m := made(t, w.evidence(t, 0))
	bath := m.Report.Timeline.Bath
	rows := 0
	for _, st := range m.Report.Timeline.Steps {
		low, high := math.Inf(1), math.Inf(-1)
		for _, r := range m.Trace {
			if r.N == st.N && r.Phase == lab.PhaseInBath && r.BathC != nil {
				rows++
				low, high = min(low, *r.BathC), max(high, *r.BathC)
			}
		}
		gotLow, gotHigh := math.Inf(1), math.Inf(-1)
		for _, b := range bath {
			if b.C != nil && !b.At.Before(st.StartedAt.Time) && !b.At.After(st.EndedAt.Time) {
				gotLow, gotHigh = min(gotLow, *b.C), max(gotHigh, *b.C)
			}
		}
		if gotLow != low || gotHigh != high {
			t.Errorf("%s: the curve runs from %v to %v, the readings from %v to %v", st.Step, gotLow, gotHigh, low, high)
		}
	}
	breaks := 0
	for _, b := range bath {
		if b.C == nil {
			breaks++
		}
	}
	if len(bath) >= rows || len(bath) > 2*curvePoints || breaks < len(m.Report.Timeline.Steps)-1 {
		t.Errorf("%d points of %d readings, %d breaks", len(bath), rows, breaks)
	}
}

// What went on for how long is on the drawing: power, rotation, readings.
func TestSpansOfTheDrawing(t *testing.T) {
	const s = time.Second
	for _, tt := range labtest.Few([]struct {
		fault sim.Fault
		of    func(lab.Timeline) []lab.Span
		s     float64
	}{
		{sim.Fault{Kind: sim.PowerCut, Step: "bleach", After: 60 * s, For: 120 * s}, func(l lab.Timeline) []lab.Span { return l.Outages }, 120},
		{sim.Fault{Kind: sim.Restart, Step: "fixer", After: 60 * s, For: 120 * s}, func(l lab.Timeline) []lab.Span { return l.Outages }, 120},
		{sim.Fault{Kind: sim.NoRotation, Step: "developer", After: 60 * s, For: 70 * s}, func(l lab.Timeline) []lab.Span { return l.Still }, 70},
		{sim.Fault{Kind: sim.NetworkLoss, Step: "bleach", After: 60 * s, For: 90 * s}, func(l lab.Timeline) []lab.Span { return l.Unheard }, 90},
		{sim.Fault{Kind: sim.NoBathReading, Step: "developer", After: 60 * s, For: 60 * s}, func(l lab.Timeline) []lab.Span { return l.Unheard }, 60},
	}, 2) {
		tt.fault.Run = 1
		w := simulate(t, sim.UnitPlan{Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41"}}}, []sim.Fault{tt.fault}, 7, 110*time.Minute)
		got := tt.of(made(t, w.evidence(t, 0)).Report.Timeline)
		if len(got) != 1 {
			t.Errorf("%s: %d spans %+v, want one", tt.fault.Kind, len(got), got)
			continue
		}
		if d := got[0].To.Sub(got[0].From.Time).Seconds(); math.Abs(d-tt.s) > 8 || got[0].Label == "" {
			t.Errorf("%s for %v s: drawn for %v s as %q", tt.fault.Kind, tt.s, d, got[0].Label)
		}
	}
	healthy := simulate(t, sim.UnitPlan{Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41"}}}, nil, 7, 110*time.Minute)
	l := made(t, healthy.evidence(t, 0)).Report.Timeline
	if n := len(l.Outages) + len(l.Still) + len(l.Unheard) + len(l.ByHand); n != 0 {
		t.Errorf("a run without fault has %d marks: %+v %+v %+v", n, l.Outages, l.Still, l.Unheard)
	}
}
