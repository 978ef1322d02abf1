package rules_test

import (
	"math"
	"testing"

	"wetside/internal/lab"
	"wetside/rules"
)

// Contract, section 2.1 and issue "advice only on believed readings": what a
// person's thermometer shows.
func TestMeasured(t *testing.T) {
	s := c41Run(t, nil) // developer at 37.8 by its probe, in at 20, drained at 215
	run := rules.RunID(s.Unit, "r1")
	at := func(s *script, when, c float64) lab.RunStep {
		return played(t, s, enters(s.Unit, when, lab.EntryMeasured, run, lab.Measured{C: c})).Runs[run].Steps[0]
	}
	// a steady probe is off by what was measured, all through this bath
	st := at(s, 100, 38.3)
	if want := 195 * math.Pow(2.9, 0.05); math.Abs(*st.EquivalentS-want) > 0.5 || st.MeasuredOffsetC == nil || math.Abs(*st.MeasuredOffsetC-0.5) > 1e-9 {
		t.Errorf("steady: equivalent %v, offset %v; want %g s and 0.5 °C", *st.EquivalentS, st.MeasuredOffsetC, want)
	}
	// a dead probe says nothing: the bath stands at what was measured
	dead := c41Run(t, func(s *script) { s.Warm(20, 215, 99) })
	if st := played(t, dead).Runs[run].Steps[0]; st.PushErrorStops != nil {
		t.Errorf("dead probe, nobody measured: push error %v", *st.PushErrorStops)
	}
	st = at(dead, 100, 37.8)
	if st.PushErrorStops == nil || math.Abs(*st.PushErrorStops) > 0.05 || *st.PushErrorHighStops-*st.PushErrorLowStops < 0.3 {
		t.Errorf("dead probe, measured: push error %v (%v to %v), want about 0 with a wide range", st.PushErrorStops, st.PushErrorLowStops, st.PushErrorHighStops)
	}
	// after a measurement the probe is judged against it
	jumped := c41Run(t, func(s *script) { s.Warm(60, 215, 42) })
	b := played(t, jumped, enters(s.Unit, 100, lab.EntryMeasured, run, lab.Measured{C: 41}))
	if st := b.Runs[run].Steps[0]; st.UnbelievedN > 22 {
		t.Errorf("%d readings not believed though somebody measured about what they say", st.UnbelievedN)
	}
}
