package rules

import "testing"

// dev begins a run: heard idle, heating, filling; the developer's bath is in
// at 100 and is drained at 295 if it keeps the sheet's time.
func dev(s *script, to float64, c at) {
	s.phase(0, "idle", "", 0)
	s.phase(10, "heating", "developer", 1)
	s.step(100, to, "developer", 1, c)
}

// bleached goes on after dev with a bleach from 320 to 710.
func bleached(s *script, c at) {
	dev(s, 295, always(37.8))
	s.step(320, 710, "bleach", 2, c)
}

// Contract, section 2, bath-temperature. Developer of C-41: 37.65 to 37.95.
func TestBathTemperature(t *testing.T) {
	runScenarios(t, []scenario{
		{name: "all is well", write: func(s *script) { s.c41(0) }},
		{name: "settling: less than 1 °C outside does not count", write: func(s *script) {
			dev(s, 295, between(37.8, 100, 128, 37.0))
		}},
		{name: "settling: over 1 °C for 10 s counts at once", write: func(s *script) {
			dev(s, 295, between(37.8, 100, 116, 36.5)) // readings at 102 to 114
		}, want: []string{"bath-temperature developer urgent 112-136"}},
		{name: "settling: over 1 °C for less than 10 s", write: func(s *script) {
			dev(s, 295, between(37.8, 100, 112, 36.5))
		}},
		{name: "an excursion that began in the settling time is raised at its end", write: func(s *script) {
			dev(s, 295, between(37.8, 110, 140, 37.5))
		}, want: []string{"bath-temperature developer high 130-160"}},
		{name: "or at start and hold, if that is later", write: func(s *script) {
			dev(s, 295, between(37.8, 128, 150, 37.5))
		}, want: []string{"bath-temperature developer high 131-170"}},
		{name: "three seconds in a developer", write: func(s *script) {
			dev(s, 295, between(37.8, 200, 206, 38.1)) // 200, 202, 204
		}, want: []string{"bath-temperature developer high 203-226"}},
		{name: "two readings need not be three seconds", write: func(s *script) {
			dev(s, 295, between(37.8, 200, 204, 38.1)) // 200, 202
		}},
		{name: "urgent when heading past the inspect edge of 0.33 stop", write: func(s *script) {
			dev(s, 295, between(37.8, 140, 400, 38.8)) // 2.9^0.1 for 155 s: 0.58 stop
		}, want: []string{"bath-temperature developer urgent 143-295"}},
		{name: "one reading is no hold", write: func(s *script) {
			dev(s, 295, between(37.8, 200, 202, 39))
		}},
		{name: "clears only when inside for 20 s", write: func(s *script) {
			dev(s, 295, func(t float64) float64 {
				if t >= 200 && t < 210 || t >= 216 && t < 220 {
					return 38.1
				}
				return 37.8
			})
		}, want: []string{"bath-temperature developer high 203-240"}},
		{name: "at the limit is inside", write: func(s *script) { dev(s, 295, always(37.95)) }},
		{name: "elsewhere 15 s and low", write: func(s *script) {
			bleached(s, between(35.4, 400, 418, 34.5)) // 400 to 416
		}, want: []string{"bath-temperature bleach low 415-438"}},
		{name: "elsewhere 14 s are nothing", write: func(s *script) {
			bleached(s, between(35.4, 400, 416, 34.5))
		}},
		{name: "a hold starts anew at each fill", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 340, "bleach", 2, between(38, 330, 400, 34)) // 330 to 338
			s.step(350, 710, "bleach", 2, between(38, 350, 358, 34)) // 352 to 356
		}},
		{name: "the settling time is the step's, not the fill's", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 380, "bleach", 2, always(38))
			s.step(390, 710, "bleach", 2, between(38, 390, 410, 34)) // 392 to 408
		}, want: []string{"bath-temperature bleach low 407-430"}},
		{name: "what lies in a hole proves nothing", write: func(s *script) {
			dev(s, 295, between(37.8, 200, 240, 38.1))
			s.cut(201, 238)
		}},
		{name: "flush and strip are not judged for the film", write: func(s *script) {
			s.kind = "flush"
			dev(s, 250, always(30))
		}},
		{name: "a process without a sheet gets a low notice and no more", process: "ra4", write: func(s *script) {
			dev(s, 250, always(30))
			s.cut(150, 170)
			s.without(func(e *event) bool { return e.m.Temp != nil && e.at > 180 })
		}, want: []string{"sheet-missing /ra4 low 10-"}},
	})
}

func TestReadingMissing(t *testing.T) {
	mute := func(s *script, from, to float64) {
		s.without(func(e *event) bool { return e.m.Temp != nil && e.at >= from && e.at < to })
	}
	runScenarios(t, []scenario{
		{name: "developer, ten seconds", write: func(s *script) {
			dev(s, 295, always(37.8))
			mute(s, 201, 230)
		}, want: []string{"reading-missing developer urgent 210-230"}},
		{name: "elsewhere high", write: func(s *script) {
			bleached(s, always(38))
			mute(s, 401, 430)
		}, want: []string{"reading-missing bleach high 410-430"}},
		{name: "never a reading in this bath", write: func(s *script) {
			dev(s, 295, always(37.8))
			mute(s, 0, 400)
		}, want: []string{"reading-missing developer urgent 110-295"}},
		{name: "three usual intervals where they are longer", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.without(func(e *event) bool { return e.m.Temp != nil && int(e.at)%4 != 0 }) // every 4 s
			mute(s, 201, 230)
		}, want: []string{"reading-missing developer urgent 212-232"}},
		{name: "a hole may have held it", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.cut(201, 230)
		}},
		{name: "a silent unit does not miss readings", write: func(s *script) {
			dev(s, 200, always(37.8))
			s.without(func(e *event) bool { return e.at > 150 })
			s.boot = "b2"
			s.phase(300, "in-bath", "developer", 1)
		}, want: []string{"unit-silent developer urgent 240-300", "step-overrun developer urgent 298.9-", "power-resumed developer urgent 300-"}},
	})
}

func TestRotationStopped(t *testing.T) {
	still := func(s *script, from, to float64) {
		for _, e := range s.events {
			if e.m.Motion != nil && e.at >= from && e.at < to {
				v := 4.9
				e.m.Motion.RPM = &v
			}
		}
	}
	runScenarios(t, []scenario{
		{name: "developer 8 s", write: func(s *script) {
			dev(s, 295, always(37.8))
			still(s, 201, 213) // 201, 205, 209
		}, want: []string{"rotation-stopped developer urgent 209-213"}},
		{name: "developer, 4 s only", write: func(s *script) {
			dev(s, 295, always(37.8))
			still(s, 201, 209)
		}},
		{name: "elsewhere 15 s, low", write: func(s *script) {
			bleached(s, always(38))
			still(s, 401, 421) // 401 to 417
		}, want: []string{"rotation-stopped bleach low 416-421"}},
		{name: "five is turning", write: func(s *script) {
			dev(s, 295, always(37.8))
			for _, e := range s.events {
				if e.m.Motion != nil {
					*e.m.Motion.RPM = 5
				}
			}
		}},
		{name: "ends with the bath", write: func(s *script) {
			dev(s, 295, always(37.8))
			still(s, 261, 300)
		}, want: []string{"rotation-stopped developer urgent 269-295"}},
	})
}

// Dryer of C-41: at most 60 °C.
func TestDryer(t *testing.T) {
	dry := func(s *script, from, to, c float64) {
		s.phase(0, "idle", "", 0)
		s.phase(1, "heating", "developer", 1)
		s.phase(10, "drying", "", 0)
		for t := 12.0; t < 200; t += 5 {
			v := 50.0
			if t >= from && t < to {
				v = c
			}
			s.dryer(t, v)
		}
	}
	runScenarios(t, []scenario{
		{name: "30 s", write: func(s *script) { dry(s, 50, 90, 61) }, want: []string{"dryer-temperature developer high 82-152"}},
		{name: "25 s", write: func(s *script) { dry(s, 50, 80, 61) }},
		{name: "at the limit", write: func(s *script) { dry(s, 50, 150, 60) }},
	})
}
