package rules_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"wetside/internal/lab"
	"wetside/rules"
	"wetside/rules/rulestest"
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
		{"a good run", func(s *script) { s.C41(0) }, "done", "in-control", nil},
		{"developer out of its limits, push error small", func(s *script) {
			s.C41(0)
			s.Warm(100, 110, 38.1)
		}, "done", "inspect", []string{"bath-warm developer"}},
		{"push error beyond the second edge", func(s *script) {
			s.C41(0)
			s.Warm(52, 215, 39.0) // 2.9^0.12 = 1.136 for 160 s: 22 s: 0.73 stop
		}, "done", "out-of-control", []string{"bath-warm developer"}},
		{"a hole of over 10 s in the developer", func(s *script) { s.C41(0); s.Cut(100, 115) }, "done", "inspect",
			[]string{"missing-evidence developer"}},
		{"a hole in the bleach is none", func(s *script) { s.C41(0); s.Cut(400, 415) }, "done", "in-control", nil},
		{"joined in the developer", func(s *script) { s.C41(0); s.Cut(-1, 60) }, "done", "inspect",
			[]string{"missing-evidence developer", "missing-evidence "}},
		{"a probe that falls silent", func(s *script) {
			s.C41(0)
			s.Without(func(e *event) bool { return e.M.Temp != nil && e.At > 100 && e.At < 120 })
		}, "done", "inspect", []string{"missing-evidence developer"}},
		{"no rotation", func(s *script) {
			s.C41(0)
			for _, e := range s.Events {
				if e.M.Motion != nil && e.At > 100 && e.At < 120 {
					*e.M.Motion.RPM = 0
				}
			}
		}, "done", "inspect", []string{"rotation developer"}},
		{"bleach skipped", func(s *script) {
			s.C41(0)
			s.Without(func(e *event) bool { return e.M.Step != nil && e.M.Step.Step == "bleach" })
		}, "done", "out-of-control", []string{"step-skipped bleach"}},
		{"no final rinse: no later step tells, the verdict does", func(s *script) {
			s.C41(0)
			s.Without(func(e *event) bool { return e.M.Step != nil && e.M.Step.Step == "final-rinse" })
		}, "done", "out-of-control", []string{"step-skipped final-rinse"}},
		{"aborted", func(s *script) {
			dev(s, 295, always(37.8))
			s.Phase(300, "aborted", "", 0)
		}, "aborted", "inspect", []string{"step-skipped bleach"}},
		{"idle is seen", func(s *script) {
			dev(s, 295, always(37.8))
			s.Phase(310, "idle", "", 0)
		}, "lost", "inspect", []string{"missing-evidence "}},
		{"another run starts", func(s *script) {
			dev(s, 295, always(37.8))
			s.Run = "r2"
			s.Phase(310, "heating", "developer", 1)
		}, "lost", "inspect", []string{"missing-evidence "}},
	} {
		for _, kind := range []string{lab.KindOfRunFilm, lab.KindOfRunStrip} {
			t.Run(tt.name+", "+kind, func(t *testing.T) {
				s := newScript("c41")
				s.Kind = kind
				tt.write(s)
				b := newBench(t).Play(s.Messages())
				r := b.Runs[rules.RunID(s.Unit, "r1")]
				verdict := "null"
				if r.Verdict != nil {
					verdict = *r.Verdict
				}
				if r.Outcome != tt.outcome || verdict != tt.verdict || !slices.Equal(rulestest.Reasons(r), tt.reasons) {
					t.Errorf("%s, %s, %q; want %s, %s, %q", r.Outcome, verdict, rulestest.Reasons(r), tt.outcome, tt.verdict, tt.reasons)
				}
				for _, o := range b.Found {
					// a drain that does not end is the floor's business
					if kind == lab.KindOfRunStrip && !(o.Rule == rules.RulePhaseOverdue && o.Subject == "draining") {
						t.Errorf("alerts %q: a strip is nobody's film", b.Lines())
					}
				}
			})
		}
	}
}

// Six hours of nothing: the run is lost; what comes later from a buffer shows
// that it went on.
func TestLostAndFound(t *testing.T) {
	s := newScript("c41")
	end := s.C41(0)
	s.Buffered(400, 7*3600)
	msgs := s.Messages()
	i := slices.IndexFunc(msgs, func(m lab.Message) bool { return m.Received.After(moment(3600)) })
	b := newBench(t).Play(msgs[:i])
	b.Ticks *= 60
	b.Until(400 + 6*3600 + 300)
	if r := b.Runs[rules.RunID(s.Unit, "r1")]; r.Outcome != "lost" {
		t.Fatalf("outcome %s after six hours of silence", r.Outcome)
	}
	b.Play(msgs[i:])
	b.Note(b.E.Flush(t.Context(), b))
	r := b.Runs[rules.RunID(s.Unit, "r1")]
	if r.Outcome != "done" || r.Verdict == nil || *r.Verdict != "in-control" || !r.EndedAt.Equal(moment(end)) {
		t.Errorf("%s at %s, want done", r.Outcome, r.EndedAt)
	}
}

// The figures of a step against the formula of sheets.md, by hand.
func TestStepFigures(t *testing.T) {
	s := newScript("c41")
	s.C41(0)
	s.Warm(0, 215, 38.8)
	b := newBench(t).Play(s.Messages())
	st := b.Runs[rules.RunID(s.Unit, "r1")].Steps[0]
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
