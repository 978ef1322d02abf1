package timeline_test

import (
	"testing"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/rules"
)

// Contract, section 2.1: a message that was refused leaves no gap where its
// envelope can be read, and nothing in it is judged.
func TestRefusedLeavesNoGap(t *testing.T) {
	third := func(m *lab.Message) bool { return m.Temp != nil && m.Seq%7 == 0 }
	draining := func(m *lab.Message) bool { return m.Step != nil && m.Step.Phase == lab.PhaseDraining && m.Step.N == 1 }
	inBath := func(m *lab.Message) bool {
		return m.Step != nil && m.Step.Phase == lab.PhaseInBath && m.Step.N == 1 && m.At.Sub(nine) < lab.Seconds(25)
	}
	for _, tt := range labtest.Few([]struct {
		name     string
		which    func(m *lab.Message) bool
		envelope bool
		late     float64
		gaps     bool
		verdict  string
		reasons  []string
	}{
		{name: "readings now and then", which: third, envelope: true, verdict: lab.InControl},
		{name: "they are told after the fact: what was a hole is none", which: third, envelope: true, late: 2000, verdict: lab.InControl},
		{name: "without an envelope they are holes", which: third, gaps: true, verdict: lab.InControl},
		{name: "the beginning of the developer: not heard whole", which: inBath, envelope: true, verdict: lab.Inspect, reasons: []string{"missing-evidence developer"}},
		{name: "a draining: when it ended is not certain", which: draining, envelope: true, verdict: lab.Inspect,
			reasons: []string{"step-long developer", "missing-evidence developer"}},
	}, 3) {
		t.Run(tt.name, func(t *testing.T) {
			s := c41Run(t, nil)
			b := newBench(t).Refuses(s.Messages(), tt.which, tt.envelope, tt.late)
			for _, o := range b.Found {
				if o.Rule != rules.RuleTelemetryRefused {
					t.Errorf("%s was raised", line(o))
				}
			}
			r := b.Runs[rules.RunID(s.Unit, "r1")]
			if got := len(r.Gaps) > 0; got != tt.gaps {
				t.Errorf("gaps %v, want some: %v", r.Gaps, tt.gaps)
			}
			b.Judged(t, "r1", tt.verdict, tt.reasons...)
			b.SameAgain(t, s)
		})
	}
}
