package rules_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/rules"
)

// runsOf are n whole runs of C-41, one after the other, with the bleach going
// to recovery and all else to waste; each fill takes 5 s. It gives when each
// of them begins.
func runsOf(s *script, n int) (starts []float64) {
	s.Add(-5, lab.ChannelStatus, lab.Message{Status: &lab.Status{Online: true, Containers: map[string]lab.ContainerSpec{
		"waste": {Role: lab.RoleWaste, CapacityL: 60}, "waste-2": {Role: lab.RoleWaste, CapacityL: 60}, "wash": {Role: lab.RoleWash, CapacityL: 60},
		"recovery-bleach": {Role: lab.RoleRecovery, CapacityL: 60}, "recovery-fixer": {Role: lab.RoleRecovery, CapacityL: 60}}}})
	at := 0.0
	for i := range n {
		s.Run = fmt.Sprintf("r%d", i+1)
		starts = append(starts, at)
		at = s.C41(at) + 60
	}
	s.Drains("bleach", "recovery-bleach", 0, at)
	s.Drains("fixer", "recovery-fixer", 0, at)
	s.Drains("developer", "waste", 0, at)
	return starts
}

// Contract, section 2, fill-slow: over 1.5 times and 10 s longer than usual,
// here 5 s: from 15 s on. The fixer of the third run is in at its beginning
// plus 860 and fills from 855.
func TestFillSlow(t *testing.T) {
	const bathIn = 20 + 215 + 410 + 215
	for _, tt := range labtest.Few([]struct {
		name string
		runs int
		more float64 // seconds longer
		want string  // raised so many seconds into the fill
		do   func(s *script, from float64)
	}{
		{name: "usual", runs: 3},
		{name: "10 s longer to the second is not yet", runs: 3, more: 10},
		{name: "a second more", runs: 3, more: 11, want: "high 15"},
		{name: "in the first run nothing is usual", runs: 1, more: 12, do: func(*script, float64) {}},
		{name: "another volume is another class", runs: 3, more: 12, do: func(s *script, from float64) {
			for _, e := range s.Events {
				if e.M.Step != nil && e.M.Step.Step == "fixer" && e.At >= from-20 {
					e.M.Step.FillML = new(900.0)
				}
			}
		}},
		{name: "the mains were away", runs: 3, more: 12, do: func(s *script, from float64) {
			s.Power(from+2, "battery", "lost", 90, 0)
			s.Power(from+10, "mains", "restored", 0, 8)
		}},
		{name: "on the battery", runs: 3, more: 12, do: func(s *script, from float64) { s.Power(from+2, "battery", "lost", 90, 0) }},
		{name: "a flush", runs: 3, more: 12, do: func(s *script, from float64) {
			for _, e := range s.Events {
				if e.M.Step != nil && e.M.Step.Run == "r3" {
					e.M.Step.Kind = "flush"
				}
			}
		}},
	}, 4) {
		t.Run(tt.name, func(t *testing.T) {
			s := newScript("c41")
			starts := runsOf(s, tt.runs)
			in := starts[tt.runs-1] + bathIn
			from := in - 5 - tt.more
			if tt.more > 0 {
				s.Slower("fixer", in-10, tt.more)
			}
			if tt.do != nil {
				tt.do(s, from)
			}
			b := newBench(t).Play(s.Messages())
			got := ""
			for _, o := range b.Found {
				if o.Rule == rules.RuleFillSlow {
					got = fmt.Sprintf("%s %g", o.Priority, o.RaisedAt.Sub(nine).Seconds()-from)
					if o.Facts["usual_s"] != 5.0 || o.Facts["fill_ml"] != 500.0 || !o.ClearedAt.Equal(moment(in)) {
						t.Errorf("usual %v, %v mL, cleared %s; want 5, 500, with the end of the fill", o.Facts["usual_s"], o.Facts["fill_ml"], o.ClearedAt)
					}
				}
			}
			if got != tt.want {
				t.Errorf("%q, want %q", got, tt.want)
			}
		})
	}
}

// It is told while it still fills, not only when it is over.
func TestFillSlowIsTimely(t *testing.T) {
	s := newScript("c41")
	in := runsOf(s, 3)[2] + 860
	s.Slower("fixer", in-10, 14)
	s.Phase(in-2, lab.PhaseFilling, "fixer", 4)
	b := heardBy(t, s, in-1)
	b.Says(rules.RuleFillSlow, "Fixer fills for longer than 15 s; 500 mL usually take 5 s", "finish it by hand")
	if o := b.The(rules.RuleFillSlow); !o.ClearedAt.IsZero() || o.FoundAfterwards {
		t.Error("it is over, or was found afterwards")
	}
}

// A few slow fills do not become the usual, a pump that stays slow does.
func TestFillUsualIsRobust(t *testing.T) {
	told := func(slow func(i int) bool) (n int) {
		s := newScript("c41")
		for i, from := range runsOf(s, 24) {
			if i >= 4 && slow(i) {
				s.Slower("fixer", from+850, 12)
			}
		}
		for _, o := range newBench(t).Play(s.Messages()).Found {
			if o.Rule == rules.RuleFillSlow {
				n++
			}
		}
		return n
	}
	if n := told(func(i int) bool { return i%8 == 0 }); n != 2 {
		t.Errorf("told %d times of two slow fills", n)
	}
}

// Contract, section 2, wrong-destination.
func TestWrongDestination(t *testing.T) {
	const fixer = 860 + 390 // the fixer's draining in a run
	const bleach = 235 + 390
	for _, tt := range labtest.Few([]struct {
		name string
		runs int
		do   func(s *script, starts []float64)
		want []string // step, container, run
	}{
		{name: "as usual", runs: 4},
		{name: "waste in place of recovery", runs: 3, do: func(s *script, at []float64) { s.Drains("bleach", "waste", at[2], at[2]+2000) },
			want: []string{"bleach waste 3"}},
		{name: "recovery in place of waste", runs: 3, do: func(s *script, at []float64) {
			s.Drains("developer", "recovery-fixer", at[2], at[2]+2000)
		}, want: []string{"developer recovery-fixer 3"}},
		{name: "bleach with fixer", runs: 3, do: func(s *script, at []float64) { s.Drains("fixer", "recovery-bleach", at[2], at[2]+2000) },
			want: []string{"fixer recovery-bleach 3"}},
		{name: "another waste container is the same stream", runs: 3, do: func(s *script, at []float64) { s.Drains("developer", "waste-2", at[2], at[2]+2000) }},
		{name: "one run is no usual", runs: 2, do: func(s *script, at []float64) { s.Drains("bleach", "waste", at[1], at[1]+2000) }},
		{name: "two that differ are none", runs: 3, do: func(s *script, at []float64) { s.Drains("bleach", "waste", at[1], at[1]+1700) }},
		{name: "what is not said is not guessed", runs: 3, do: func(s *script, at []float64) { s.Drains("bleach", "", at[2], at[2]+2000) }},
		{name: "changed on purpose: told, then learned", runs: 6, do: func(s *script, at []float64) { s.Drains("bleach", "waste", at[2], 1e9) },
			want: []string{"bleach waste 3", "bleach waste 4"}},
		{name: "an aborted run teaches nothing", runs: 3, do: func(s *script, at []float64) {
			for _, e := range s.Events {
				if e.M.Step != nil && e.M.Step.Run == "r2" && e.M.Step.Phase == lab.PhaseDone {
					e.M.Step.Phase = lab.PhaseAborted
				}
			}
			s.Drains("bleach", "waste", at[2], at[2]+2000)
		}},
	}, 4) {
		t.Run(tt.name, func(t *testing.T) {
			s := newScript("c41")
			starts := runsOf(s, tt.runs)
			if tt.do != nil {
				tt.do(s, starts)
			}
			b := newBench(t).Play(s.Messages())
			var got []string
			for _, l := range b.Lines() {
				if rest, ok := strings.CutPrefix(l, rules.RuleWrongDestination+" "); ok {
					step, rest, _ := strings.Cut(rest, "/")
					to, rest, _ := strings.Cut(rest, " ")
					var raised float64
					if _, err := fmt.Sscanf(rest, "high %g-", &raised); err != nil {
						t.Fatal(err, l)
					}
					run := 0
					for i, from := range starts {
						for _, drain := range []float64{215, bleach, fixer} {
							if raised == from+drain {
								run = i + 1
							}
						}
					}
					got = append(got, fmt.Sprintf("%s %s %d", step, to, run))
				}
			}
			if !slices.Equal(got, tt.want) {
				t.Errorf("%q, want %q", got, tt.want)
			}
		})
	}
	s := newScript("c41")
	at := runsOf(s, 3)
	s.Drains("fixer", "recovery-bleach", at[2], at[2]+2000)
	heardBy(t, s, at[2]+fixer+1).Says(rules.RuleWrongDestination, "Fixer drains into recovery (bleach); it usually goes into recovery (fixer)",
		"Never mix waste streams", "gloves, goggles")
}
