package rules_test

import (
	"math"
	"testing"

	"wetside/internal/lab"
	"wetside/rules"
)

// started begins a run whose developer fills at 95 and is in at 100, with what
// is said of the unit's temperatures before it fills.
func started(s *script, setC float64, c at) {
	s.Preheat(50, 37.8)
	dev(s, 295, c)
	if setC > 0 {
		s.SetC(setC)
	}
}

// Contract, section 2: what is wrong before the fill is said before the fill.
func TestBeforeTheFill(t *testing.T) {
	runScenarios(t, []scenario{
		{Name: "set to the sheet's temperature", Write: func(s *script) { started(s, 37.8, always(37.8)) }},
		{Name: "set to 30 °C, said while heating", Write: func(s *script) { started(s, 30, always(37.8)) },
			Want: []string{"wrong-temperature-set developer high 10-"}},
		{Name: "a third of a degree is within the inspect edge", Write: func(s *script) { started(s, 38.1, always(37.8)) }},
		{Name: "half a degree is past it", Write: func(s *script) { started(s, 38.4, always(37.8)) },
			Want: []string{"wrong-temperature-set developer high 10-"}},
		{Name: "in Fahrenheit", Write: func(s *script) { started(s, 100, always(37.8)) },
			Want: []string{"wrong-temperature-set developer high 10-"}},
		{Name: "corrected before it fills", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.SetC(30)
			for _, e := range s.Events {
				if e.M.Step != nil && e.M.Step.Run != "" && e.At > 20 {
					v := 37.8
					e.M.Step.SetC = &v
				}
			}
		}, Want: []string{"wrong-temperature-set developer high 10-95"}},
		{Name: "B&W at 24 °C with its own time is normal", Process: "bw", Write: func(s *script) {
			s.SetTimes["developer"] = 300
			dev(s, 400, always(24))
			s.SetC(24)
		}},
		{Name: "without a set temperature, around the mean of its bath", Process: "bw", Write: func(s *script) {
			dev(s, 490, between(24, 200, 260, 24.6))
		}, Want: []string{"bath-temperature developer high 203-280"}},
		{Name: "preheat 5 °C too cool", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.SetC(37.8)
			s.Preheat(90, 32.8)
		}, Want: []string{"preheat-off developer high 95-160"}},
		{Name: "preheat read while it fills", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.SetC(37.8)
			s.Preheat(97, 32.8)
		}, Want: []string{"preheat-off developer high 97-160"}},
		{Name: "a preheat half a degree off is none", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.SetC(37.8)
			s.Preheat(90, 37.3)
		}},
		{Name: "push +3 has no time", Write: func(s *script) {
			s.Push = 3
			dev(s, 295, always(37.8))
			s.Without(func(e *event) bool { return e.At > 290 })
		}, Want: []string{"push-unknown  low 10-"}},
	})
}

// Facts that a person acts on before the fill.
func TestBeforeTheFillSays(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	s.SetC(37.8)
	s.Preheat(90, 32.8)
	for _, o := range newBench(t).Play(s.Messages()).Found {
		add, _ := o.Facts["add_s"].(float64)
		stops, _ := o.Facts["push_error_end_stops"].(float64)
		if o.Rule != rules.RulePreheatOff || add <= 0 || stops >= -0.33 {
			t.Errorf("%s: add_s %v, push error %v; want more time for a pull of over a third", o.Rule, o.Facts["add_s"], o.Facts["push_error_end_stops"])
		}
	}
	s = newScript("c41")
	started(s, 38.8, always(37.8)) // 2.9^0.1: 11.2 % faster, 195 s become 175.3 s
	for _, o := range newBench(t).Play(s.Messages()).Found {
		if add, _ := o.Facts["add_s"].(float64); o.Rule != rules.RuleWrongTemperatureSet || math.Abs(add+20) > 0.5 {
			t.Errorf("%s: add_s %v, want 20 s fewer", o.Rule, o.Facts["add_s"])
		}
	}
}

// Push +3, aborted after 100 s: outside the table, nothing is extrapolated.
func TestPushUnknownHasNoStops(t *testing.T) {
	s := newScript("c41")
	s.Push = 3
	dev(s, 200, always(37.8))
	s.Phase(215, lab.PhaseAborted, "", 0)
	r := newBench(t).Play(s.Messages()).Runs[rules.RunID(s.Unit, "r1")]
	st := r.Steps[0]
	if st.PushErrorStops != nil || st.PushErrorLowStops != nil || st.PushErrorHighStops == nil || *st.PushErrorHighStops > -3 {
		t.Errorf("push error %v (%v to %v), want none, and high on the side that is too little", st.PushErrorStops, st.PushErrorLowStops, st.PushErrorHighStops)
	}
	if *r.Verdict == lab.InControl {
		t.Error("what could not be judged is in control")
	}
}

// Contract, section 2.1, dead bands in a bath.
func TestDeadBands(t *testing.T) {
	runScenarios(t, []scenario{
		{Name: "steps of half a degree: 38.0 is not out of 37.95", Write: func(s *script) {
			dev(s, 295, func(t float64) float64 { return 37.5 + 0.5*float64(int(t/20)%2) })
		}},
		{Name: "a heater that hunts is one condition", Write: func(s *script) {
			dev(s, 295, func(t float64) float64 { return 37.8 + 0.35*math.Sin(2*math.Pi*t/40) })
		}, Want: []string{"bath-temperature developer high 130-295"}},
		{Name: "noise of 0.2 °C around the aim is none", Write: func(s *script) {
			dev(s, 295, func(t float64) float64 { return 37.8 + 0.2*noise(t) })
		}},
		{Name: "a cold fixer will not be complete", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			s.WholeStep(730, 925, "wash-1", 3, always(38))
			s.WholeStep(945, 1335, "fixer", 4, always(26))
		}, Want: []string{"bath-temperature fixer high 957-1335"}},
		{Name: "a cold wash is told once a day", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			s.WholeStep(730, 925, "wash-1", 3, always(12))
			s.WholeStep(945, 1335, "fixer", 4, always(38))
			s.WholeStep(1355, 1550, "wash-2", 5, always(12))
		}, Want: []string{"bath-temperature wash-1 high 742-925", "bath-temperature wash-2 low 1367-1550"}},
	})
}

// noise is a fixed series with mean 0 and standard deviation 1, by the time.
func noise(t float64) float64 {
	u := func(k float64) float64 { x := math.Sin(t*12.9898+k*78.233) * 43758.5453; return x - math.Floor(x) }
	return math.Sqrt(-2*math.Log(u(1)+1e-12)) * math.Cos(2*math.Pi*u(2))
}

// Half the usual speed is told, once the usual is known.
func TestRotationSlow(t *testing.T) {
	s := newScript("c41")
	runs := func(rpm float64) *script {
		s := newScript("c41")
		at := 0.0
		for i := range 4 {
			s.Run = string(rune('a' + i))
			end := s.C41(at)
			if i == 3 {
				for _, e := range s.Events {
					if e.M.Motion != nil && e.At > at && e.At < at+215 {
						*e.M.Motion.RPM = rpm
					}
				}
			}
			at = end + 60
		}
		return s
	}
	_ = s
	b := newBench(t).Play(runs(15).Messages())
	if l := b.Lines(); len(l) != 1 || len(l[0]) < 27 || l[0][:27] != "rotation-slow developer hig" {
		t.Errorf("half speed: got %v", l)
	}
	newBench(t).Play(runs(24).Messages()).Want() // four fifths
}
