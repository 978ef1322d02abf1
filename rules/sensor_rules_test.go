package rules_test

import (
	"slices"
	"testing"

	"wetside/internal/lab"
	"wetside/rules"
	"wetside/rules/rulestest"
)

// rises is a level that steps up at moments, by so much each.
func rises(base, by float64, when ...float64) at {
	return func(t float64) float64 {
		l := base
		for _, x := range when {
			l += min(max(t-x, 0), 10) / 10 * by
		}
		return l
	}
}

// The drains of a whole run of C-41 by script.c41(0): each lasts its 10 s.
var c41Drains = []float64{215, 625, 840, 1250, 1465, 1575}

// Contract, section 2: level-disagrees, drain-not-arriving, chemistry-short.
func TestSensors(t *testing.T) {
	bottle := func(s *script, litres float64) {
		s.Add(0.5, lab.ChannelStatus, lab.Message{Status: &lab.Status{Online: true, Containers: map[string]lab.ContainerSpec{
			"waste": {Role: lab.RoleWaste, CapacityL: 18.9}, "wash": {Role: lab.RoleWash, CapacityL: 18.9},
			"c41/fixer": {Role: lab.RoleBottle, CapacityL: 5}}}})
		s.Levels(2, 1600, 20, "c41/fixer", always(litres))
	}
	runScenarios(t, []scenario{
		{Name: "what is drained arrives", Write: func(s *script) {
			s.C41(0)
			s.Levels(1, 1700, 20, "waste", rises(2, 0.5, c41Drains...))
		}},
		{Name: "the sensor does not move: once, until it does", Write: func(s *script) {
			s.C41(0)
			s.Levels(1, 1700, 20, "waste", rises(2, 0.5, c41Drains[1:]...))
		}, Want: []string{"drain-not-arriving bleach/waste urgent 230-641"}},
		{Name: "somebody empties it while it drains", Write: func(s *script) {
			s.C41(0)
			s.Levels(1, 1700, 20, "waste", func(t float64) float64 {
				if t > 220 {
					return rises(0, 0.5, c41Drains[1:]...)(t)
				}
				return 6
			})
		}},
		{Name: "no sensor, no judgement", Write: func(s *script) { s.C41(0); s.Level(1, "waste", 2) }},
		{Name: "a slow leak while idle", Write: func(s *script) {
			s.Stays(0, 900, lab.PhaseIdle, "", 0)
			s.Levels(1, 900, 30, "wash", func(t float64) float64 { return 15 - 0.2*t/60 })
		}, Want: []string{"level-disagrees /wash high 241-"}},
		{Name: "emptied and topped up by hand while idle", Write: func(s *script) {
			s.Stays(0, 900, lab.PhaseIdle, "", 0)
			s.Levels(1, 900, 30, "waste", func(t float64) float64 { return max(0, 12-max(0, t-300)*0.3) })
			s.Levels(2, 900, 30, "wash", func(t float64) float64 { return min(18, 3+max(0, t-300)*0.2) })
		}},
		{Name: "a float that sticks", Write: func(s *script) {
			s.Stays(0, 900, lab.PhaseIdle, "", 0)
			for at := 1.0; at < 900; at += 30 {
				s.Level(at, "waste", 4, "waste")
			}
		}, Want: []string{"waste-nearly-full /waste high 31-", "level-disagrees /waste float high 121-"}},
		{Name: "a bottle that holds less than the step draws", Write: func(s *script) {
			s.C41(0)
			bottle(s, 0.3)
		}, Want: []string{"chemistry-short developer/c41/fixer urgent 7-865"}},
		{Name: "one that holds enough", Write: func(s *script) { s.C41(0); bottle(s, 0.6) }},
	})
}

// A fill that took less out of its bottle than it should is a reason to look.
func TestBottleGaveTooLittle(t *testing.T) {
	for _, tt := range []struct {
		name  string
		drawn float64
		want  []string
	}{
		{"all of it", 0.5, nil}, {"half of it", 0.25, []string{"chemistry bleach"}}, {"a sensor that does not move, and the waste rises", 0, nil},
	} {
		s := newScript("c41")
		s.C41(0)
		s.Add(0.5, lab.ChannelStatus, lab.Message{Status: &lab.Status{Online: true, Containers: map[string]lab.ContainerSpec{
			"waste": {Role: lab.RoleWaste, CapacityL: 18.9}, "c41/bleach": {Role: lab.RoleBottle, CapacityL: 5}}}})
		s.Levels(2, 1600, 20, "c41/bleach", func(t float64) float64 {
			if t < 235 {
				return 4
			}
			return 4 - tt.drawn
		})
		s.Levels(1, 1600, 20, "waste", rises(2, 0.5, c41Drains...))
		if got := rulestest.Reasons(played(t, s).Runs[rules.RunID(s.Unit, "r1")]); !slices.Equal(got, tt.want) {
			t.Errorf("%s: reasons %v, want %v", tt.name, got, tt.want)
		}
	}
}

// Reasons: the cause before what it causes, the weightier first.
func TestReasonsRanked(t *testing.T) {
	for _, tt := range []struct {
		name  string
		write func(s *script)
		want  []string
	}{
		{"set wrong, so it ran long", func(s *script) {
			s.SetTimes["developer"] = 240
			s.WholeStep(20, 260, "developer", 1, always(37.8))
			s.WholeStep(280, 670, "bleach", 2, always(38))
		}, []string{"wrong-time developer", "step-long developer"}},
		{"a moment without power, a bath that was far too warm", func(s *script) {
			s.WholeStep(20, 215, "developer", 1, between(37.8, 40, 215, 40))
			s.Power(100, "battery", "lost", 90, 0)
			s.Power(103, "mains", "restored", 0, 3)
			s.WholeStep(280, 670, "bleach", 2, always(38))
		}, []string{"bath-warm developer", "outage developer"}},
		{"a wash left out", func(s *script) {
			s.WholeStep(20, 215, "developer", 1, always(37.8))
			s.WholeStep(280, 670, "bleach", 2, always(38))
			s.WholeStep(700, 1090, "fixer", 3, always(38))
		}, []string{"step-skipped wash-1"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newScript("c41")
			s.Phase(0, lab.PhaseIdle, "", 0)
			s.Phase(1, lab.PhaseHeating, "developer", 1)
			tt.write(s)
			s.Phase(2000, lab.PhaseAborted, "", 0)
			got := slices.DeleteFunc(rulestest.Reasons(played(t, s).Runs[rules.RunID(s.Unit, "r1")]), func(r string) bool {
				return r == "step-skipped wash-1" && tt.want[0] != r || r == "step-skipped wash-2"
			})
			if !slices.Equal(got, tt.want) {
				t.Errorf("reasons %v, want %v", got, tt.want)
			}
		})
	}
}
