package rules_test

import (
	"math"
	"testing"

	"wetside/internal/lab"
	"wetside/rules"
)

// How wide the range of a push error is by what is known of the probe, in a
// developer that stood at its aim from end to end. IEC 60751: class A
// 0.15 + 0.002 x 37.8 = 0.2256 °C, class B 0.30 + 0.005 x 37.8 = 0.489 °C.
func TestRangeByTheProbe(t *testing.T) {
	s := c41Run(t, nil)
	u, run := s.Unit, rules.RunID(s.Unit, "r1")
	poor := 0.3
	// stops above the best estimate, by a doubt in °C: the factor's upper end
	// is 3.1, a stop is 30 s, and push times scatter by a quarter.
	above := func(c float64) float64 { return 1.25 * 195 * (math.Pow(3.1, c/10) - 1) / 30 }
	kind := func(class string) lab.Entry {
		return enters(u, -20, lab.EntryProbeKind, "", lab.ProbeKind{Class: class})
	}
	check := func(within *float64) lab.Entry {
		return enters(u, -15, lab.EntryProbe, "", lab.ProbeCheck{UncertaintyC: within})
	}
	house := enters(u, -10, lab.EntryHouseAim, "", lab.HouseAim{Process: "c41", Step: "developer", EquivalentS: 195})
	for _, tt := range []struct {
		name    string
		entries []lab.Entry
		doubtC  float64
		advice  string
	}{
		{"nothing is known: class B is assumed", nil, 0.489, "Check the probe against a thermometer"},
		{"class B", []lab.Entry{kind("B")}, 0.489, "Check the probe against a thermometer"},
		{"class A", []lab.Entry{kind("A")}, 0.2256, "Check the probe against a thermometer"},
		{"a kind that was taken back to unknown", []lab.Entry{kind("A"), enters(u, -18, lab.EntryProbeKind, "", lab.ProbeKind{})}, 0.489, "Check the probe against a thermometer"},
		{"checked: the check's own spread", []lab.Entry{kind("A"), check(nil)}, 0.05, "Push times of your own films"},
		{"checked poorly: that spread", []lab.Entry{check(&poor)}, 0.3, "Check the probe against a thermometer"},
		{"house aim: only the drift since", []lab.Entry{house}, 0.1, "Push times of your own films"},
		{"house aim, probe checked poorly: only the drift since", []lab.Entry{check(&poor), house}, 0.1, "Push times of your own films"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			st := played(t, s, tt.entries...).Runs[run].Steps[0]
			if got, want := *st.PushErrorHighStops-*st.PushErrorStops, above(tt.doubtC); math.Abs(got-want) > 0.003 {
				t.Errorf("range %.4f above, want %.4f (±%g °C)", got, want, tt.doubtC)
			}
			if st.Narrower == nil || st.Narrower.Text != tt.advice {
				t.Errorf("what narrows it most is %+v, want %q", st.Narrower, tt.advice)
			}
		})
	}
}

// What is said to narrow the range does so, as far as is said.
func TestNarrowerIsTrue(t *testing.T) {
	s := c41Run(t, nil)
	run := rules.RunID(s.Unit, "r1")
	width := func(st lab.RunStep) float64 { return *st.PushErrorHighStops - *st.PushErrorLowStops }
	before := played(t, s).Runs[run].Steps[0]
	after := played(t, s, enters(s.Unit, -9, lab.EntryProbe, "", lab.ProbeCheck{})).Runs[run].Steps[0]
	if got := width(after) / width(before); before.Narrower == nil || math.Abs(got-before.Narrower.To) > 0.02 {
		t.Errorf("a check of the probe leaves %.3f of the range, said was %+v", got, before.Narrower)
	}
}

// The verdict goes by the best estimate, however wide the range is.
func TestVerdictByTheBestEstimate(t *testing.T) {
	s := c41Run(t, nil)
	r := played(t, s).Runs[rules.RunID(s.Unit, "r1")]
	if st := r.Steps[0]; *st.PushErrorHighStops < 0.33 || *r.Verdict != lab.InControl {
		t.Errorf("range to %+.2f, %s; want a range beyond the edge of 0.33 and in control", *st.PushErrorHighStops, *r.Verdict)
	}
}
