package rules

import (
	"fmt"
	"slices"
	"testing"

	"wetside/internal/lab"
)

// refuses plays messages of which some are refused: those are in quarantine
// with an envelope that can be read, and not in the store.
func (b *bench) refuses(msgs []lab.Message, which func(m *lab.Message) bool, envelope bool, late float64) *bench {
	var after []lab.Arrival
	for i := range msgs {
		m := msgs[i]
		if m.Will || !which(&m) {
			b.play(msgs[i : i+1])
			continue
		}
		q := &lab.Quarantined{Received: m.Received, Topic: lab.Topic(m.Unit, m.Channel), Reason: "range: bath_c must be -300 to 2,000; got 5,000",
			Unit: m.Unit, Payload: fmt.Appendf(nil, `{"at":"x","boot":%q,"seq":%d,"bath_c":5000}`, m.Boot, m.Seq)}
		if !envelope {
			q.Payload = []byte("not json")
		}
		if late > 0 {
			q.Received = q.Received.Add(sec(late))
			after = append(after, lab.Arrival{Refused: q})
			continue
		}
		b.refuse(q)
	}
	for _, a := range after {
		b.refuse(a.Refused)
	}
	return b
}

func (b *bench) refuse(q *lab.Quarantined) {
	b.tick(q.Received)
	b.clock = maxTime(b.clock, q.Received)
	b.no++
	q.Arrival = b.no
	b.note(b.e.Feed(b.tb.Context(), []lab.Arrival{{Refused: q}}, b))
}

// Contract, section 2.1: a message that was refused leaves no gap where its
// envelope can be read, and nothing in it is judged.
func TestRefusedLeavesNoGap(t *testing.T) {
	third := func(m *lab.Message) bool { return m.Temp != nil && m.Seq%7 == 0 }
	draining := func(m *lab.Message) bool { return m.Step != nil && m.Step.Phase == lab.PhaseDraining && m.Step.N == 1 }
	inBath := func(m *lab.Message) bool {
		return m.Step != nil && m.Step.Phase == lab.PhaseInBath && m.Step.N == 1 && m.At.Sub(nine) < sec(25)
	}
	for _, tt := range []struct {
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
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := c41Run(t, nil)
			b := newBench(t).refuses(s.messages(), tt.which, tt.envelope, tt.late)
			for _, o := range b.found {
				if o.Rule != RuleTelemetryRefused {
					t.Errorf("%s was raised", line(o))
				}
			}
			r := b.runs[RunID(s.unit, "r1")]
			if got := len(r.Gaps) > 0; got != tt.gaps {
				t.Errorf("gaps %v, want some: %v", r.Gaps, tt.gaps)
			}
			b.judged(t, "r1", tt.verdict, tt.reasons...)
			b.sameAgain(t, s)
		})
	}
}

// sameAgain folds the run once more from the state before it, and compares.
func (b *bench) sameAgain(t *testing.T, s *script) {
	t.Helper()
	id := RunID(s.unit, "r1")
	version, blob, ok := b.e.Before(s.unit, id)
	if !ok {
		t.Fatal("the state before the run is not kept")
	}
	again := newBench(t)
	if err := again.e.Restore(s.unit, version, blob); err != nil {
		t.Fatal(err)
	}
	again.play(b.list)
	if x, y := reasons(b.runs[id]), reasons(again.runs[id]); !slices.Equal(x, y) || len(b.runs[id].Gaps) != len(again.runs[id].Gaps) {
		t.Errorf("folded again from its beginning: reasons %v, gaps %v; want %v, %v", y, again.runs[id].Gaps, x, b.runs[id].Gaps)
	}
}
