package rules

import "testing"

// Contract, section 1 (time in a step) and section 2 (the rules of time);
// times and tolerances of sheets.md.
func TestStepTimes(t *testing.T) {
	runScenarios(t, []scenario{
		{name: "overrun of a developer: 195 and 2 %", write: func(s *script) { dev(s, 305, always(37.8)) },
			want: []string{"step-overrun developer urgent 298.9-305"}},
		{name: "within the tolerance", write: func(s *script) { dev(s, 298, always(37.8)) }},
		{name: "push +1 has its own time", write: func(s *script) { s.push = 1; dev(s, 325, always(37.8)) }},
		{name: "half a stop, between the lines", write: func(s *script) { s.push = 0.5; dev(s, 320, always(37.8)) },
			want: []string{"step-overrun developer urgent 314.2-320"}},
		{name: "overrun of a least-time step: aim and a quarter", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 820, "bleach", 2, always(38)) // 390 + 97.5
		}, want: []string{"step-overrun bleach low 807.5-820"}},
		{name: "short developer, at the start of its draining", write: func(s *script) {
			dev(s, 290, always(37.8)) // 190 < 191.1
			s.step(315, 705, "bleach", 2, always(38))
		}, want: []string{"step-short developer high 290-"}},
		{name: "short by less than the tolerance", write: func(s *script) {
			dev(s, 292, always(37.8))
			s.step(315, 705, "bleach", 2, always(38))
		}},
		{name: "a least-time step is short below its least time less 2 %", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 320+254, "bleach", 2, always(38)) // 260 - 5.2
			s.step(600, 665, "wash-1", 3, always(38))
		}, want: []string{"step-short bleach high 574-"}},
		{name: "its least time is enough", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 320+256, "bleach", 2, always(38))
			s.step(600, 665, "wash-1", 3, always(38))
		}},
		{name: "the first draining of several is not the last", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 500, "bleach", 2, always(38))
			s.step(515, 700, "bleach", 2, always(38)) // 380 in all
			s.step(720, 800, "wash-1", 3, always(38))
		}},
		{name: "several fills, short as a whole", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 420, "bleach", 2, always(38))
			s.step(440, 540, "bleach", 2, always(38)) // 220
			s.step(560, 640, "wash-1", 3, always(38))
		}, want: []string{"step-short bleach high 540-"}},
		{name: "a draining stops the overrun clock, another fill resumes it", write: func(s *script) {
			s.phase(0, "idle", "", 0)
			s.phase(10, "heating", "wash-1", 2)
			s.step(100, 270, "wash-1", 2, always(38)) // 195 + 60: over at 355
			s.stays(271, 320, "draining", "wash-1", 2)
			s.step(330, 370, "wash-1", 2, always(38)) // filling at 325
			s.step(400, 595, "wash-2", 5, always(38))
		}, want: []string{"step-skipped wash-1/bleach urgent 10-", "step-skipped wash-1/developer urgent 10-",
			"step-overrun wash-1 low 355-370", "step-skipped wash-2/fixer urgent 395-"}},
		{name: "exact: wash 1 of E-6 from -10 to +60 s", process: "e6-7", write: func(s *script) {
			s.phase(0, "idle", "", 0)
			s.phase(10, "heating", "first-developer", 1)
			s.step(100, 460, "first-developer", 1, always(38))
			s.step(480, 480+109, "wash-1", 2, always(38))
			s.step(620, 740, "reversal-bath", 3, always(37))
		}, want: []string{"step-short wash-1 high 589-"}},
		{name: "exact: long", process: "e6-7", write: func(s *script) {
			s.phase(0, "idle", "", 0)
			s.phase(10, "heating", "first-developer", 1)
			s.step(100, 460, "first-developer", 1, always(38))
			s.step(480, 480+190, "wash-1", 2, always(38))
		}, want: []string{"step-overrun wash-1 low 660-670"}},
		{name: "bw developer: the unit's own time, for the push asked for", process: "bw", write: func(s *script) {
			s.set["developer"] = 300
			s.push = 1
			dev(s, 380, always(20)) // 280 < 294
			s.step(400, 430, "stop-bath", 2, always(20))
		}, want: []string{"step-short developer high 380-"}},
		{name: "joined in the middle: neither short nor long nor skipped", write: func(s *script) {
			s.temp(99, 37.8)
			s.bath(100, 320, "bleach", 2, always(38))
			s.step(330, 395, "wash-1", 3, always(38))
		}},
		{name: "beginning in a hole: not judged", write: func(s *script) {
			dev(s, 250, always(37.8))
			s.step(270, 660, "bleach", 2, always(38))
			s.cut(99, 109)
		}},
		{name: "end in a hole: a reading after it proves no overrun", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.temp(303, 37.8)
			s.step(320, 710, "bleach", 2, always(38))
			s.cut(292, 302)
		}},
		{name: "a step message after a hole proves it", write: func(s *script) {
			dev(s, 330, always(37.8))
			s.cut(285, 309)
		}, want: []string{"step-overrun developer urgent 298.9-330"}},
		{name: "aborted: not short", write: func(s *script) {
			dev(s, 200, always(37.8))
			s.phase(205, "aborted", "developer", 1)
		}, want: []string{"run-aborted developer urgent 205-"}},
		{name: "step without a draining ends with what follows", write: func(s *script) {
			s.phase(0, "idle", "", 0)
			s.phase(10, "heating", "developer", 1)
			s.phase(95, "filling", "developer", 1)
			s.bath(100, 250, "developer", 1, always(37.8))
			s.without(func(e *event) bool { return e.m.Step != nil && e.m.Step.Phase == "draining" })
			s.step(260, 650, "bleach", 2, always(38))
		}, want: []string{"step-short developer high 255-"}},
	})
}

func TestWrongTimeSet(t *testing.T) {
	runScenarios(t, []scenario{
		{name: "developer set for push +1", write: func(s *script) {
			s.set["developer"] = 225
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
		}, want: []string{"wrong-time-set developer high 10-315"}},
		{name: "the push has its time", write: func(s *script) {
			s.push, s.set["developer"] = 1, 225
			dev(s, 320, always(37.8))
		}},
		{name: "within 2 %", write: func(s *script) { s.set["developer"] = 198; dev(s, 295, always(37.8)) }},
		{name: "a least-time step between least and aim", write: func(s *script) { s.set["bleach"] = 260; bleached(s, always(38)) },
			want: []string{"step-overrun bleach low 677.5-710"}}, // 390 s in it: past what it was set to, and 97.5 s
		{name: "below the least", write: func(s *script) { s.set["bleach"] = 240; bleached(s, always(38)) },
			want: []string{"wrong-time-set bleach high 315-", "step-overrun bleach low 657.5-710"}},
		{name: "a least time is never too long", write: func(s *script) { s.set["bleach"] = 500; bleached(s, always(38)) }},
		{name: "corrected, and wrong again: once a step", write: func(s *script) {
			s.set["developer"] = 150
			s.phase(0, "idle", "", 0)
			s.phase(10, "heating", "developer", 1)
			s.set["developer"] = 195
			s.phase(20, "heating", "developer", 1)
			s.set["developer"] = 150
			s.phase(30, "heating", "developer", 1)
		}, want: []string{"wrong-time-set developer high 10-20"}},
		{name: "waiting has its own set_s", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.set["developer"] = 600
			s.phase(305, "waiting", "developer", 1).WaitsFor = "chemistry"
		}, want: []string{"phase-overdue developer/waiting urgent 305-"}},
		{name: "bw takes the developer's time from the unit", process: "bw", write: func(s *script) {
			s.set["developer"] = 700
			dev(s, 800, always(20))
		}},
	})
}

func TestStepSkipped(t *testing.T) {
	runScenarios(t, []scenario{
		{name: "bleach passed over, at the first filling of the next", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 515, "wash-1", 3, always(38))
			s.step(540, 930, "fixer", 4, always(38))
		}, want: []string{"step-skipped wash-1/bleach urgent 315-"}},
		{name: "at its heating, where there is one", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.phase(306, "heating", "fixer", 4)
			s.step(320, 710, "fixer", 4, always(38))
		}, want: []string{"step-skipped fixer/bleach urgent 306-"}},
		{name: "not at a waiting for it", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.phase(306, "waiting", "fixer", 4).WaitsFor = "chemistry"
			s.step(330, 720, "fixer", 4, always(38))
		}, want: []string{"step-skipped fixer/bleach urgent 325-"}},
		{name: "heated for but never filled", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.phase(306, "heating", "bleach", 2)
			s.step(400, 790, "fixer", 4, always(38))
		}, want: []string{"step-skipped fixer/bleach urgent 395-"}},
		{name: "out of order", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "fixer", 4, always(38))
			s.step(730, 1120, "bleach", 2, always(38))
		}, want: []string{"step-skipped fixer/bleach urgent 315-"}},
		{name: "a wash may be left out", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			s.step(730, 1120, "fixer", 3, always(38))
		}},
		{name: "a gap that could hold it is no skip", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			s.step(730, 925, "wash-1", 3, always(38))
			s.cut(314, 724)
		}, want: []string{"unit-silent developer urgent 385-725"}},
		{name: "a gap that could not is none", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.temp(304, 30)
			s.temp(312, 30)
			s.step(330, 525, "wash-1", 3, always(38))
			s.cut(303, 310)
		}, want: []string{"step-skipped wash-1/bleach urgent 325-"}},
		{name: "aborted: nothing was skipped", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.phase(310, "aborted", "", 0)
		}, want: []string{"run-aborted developer urgent 310-"}},
	})
}

func TestPhaseOverdue(t *testing.T) {
	runScenarios(t, []scenario{
		{name: "heating before the first bath: an hour, low", write: func(s *script) {
			s.phase(0, "idle", "", 0)
			s.stays(10, 3700, "heating", "developer", 1)
		}, want: []string{"phase-overdue developer/heating low 3610-"}},
		{name: "heating with wet film: 20 min", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.stays(305, 1600, "heating", "bleach", 2)
		}, want: []string{"phase-overdue bleach/heating high 1505-"}},
		{name: "filling: a minute, urgent with developer on the film", write: func(s *script) {
			s.phase(0, "idle", "", 0)
			s.stays(10, 90, "filling", "developer", 1)
			s.phase(95, "in-bath", "developer", 1)
		}, want: []string{"phase-overdue developer/filling urgent 70-95"}},
		{name: "draining: a minute", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			s.stays(711, 800, "draining", "bleach", 2)
			s.phase(805, "filling", "wash-1", 3)
		}, want: []string{"phase-overdue bleach/draining high 770-805"}},
		{name: "twice the usual where it is longer", write: func(s *script) {
			s.phase(0, "idle", "", 0)
			s.phase(1, "heating", "developer", 1)
			at := 10.0
			for i, id := range []string{"developer", "bleach", "wash-1"} {
				s.stays(at, at+50, "filling", id, i+1)
				s.bath(at+50, at+245, id, i+1, always(37.8))
				at += 255
			}
			s.stays(at, at+110, "filling", "fixer", 4)
			s.phase(at+110, "in-bath", "fixer", 4)
		}, want: []string{"step-short bleach high 510-", "phase-overdue fixer/filling high 875-885"}},
		{name: "waiting with film in the developer: at once", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.without(func(e *event) bool { return e.at >= 295 })
			s.phase(296, "waiting", "developer", 1).WaitsFor = "empty-waste"
		}, want: []string{"phase-overdue developer/waiting urgent 296-"}},
		{name: "waiting with film elsewhere: 2 min", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			for at := 720.0; at < 900; at += 10 {
				s.phase(at, "waiting", "wash-1", 3).WaitsFor = "top-up-wash"
			}
		}, want: []string{"phase-overdue wash-1/waiting high 840-"}},
		{name: "to the dryer: 5 min", write: func(s *script) {
			end := s.c41(0)
			s.without(func(e *event) bool { return e.at >= end })
			for at := end; at < end+400; at += 10 {
				s.phase(at, "waiting", "", 0).WaitsFor = "to-dryer"
			}
			s.phase(end+400, "drying", "", 0)
		}, want: []string{"phase-overdue final-rinse/waiting high 1895-1995"}},
		{name: "another wait is another clock", write: func(s *script) {
			end := s.c41(0)
			s.without(func(e *event) bool { return e.at >= end })
			for at := end; at < end+400; at += 10 {
				s.phase(at, "waiting", "final-rinse", 6).WaitsFor = map[bool]string{true: "empty-waste", false: "to-dryer"}[at < end+100]
			}
		}},
		{name: "before film is wet nobody is hurried", write: func(s *script) {
			s.phase(0, "idle", "", 0)
			for at := 10.0; at < 900; at += 10 {
				s.phase(at, "waiting", "developer", 1).WaitsFor = "chemistry"
			}
		}},
		{name: "a phase that may have ended in a hole", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.temp(400, 37)
			s.temp(402, 37)
			s.phase(404, "in-bath", "bleach", 2)
			s.temp(300, 37.8).lost = true
		}, want: []string{"unit-silent developer urgent 385-400"}},
	})
}

func TestAborted(t *testing.T) {
	runScenarios(t, []scenario{
		{name: "before any film is wet", write: func(s *script) {
			s.phase(0, "idle", "", 0)
			s.phase(10, "heating", "developer", 1)
			s.phase(20, "aborted", "developer", 1)
		}},
		{name: "after the fixer", write: func(s *script) {
			s.c41(0)
			s.without(func(e *event) bool { return e.at > 1400 })
			s.phase(1401, "aborted", "wash-2", 5)
		}},
		{name: "joined after the fixer", write: func(s *script) {
			s.bath(0, 60, "wash-2", 5, always(38))
			s.phase(61, "aborted", "wash-2", 5)
		}},
		{name: "in the bleach; the next film does not end it", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 400, "bleach", 2, always(38))
			s.phase(401, "aborted", "bleach", 2)
			s.phase(411, "aborted", "bleach", 2)
			s.phase(420, "idle", "", 0)
			s.run = "r2"
			s.phase(500, "heating", "developer", 1)
		}, want: []string{"run-aborted bleach urgent 401-"}},
		{name: "a flush may be aborted", write: func(s *script) {
			s.kind = "flush"
			dev(s, 295, always(37.8))
			s.phase(300, "aborted", "developer", 1)
		}},
	})
}
