package rules

import (
	"math"
	"testing"

	"wetside/internal/lab"
)

// started begins a run whose developer fills at 95 and is in at 100, with what
// is said of the unit's temperatures before it fills.
func started(s *script, setC float64, c at) {
	s.preheat(50, 37.8)
	dev(s, 295, c)
	if setC > 0 {
		s.setC(setC)
	}
}

// Contract, section 2: what is wrong before the fill is said before the fill.
func TestBeforeTheFill(t *testing.T) {
	runScenarios(t, []scenario{
		{name: "set to the sheet's temperature", write: func(s *script) { started(s, 37.8, always(37.8)) }},
		{name: "set to 30 °C, said while heating", write: func(s *script) { started(s, 30, always(37.8)) },
			want: []string{"wrong-temperature-set developer high 10-"}},
		{name: "a third of a degree is within the inspect edge", write: func(s *script) { started(s, 38.1, always(37.8)) }},
		{name: "half a degree is past it", write: func(s *script) { started(s, 38.4, always(37.8)) },
			want: []string{"wrong-temperature-set developer high 10-"}},
		{name: "in Fahrenheit", write: func(s *script) { started(s, 100, always(37.8)) },
			want: []string{"wrong-temperature-set developer high 10-"}},
		{name: "corrected before it fills", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.setC(30)
			for _, e := range s.events {
				if e.m.Step != nil && e.m.Step.Run != "" && e.at > 20 {
					v := 37.8
					e.m.Step.SetC = &v
				}
			}
		}, want: []string{"wrong-temperature-set developer high 10-95"}},
		{name: "B&W at 24 °C with its own time is normal", process: "bw", write: func(s *script) {
			s.set["developer"] = 300
			dev(s, 400, always(24))
			s.setC(24)
		}},
		{name: "without a set temperature, around the mean of its bath", process: "bw", write: func(s *script) {
			dev(s, 490, between(24, 200, 260, 24.6))
		}, want: []string{"bath-temperature developer high 203-280"}},
		{name: "preheat 5 °C too cool", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.setC(37.8)
			s.preheat(90, 32.8)
		}, want: []string{"preheat-off developer high 95-160"}},
		{name: "preheat read while it fills", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.setC(37.8)
			s.preheat(97, 32.8)
		}, want: []string{"preheat-off developer high 97-160"}},
		{name: "a preheat half a degree off is none", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.setC(37.8)
			s.preheat(90, 37.3)
		}},
		{name: "push +3 has no time", write: func(s *script) {
			s.push = 3
			dev(s, 295, always(37.8))
			s.without(func(e *event) bool { return e.at > 290 })
		}, want: []string{"push-unknown  low 10-"}},
	})
}

// Facts that a person acts on before the fill.
func TestBeforeTheFillSays(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	s.setC(37.8)
	s.preheat(90, 32.8)
	for _, o := range newBench(t).play(s.messages()).found {
		add, _ := o.Facts["add_s"].(float64)
		stops, _ := o.Facts["push_error_end_stops"].(float64)
		if o.Rule != RulePreheatOff || add <= 0 || stops >= -0.33 {
			t.Errorf("%s: add_s %v, push error %v; want more time for a pull of over a third", o.Rule, o.Facts["add_s"], o.Facts["push_error_end_stops"])
		}
	}
	s = newScript("c41")
	started(s, 38.8, always(37.8)) // 2.9^0.1: 11.2 % faster, 195 s become 175.3 s
	for _, o := range newBench(t).play(s.messages()).found {
		if add, _ := o.Facts["add_s"].(float64); o.Rule != RuleWrongTemperatureSet || math.Abs(add+20) > 0.5 {
			t.Errorf("%s: add_s %v, want 20 s fewer", o.Rule, o.Facts["add_s"])
		}
	}
}

// Push +3, aborted after 100 s: outside the table, nothing is extrapolated.
func TestPushUnknownHasNoStops(t *testing.T) {
	s := newScript("c41")
	s.push = 3
	dev(s, 200, always(37.8))
	s.phase(215, lab.PhaseAborted, "", 0)
	r := newBench(t).play(s.messages()).runs[RunID(s.unit, "r1")]
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
		{name: "steps of half a degree: 38.0 is not out of 37.95", write: func(s *script) {
			dev(s, 295, func(t float64) float64 { return 37.5 + 0.5*float64(int(t/20)%2) })
		}},
		{name: "a heater that hunts is one condition", write: func(s *script) {
			dev(s, 295, func(t float64) float64 { return 37.8 + 0.35*math.Sin(2*math.Pi*t/40) })
		}, want: []string{"bath-temperature developer high 130-295"}},
		{name: "noise of 0.2 °C around the aim is none", write: func(s *script) {
			dev(s, 295, func(t float64) float64 { return 37.8 + 0.2*noise(t) })
		}},
		{name: "a cold fixer will not be complete", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			s.step(730, 925, "wash-1", 3, always(38))
			s.step(945, 1335, "fixer", 4, always(26))
		}, want: []string{"bath-temperature fixer high 957-1335"}},
		{name: "a cold wash is told once a day", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			s.step(730, 925, "wash-1", 3, always(12))
			s.step(945, 1335, "fixer", 4, always(38))
			s.step(1355, 1550, "wash-2", 5, always(12))
		}, want: []string{"bath-temperature wash-1 high 742-925", "bath-temperature wash-2 low 1367-1550"}},
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
			s.run = string(rune('a' + i))
			end := s.c41(at)
			if i == 3 {
				for _, e := range s.events {
					if e.m.Motion != nil && e.at > at && e.at < at+215 {
						*e.m.Motion.RPM = rpm
					}
				}
			}
			at = end + 60
		}
		return s
	}
	_ = s
	b := newBench(t).play(runs(15).messages())
	if l := b.lines(); len(l) != 1 || len(l[0]) < 27 || l[0][:27] != "rotation-slow developer hig" {
		t.Errorf("half speed: got %v", l)
	}
	newBench(t).play(runs(24).messages()).want() // four fifths
}
