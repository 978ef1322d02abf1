package rules_test

import "testing"

// Contract, section 1 (time in a step) and section 2 (the rules of time);
// times and tolerances of sheets.md.
func TestStepTimes(t *testing.T) {
	runScenarios(t, []scenario{
		{Name: "overrun of a developer: 195 and 2 %", Write: func(s *script) { dev(s, 305, always(37.8)) },
			Want: []string{"step-overrun developer urgent 298.9-305"}},
		{Name: "within the tolerance", Write: func(s *script) { dev(s, 298, always(37.8)) }},
		{Name: "push +1 has its own time", Write: func(s *script) { s.Push = 1; dev(s, 325, always(37.8)) }},
		{Name: "half a stop, between the lines", Write: func(s *script) { s.Push = 0.5; dev(s, 320, always(37.8)) },
			Want: []string{"step-overrun developer urgent 314.2-320"}},
		{Name: "overrun of a least-time step: aim and a quarter", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 820, "bleach", 2, always(38)) // 390 + 97.5
		}, Want: []string{"step-overrun bleach low 807.5-820"}},
		{Name: "short developer, at the start of its draining", Write: func(s *script) {
			dev(s, 290, always(37.8)) // 190 < 191.1
			s.WholeStep(315, 705, "bleach", 2, always(38))
		}, Want: []string{"step-short developer high 290-"}},
		{Name: "short by less than the tolerance", Write: func(s *script) {
			dev(s, 292, always(37.8))
			s.WholeStep(315, 705, "bleach", 2, always(38))
		}},
		{Name: "a least-time step is short below its least time less 2 %", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 320+254, "bleach", 2, always(38)) // 260 - 5.2
			s.WholeStep(600, 665, "wash-1", 3, always(38))
		}, Want: []string{"step-short bleach high 574-"}},
		{Name: "its least time is enough", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 320+256, "bleach", 2, always(38))
			s.WholeStep(600, 665, "wash-1", 3, always(38))
		}},
		{Name: "the first draining of several is not the last", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 500, "bleach", 2, always(38))
			s.WholeStep(515, 700, "bleach", 2, always(38)) // 380 in all
			s.WholeStep(720, 800, "wash-1", 3, always(38))
		}},
		{Name: "several fills, short as a whole", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 420, "bleach", 2, always(38))
			s.WholeStep(440, 540, "bleach", 2, always(38)) // 220
			s.WholeStep(560, 640, "wash-1", 3, always(38))
		}, Want: []string{"step-short bleach high 540-"}},
		{Name: "a draining stops the overrun clock, another fill resumes it", Write: func(s *script) {
			s.Phase(0, "idle", "", 0)
			s.Phase(10, "heating", "wash-1", 2)
			s.WholeStep(100, 270, "wash-1", 2, always(38)) // 195 + 60: over at 355
			s.Stays(271, 320, "draining", "wash-1", 2)
			s.WholeStep(330, 370, "wash-1", 2, always(38)) // filling at 325
			s.WholeStep(400, 595, "wash-2", 5, always(38))
		}, Want: []string{"step-skipped wash-1/bleach urgent 10-", "step-skipped wash-1/developer urgent 10-",
			"step-overrun wash-1 low 355-370", "step-skipped wash-2/fixer urgent 395-"}},
		{Name: "exact: wash 1 of E-6 from -10 to +60 s", Process: "e6-7", Write: func(s *script) {
			s.Phase(0, "idle", "", 0)
			s.Phase(10, "heating", "first-developer", 1)
			s.WholeStep(100, 460, "first-developer", 1, always(38))
			s.WholeStep(480, 480+109, "wash-1", 2, always(38))
			s.WholeStep(620, 740, "reversal-bath", 3, always(37))
		}, Want: []string{"step-short wash-1 high 589-"}},
		{Name: "exact: long", Process: "e6-7", Write: func(s *script) {
			s.Phase(0, "idle", "", 0)
			s.Phase(10, "heating", "first-developer", 1)
			s.WholeStep(100, 460, "first-developer", 1, always(38))
			s.WholeStep(480, 480+190, "wash-1", 2, always(38))
		}, Want: []string{"step-overrun wash-1 low 660-670"}},
		{Name: "bw developer: the unit's own time, for the push asked for", Process: "bw", Write: func(s *script) {
			s.SetTimes["developer"] = 300
			s.Push = 1
			dev(s, 380, always(20)) // 280 < 294
			s.WholeStep(400, 430, "stop-bath", 2, always(20))
		}, Want: []string{"step-short developer high 380-"}},
		{Name: "joined in the middle: neither short nor long nor skipped", Write: func(s *script) {
			s.Temp(99, 37.8)
			s.Bath(100, 320, "bleach", 2, always(38))
			s.WholeStep(330, 395, "wash-1", 3, always(38))
		}},
		{Name: "beginning in a hole: not judged", Write: func(s *script) {
			dev(s, 250, always(37.8))
			s.WholeStep(270, 660, "bleach", 2, always(38))
			s.Cut(99, 109)
		}},
		{Name: "end in a hole: a reading after it proves no overrun", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Temp(303, 37.8)
			s.WholeStep(320, 710, "bleach", 2, always(38))
			s.Cut(292, 302)
		}},
		{Name: "a step message after a hole proves it", Write: func(s *script) {
			dev(s, 330, always(37.8))
			s.Cut(285, 309)
		}, Want: []string{"step-overrun developer urgent 298.9-330"}},
		{Name: "aborted: not short", Write: func(s *script) {
			dev(s, 200, always(37.8))
			s.Phase(205, "aborted", "developer", 1)
		}, Want: []string{"run-aborted developer urgent 205-"}},
		{Name: "step without a draining ends with what follows", Write: func(s *script) {
			s.Phase(0, "idle", "", 0)
			s.Phase(10, "heating", "developer", 1)
			s.Phase(95, "filling", "developer", 1)
			s.Bath(100, 250, "developer", 1, always(37.8))
			s.Without(func(e *event) bool { return e.M.Step != nil && e.M.Step.Phase == "draining" })
			s.WholeStep(260, 650, "bleach", 2, always(38))
		}, Want: []string{"step-short developer high 255-"}},
	})
}

func TestWrongTimeSet(t *testing.T) {
	runScenarios(t, []scenario{
		{Name: "developer set for push +1", Write: func(s *script) {
			s.SetTimes["developer"] = 225
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
		}, Want: []string{"wrong-time-set developer high 10-315"}},
		{Name: "the push has its time", Write: func(s *script) {
			s.Push, s.SetTimes["developer"] = 1, 225
			dev(s, 320, always(37.8))
		}},
		{Name: "within 2 %", Write: func(s *script) { s.SetTimes["developer"] = 198; dev(s, 295, always(37.8)) }},
		{Name: "a least-time step between least and aim", Write: func(s *script) { s.SetTimes["bleach"] = 260; bleached(s, always(38)) },
			Want: []string{"step-overrun bleach low 677.5-710"}}, // 390 s in it: past what it was set to, and 97.5 s
		{Name: "below the least", Write: func(s *script) { s.SetTimes["bleach"] = 240; bleached(s, always(38)) },
			Want: []string{"wrong-time-set bleach high 315-", "step-overrun bleach low 657.5-710"}},
		{Name: "a least time is never too long", Write: func(s *script) { s.SetTimes["bleach"] = 500; bleached(s, always(38)) }},
		{Name: "corrected, and wrong again: once a step", Write: func(s *script) {
			s.SetTimes["developer"] = 150
			s.Phase(0, "idle", "", 0)
			s.Phase(10, "heating", "developer", 1)
			s.SetTimes["developer"] = 195
			s.Phase(20, "heating", "developer", 1)
			s.SetTimes["developer"] = 150
			s.Phase(30, "heating", "developer", 1)
		}, Want: []string{"wrong-time-set developer high 10-20"}},
		{Name: "waiting has its own set_s", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.SetTimes["developer"] = 600
			s.Phase(305, "waiting", "developer", 1).WaitsFor = "chemistry"
		}, Want: []string{"phase-overdue developer/waiting urgent 305-"}},
		{Name: "bw takes the developer's time from the unit", Process: "bw", Write: func(s *script) {
			s.SetTimes["developer"] = 700
			dev(s, 800, always(20))
		}},
	})
}

func TestStepSkipped(t *testing.T) {
	runScenarios(t, []scenario{
		{Name: "bleach passed over, at the first filling of the next", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 515, "wash-1", 3, always(38))
			s.WholeStep(540, 930, "fixer", 4, always(38))
		}, Want: []string{"step-skipped wash-1/bleach urgent 315-"}},
		{Name: "at its heating, where there is one", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Phase(306, "heating", "fixer", 4)
			s.WholeStep(320, 710, "fixer", 4, always(38))
		}, Want: []string{"step-skipped fixer/bleach urgent 306-"}},
		{Name: "not at a waiting for it", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Phase(306, "waiting", "fixer", 4).WaitsFor = "chemistry"
			s.WholeStep(330, 720, "fixer", 4, always(38))
		}, Want: []string{"step-skipped fixer/bleach urgent 325-"}},
		{Name: "heated for but never filled", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Phase(306, "heating", "bleach", 2)
			s.WholeStep(400, 790, "fixer", 4, always(38))
		}, Want: []string{"step-skipped fixer/bleach urgent 395-"}},
		{Name: "out of order", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "fixer", 4, always(38))
			s.WholeStep(730, 1120, "bleach", 2, always(38))
		}, Want: []string{"step-skipped fixer/bleach urgent 315-"}},
		{Name: "a wash may be left out", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			s.WholeStep(730, 1120, "fixer", 3, always(38))
		}},
		{Name: "a gap that could hold it is no skip", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			s.WholeStep(730, 925, "wash-1", 3, always(38))
			s.Cut(314, 724)
		}, Want: []string{"unit-silent developer urgent 385-725"}},
		{Name: "a gap that could not is none", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Temp(304, 30)
			s.Temp(312, 30)
			s.WholeStep(330, 525, "wash-1", 3, always(38))
			s.Cut(303, 310)
		}, Want: []string{"step-skipped wash-1/bleach urgent 325-"}},
		{Name: "aborted: nothing was skipped", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Phase(310, "aborted", "", 0)
		}, Want: []string{"run-aborted developer urgent 310-"}},
	})
}

func TestPhaseOverdue(t *testing.T) {
	runScenarios(t, []scenario{
		{Name: "heating before the first bath: an hour, low", Write: func(s *script) {
			s.Phase(0, "idle", "", 0)
			s.Stays(10, 3700, "heating", "developer", 1)
		}, Want: []string{"phase-overdue developer/heating low 3610-"}},
		{Name: "heating with wet film: 20 min", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Stays(305, 1600, "heating", "bleach", 2)
		}, Want: []string{"phase-overdue bleach/heating high 1505-"}},
		{Name: "filling: a minute, urgent with developer on the film", Write: func(s *script) {
			s.Phase(0, "idle", "", 0)
			s.Stays(10, 90, "filling", "developer", 1)
			s.Phase(95, "in-bath", "developer", 1)
		}, Want: []string{"phase-overdue developer/filling urgent 70-95"}},
		{Name: "draining: a minute", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			s.Stays(711, 800, "draining", "bleach", 2)
			s.Phase(805, "filling", "wash-1", 3)
		}, Want: []string{"phase-overdue bleach/draining high 770-805"}},
		{Name: "twice the usual where it is longer", Write: func(s *script) {
			s.Phase(0, "idle", "", 0)
			s.Phase(1, "heating", "developer", 1)
			at := 10.0
			for i, id := range []string{"developer", "bleach", "wash-1"} {
				s.Stays(at, at+50, "filling", id, i+1)
				s.Bath(at+50, at+245, id, i+1, always(37.8))
				at += 255
			}
			s.Stays(at, at+110, "filling", "fixer", 4)
			s.Phase(at+110, "in-bath", "fixer", 4)
		}, Want: []string{"step-short bleach high 510-", "phase-overdue fixer/filling high 875-885"}},
		{Name: "waiting with film in the developer: at once", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Without(func(e *event) bool { return e.At >= 295 })
			s.Phase(296, "waiting", "developer", 1).WaitsFor = "empty-waste"
		}, Want: []string{"phase-overdue developer/waiting urgent 296-"}},
		{Name: "waiting with film elsewhere: 2 min", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			for at := 720.0; at < 900; at += 10 {
				s.Phase(at, "waiting", "wash-1", 3).WaitsFor = "top-up-wash"
			}
		}, Want: []string{"phase-overdue wash-1/waiting high 840-"}},
		{Name: "to the dryer: 5 min", Write: func(s *script) {
			end := s.C41(0)
			s.Without(func(e *event) bool { return e.At >= end })
			for at := end; at < end+400; at += 10 {
				s.Phase(at, "waiting", "", 0).WaitsFor = "to-dryer"
			}
			s.Phase(end+400, "drying", "", 0)
		}, Want: []string{"phase-overdue final-rinse/waiting high 1895-1995"}},
		{Name: "another wait is another clock", Write: func(s *script) {
			end := s.C41(0)
			s.Without(func(e *event) bool { return e.At >= end })
			for at := end; at < end+400; at += 10 {
				s.Phase(at, "waiting", "final-rinse", 6).WaitsFor = map[bool]string{true: "empty-waste", false: "to-dryer"}[at < end+100]
			}
		}},
		{Name: "before film is wet nobody is hurried", Write: func(s *script) {
			s.Phase(0, "idle", "", 0)
			for at := 10.0; at < 900; at += 10 {
				s.Phase(at, "waiting", "developer", 1).WaitsFor = "chemistry"
			}
		}},
		{Name: "a phase that may have ended in a hole", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Temp(400, 37)
			s.Temp(402, 37)
			s.Phase(404, "in-bath", "bleach", 2)
			s.Temp(300, 37.8).Lost = true
		}, Want: []string{"unit-silent developer urgent 385-400"}},
	})
}

func TestAborted(t *testing.T) {
	runScenarios(t, []scenario{
		{Name: "before any film is wet", Write: func(s *script) {
			s.Phase(0, "idle", "", 0)
			s.Phase(10, "heating", "developer", 1)
			s.Phase(20, "aborted", "developer", 1)
		}},
		{Name: "after the fixer", Write: func(s *script) {
			s.C41(0)
			s.Without(func(e *event) bool { return e.At > 1400 })
			s.Phase(1401, "aborted", "wash-2", 5)
		}},
		{Name: "joined after the fixer", Write: func(s *script) {
			s.Bath(0, 60, "wash-2", 5, always(38))
			s.Phase(61, "aborted", "wash-2", 5)
		}},
		{Name: "in the bleach; the next film does not end it", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 400, "bleach", 2, always(38))
			s.Phase(401, "aborted", "bleach", 2)
			s.Phase(411, "aborted", "bleach", 2)
			s.Phase(420, "idle", "", 0)
			s.Run = "r2"
			s.Phase(500, "heating", "developer", 1)
		}, Want: []string{"run-aborted bleach urgent 401-"}},
		{Name: "a flush may be aborted", Write: func(s *script) {
			s.Kind = "flush"
			dev(s, 295, always(37.8))
			s.Phase(300, "aborted", "developer", 1)
		}},
	})
}
