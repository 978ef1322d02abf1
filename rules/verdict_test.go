package rules

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"wetside/internal/lab"
)

// Verdicts by sheets.md. The run of a control strip gets the same as film does
// (contract, section 2: without the film's alerts): a strip tells nothing of
// the chemistry unless its run was right.
func TestVerdict(t *testing.T) {
	for _, tt := range []struct {
		name    string
		write   func(s *script)
		outcome string
		verdict string
		reasons []string
	}{
		{"a good run", func(s *script) { s.c41(0) }, "done", "in-control", nil},
		{"developer out of its limits, push error small", func(s *script) {
			s.c41(0)
			s.warm(100, 110, 38.1)
		}, "done", "inspect", []string{"bath-warm developer"}},
		{"push error beyond the second edge", func(s *script) {
			s.c41(0)
			s.warm(52, 215, 39.0) // 2.9^0.12 = 1.136 for 160 s: 22 s: 0.73 stop
		}, "done", "out-of-control", []string{"bath-warm developer"}},
		{"a hole of over 10 s in the developer", func(s *script) { s.c41(0); s.cut(100, 115) }, "done", "inspect",
			[]string{"missing-evidence developer"}},
		{"a hole in the bleach is none", func(s *script) { s.c41(0); s.cut(400, 415) }, "done", "in-control", nil},
		{"joined in the developer", func(s *script) { s.c41(0); s.cut(-1, 60) }, "done", "inspect",
			[]string{"missing-evidence developer", "missing-evidence "}},
		{"a probe that falls silent", func(s *script) {
			s.c41(0)
			s.without(func(e *event) bool { return e.m.Temp != nil && e.at > 100 && e.at < 120 })
		}, "done", "inspect", []string{"missing-evidence developer"}},
		{"no rotation", func(s *script) {
			s.c41(0)
			for _, e := range s.events {
				if e.m.Motion != nil && e.at > 100 && e.at < 120 {
					*e.m.Motion.RPM = 0
				}
			}
		}, "done", "inspect", []string{"rotation developer"}},
		{"bleach skipped", func(s *script) {
			s.c41(0)
			s.without(func(e *event) bool { return e.m.Step != nil && e.m.Step.Step == "bleach" })
		}, "done", "out-of-control", []string{"step-skipped bleach"}},
		{"no final rinse: no later step tells, the verdict does", func(s *script) {
			s.c41(0)
			s.without(func(e *event) bool { return e.m.Step != nil && e.m.Step.Step == "final-rinse" })
		}, "done", "out-of-control", []string{"step-skipped final-rinse"}},
		{"aborted", func(s *script) {
			dev(s, 295, always(37.8))
			s.phase(300, "aborted", "", 0)
		}, "aborted", "inspect", []string{"step-skipped bleach"}},
		{"idle is seen", func(s *script) {
			dev(s, 295, always(37.8))
			s.phase(310, "idle", "", 0)
		}, "lost", "inspect", []string{"missing-evidence "}},
		{"another run starts", func(s *script) {
			dev(s, 295, always(37.8))
			s.run = "r2"
			s.phase(310, "heating", "developer", 1)
		}, "lost", "inspect", []string{"missing-evidence "}},
	} {
		for _, kind := range []string{lab.KindOfRunFilm, lab.KindOfRunStrip} {
			t.Run(tt.name+", "+kind, func(t *testing.T) {
				s := newScript("c41")
				s.kind = kind
				tt.write(s)
				b := newBench(t).play(s.messages())
				r := b.runs[RunID(s.unit, "r1")]
				verdict := "null"
				if r.Verdict != nil {
					verdict = *r.Verdict
				}
				if r.Outcome != tt.outcome || verdict != tt.verdict || !slices.Equal(reasons(r), tt.reasons) {
					t.Errorf("%s, %s, %q; want %s, %s, %q", r.Outcome, verdict, reasons(r), tt.outcome, tt.verdict, tt.reasons)
				}
				for _, o := range b.found {
					// a drain that does not end is the floor's business
					if kind == lab.KindOfRunStrip && !(o.Rule == RulePhaseOverdue && o.Subject == "draining") {
						t.Errorf("alerts %q: a strip is nobody's film", b.lines())
					}
				}
			})
		}
	}
}

// warm gives the readings of [from, to) another value.
func (s *script) warm(from, to, c float64) {
	for _, e := range s.events {
		if e.m.Temp != nil && e.at >= from && e.at < to {
			*e.m.Temp.BathC = c
		}
	}
}

// Six hours of nothing: the run is lost; what comes later from a buffer shows
// that it went on.
func TestLostAndFound(t *testing.T) {
	s := newScript("c41")
	end := s.c41(0)
	s.buffered(400, 7*3600)
	msgs := s.messages()
	i := slices.IndexFunc(msgs, func(m lab.Message) bool { return m.Received.After(moment(3600)) })
	b := newBench(t).play(msgs[:i])
	b.ticks *= 60
	b.until(400 + 6*3600 + 300)
	if r := b.runs[RunID(s.unit, "r1")]; r.Outcome != "lost" {
		t.Fatalf("outcome %s after six hours of silence", r.Outcome)
	}
	b.play(msgs[i:])
	b.note(b.e.Flush(t.Context(), b))
	r := b.runs[RunID(s.unit, "r1")]
	if r.Outcome != "done" || r.Verdict == nil || *r.Verdict != "in-control" || !r.EndedAt.Equal(moment(end)) {
		t.Errorf("%s at %s, want done", r.Outcome, r.EndedAt)
	}
}

// The figures of a step against the formula of sheets.md, by hand.
func TestStepFigures(t *testing.T) {
	s := newScript("c41")
	s.c41(0)
	s.warm(0, 215, 38.8)
	b := newBench(t).play(s.messages())
	st := b.runs[RunID(s.unit, "r1")].Steps[0]
	want := 195 * math.Pow(2.9, 0.1)
	if math.Abs(*st.EquivalentS-want) > 0.01 || math.Abs(*st.PushErrorStops-(want-195)/30) > 1e-3 {
		t.Errorf("equivalent %g, push error %g; want %g, %g", *st.EquivalentS, *st.PushErrorStops, want, (want-195)/30)
	}
	if *st.TimeS != 195 || *st.OutsideS != 195 || *st.MeanC != 38.8 {
		t.Error(fmt.Sprint(*st.TimeS, *st.OutsideS, *st.MeanC))
	}
	if *st.PushErrorLowStops >= *st.PushErrorStops || *st.PushErrorHighStops <= *st.PushErrorStops {
		t.Error("low and high do not enclose the push error")
	}
}
