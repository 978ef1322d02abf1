package rules_test

import "testing"

// Contract, section 2, bath-temperature. Developer of C-41: 37.65 to 37.95.
func TestBathTemperature(t *testing.T) {
	runScenarios(t, []scenario{
		{Name: "all is well", Write: func(s *script) { s.C41(0) }},
		{Name: "settling: less than 1 °C outside does not count", Write: func(s *script) {
			dev(s, 295, between(37.8, 100, 128, 37.0))
		}},
		{Name: "settling: over 1 °C for 10 s counts at once", Write: func(s *script) {
			dev(s, 295, between(37.8, 100, 116, 36.5)) // readings at 102 to 114
		}, Want: []string{"bath-temperature developer urgent 112-136"}},
		{Name: "settling: over 1 °C for less than 10 s", Write: func(s *script) {
			dev(s, 295, between(37.8, 100, 112, 36.5))
		}},
		{Name: "an excursion that began in the settling time is raised at its end", Write: func(s *script) {
			dev(s, 295, between(37.8, 110, 140, 37.5))
		}, Want: []string{"bath-temperature developer high 130-160"}},
		{Name: "or at start and hold, if that is later", Write: func(s *script) {
			dev(s, 295, between(37.8, 128, 150, 37.5))
		}, Want: []string{"bath-temperature developer high 131-170"}},
		{Name: "three seconds in a developer", Write: func(s *script) {
			dev(s, 295, between(37.8, 200, 206, 38.1)) // 200, 202, 204
		}, Want: []string{"bath-temperature developer high 203-226"}},
		{Name: "two readings need not be three seconds", Write: func(s *script) {
			dev(s, 295, between(37.8, 200, 204, 38.1)) // 200, 202
		}},
		{Name: "urgent when heading past the inspect edge of 0.33 stop", Write: func(s *script) {
			dev(s, 295, between(37.8, 140, 400, 38.8)) // 2.9^0.1 for 155 s: 0.58 stop
		}, Want: []string{"bath-temperature developer urgent 143-295"}},
		{Name: "one reading is no hold", Write: func(s *script) {
			dev(s, 295, between(37.8, 200, 202, 39))
		}},
		{Name: "clears only when inside for 20 s", Write: func(s *script) {
			dev(s, 295, func(t float64) float64 {
				if t >= 200 && t < 210 || t >= 216 && t < 220 {
					return 38.1
				}
				return 37.8
			})
		}, Want: []string{"bath-temperature developer high 203-240"}},
		{Name: "at the limit is inside", Write: func(s *script) { dev(s, 295, always(37.95)) }},
		{Name: "elsewhere 15 s and low", Write: func(s *script) {
			bleached(s, between(35.4, 400, 418, 34.5)) // 400 to 416
		}, Want: []string{"bath-temperature bleach low 415-438"}},
		{Name: "elsewhere 14 s are nothing", Write: func(s *script) {
			bleached(s, between(35.4, 400, 416, 34.5))
		}},
		{Name: "a hold starts anew at each fill", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 340, "bleach", 2, between(38, 330, 400, 34)) // 330 to 338
			s.WholeStep(350, 710, "bleach", 2, between(38, 350, 358, 34)) // 352 to 356
		}},
		{Name: "the settling time is the step's, not the fill's", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 380, "bleach", 2, always(38))
			s.WholeStep(390, 710, "bleach", 2, between(38, 390, 410, 34)) // 392 to 408
		}, Want: []string{"bath-temperature bleach low 407-430"}},
		{Name: "what lies in a hole proves nothing", Write: func(s *script) {
			dev(s, 295, between(37.8, 200, 240, 38.1))
			s.Cut(201, 238)
		}},
		{Name: "flush and strip are not judged for the film", Write: func(s *script) {
			s.Kind = "flush"
			dev(s, 250, always(30))
		}},
		{Name: "a process without a sheet gets a low notice and no more", Process: "ra4", Write: func(s *script) {
			dev(s, 250, always(30))
			s.Cut(150, 170)
			s.Without(func(e *event) bool { return e.M.Temp != nil && e.At > 180 })
		}, Want: []string{"sheet-missing /ra4 low 10-"}},
	})
}

func TestReadingMissing(t *testing.T) {
	mute := func(s *script, from, to float64) {
		s.Without(func(e *event) bool { return e.M.Temp != nil && e.At >= from && e.At < to })
	}
	runScenarios(t, []scenario{
		{Name: "developer, ten seconds", Write: func(s *script) {
			dev(s, 295, always(37.8))
			mute(s, 201, 230)
		}, Want: []string{"reading-missing developer urgent 210-230"}},
		{Name: "elsewhere high", Write: func(s *script) {
			bleached(s, always(38))
			mute(s, 401, 430)
		}, Want: []string{"reading-missing bleach high 410-430"}},
		{Name: "never a reading in this bath", Write: func(s *script) {
			dev(s, 295, always(37.8))
			mute(s, 0, 400)
		}, Want: []string{"reading-missing developer urgent 110-295"}},
		{Name: "three usual intervals where they are longer", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Without(func(e *event) bool { return e.M.Temp != nil && int(e.At)%4 != 0 }) // every 4 s
			mute(s, 201, 230)
		}, Want: []string{"reading-missing developer urgent 212-232"}},
		{Name: "a hole may have held it", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Cut(201, 230)
		}},
		{Name: "a silent unit does not miss readings", Write: func(s *script) {
			dev(s, 200, always(37.8))
			s.Without(func(e *event) bool { return e.At > 150 })
			s.Boot = "b2"
			s.Phase(300, "in-bath", "developer", 1)
		}, Want: []string{"unit-silent developer urgent 240-300", "step-overrun developer urgent 298.9-", "power-resumed developer urgent 300-"}},
	})
}

func TestRotationStopped(t *testing.T) {
	still := func(s *script, from, to float64) {
		for _, e := range s.Events {
			if e.M.Motion != nil && e.At >= from && e.At < to {
				v := 4.9
				e.M.Motion.RPM = &v
			}
		}
	}
	runScenarios(t, []scenario{
		{Name: "developer 8 s", Write: func(s *script) {
			dev(s, 295, always(37.8))
			still(s, 201, 213) // 201, 205, 209
		}, Want: []string{"rotation-stopped developer urgent 209-213"}},
		{Name: "developer, 4 s only", Write: func(s *script) {
			dev(s, 295, always(37.8))
			still(s, 201, 209)
		}},
		{Name: "elsewhere 15 s, low", Write: func(s *script) {
			bleached(s, always(38))
			still(s, 401, 421) // 401 to 417
		}, Want: []string{"rotation-stopped bleach low 416-421"}},
		{Name: "five is turning", Write: func(s *script) {
			dev(s, 295, always(37.8))
			for _, e := range s.Events {
				if e.M.Motion != nil {
					*e.M.Motion.RPM = 5
				}
			}
		}},
		{Name: "ends with the bath", Write: func(s *script) {
			dev(s, 295, always(37.8))
			still(s, 261, 300)
		}, Want: []string{"rotation-stopped developer urgent 269-295"}},
	})
}

// Dryer of C-41: at most 60 °C.
func TestDryer(t *testing.T) {
	dry := func(s *script, from, to, c float64) {
		s.Phase(0, "idle", "", 0)
		s.Phase(1, "heating", "developer", 1)
		s.Phase(10, "drying", "", 0)
		for t := 12.0; t < 200; t += 5 {
			v := 50.0
			if t >= from && t < to {
				v = c
			}
			s.Dryer(t, v)
		}
	}
	runScenarios(t, []scenario{
		{Name: "30 s", Write: func(s *script) { dry(s, 50, 90, 61) }, Want: []string{"dryer-temperature developer high 82-152"}},
		{Name: "25 s", Write: func(s *script) { dry(s, 50, 80, 61) }},
		{Name: "at the limit", Write: func(s *script) { dry(s, 50, 150, 60) }},
	})
}
