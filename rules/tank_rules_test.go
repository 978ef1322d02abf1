package rules

import "testing"

// Default containers of 18.9 l; a run of C-41 at 0.5 l a fill, its two washes
// of three fills each as long as the unit has not shown another number, drains
// 5 l into waste and draws 3 l from wash. Those of script.c41 fill once.
func TestWaste(t *testing.T) {
	idle := func(s *script, from, to float64) { s.stays(from, to, "idle", "", 0) }
	full := []string{"waste"}
	runScenarios(t, []scenario{
		{name: "85 %, idle: 30 s", write: func(s *script) {
			idle(s, 0, 200)
			s.level(10, "waste", 16.0)
			s.level(40, "waste", 16.1) // 0.85 of 18.9 is 16.065
			s.level(70, "waste", 16.1)
			s.level(100, "waste", 16.1)
		}, want: []string{"waste-nearly-full /waste high 70-"}},
		{name: "one reading is not steady", write: func(s *script) {
			idle(s, 0, 200)
			s.level(10, "waste", 17)
			s.level(40, "waste", 3)
			s.level(70, "waste", 17)
		}},
		{name: "clears below 75 %, not at 80", write: func(s *script) {
			idle(s, 0, 300)
			for at, l := range map[float64]float64{10: 17, 40: 17, 70: 15, 100: 14.2, 130: 14, 160: 14} {
				s.level(at, "waste", l)
			}
		}, want: []string{"waste-nearly-full /waste high 40-130"}},
		{name: "float closed; clears 60 s after it opened", write: func(s *script) {
			idle(s, 0, 300)
			for _, at := range []float64{10, 40, 70} {
				s.level(at, "waste", 5, full...)
			}
			for _, at := range []float64{100, 130, 170, 200} {
				s.level(at, "waste", 0)
			}
		}, want: []string{"waste-nearly-full /waste high 40-160"}},
		{name: "a float that bounces says nothing", write: func(s *script) {
			idle(s, 0, 300)
			for i := range 20 {
				s.level(10+float64(i)*5, "waste", 5, full[:i%2]...)
			}
		}},
		{name: "in a run 5 s", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.level(150, "waste", 5, full...)
			s.level(154, "waste", 5, full...)
			s.level(158, "waste", 5, full...)
		}, want: []string{"waste-nearly-full developer/waste high 155-"}},
		{name: "while draining 15 s", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.level(200, "waste", 5)
			for at := 296.0; at < 330; at += 4 {
				s.level(at, "waste", 5, full...)
			}
			s.stays(296, 330, "draining", "developer", 1)
		}, want: []string{"waste-nearly-full developer/waste high 311-"}},
		{name: "no room for the next run", write: func(s *script) {
			end := s.c41(0)
			for at := end + 10; at < end+100; at += 30 {
				s.level(at, "waste", 15.9) // 3.0 of room, 3.0 wanted
			}
			for at := end + 130; at < end+220; at += 30 {
				s.level(at, "waste", 15.91)
			}
		}, want: []string{"waste-nearly-full /waste high 1755-"}},
		{name: "a run that will not fit: high, urgent from five minutes before the drain", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			s.level(5, "waste", 18.2)
			s.level(150, "waste", 18.2)
			s.level(154, "waste", 18.2)
		}, want: []string{"waste-will-not-fit developer/waste urgent 15-", "waste-nearly-full developer/waste high 35-"}},
		{name: "high while it is further off", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.without(func(e *event) bool { return e.at > 250 })
			s.level(5, "waste", 16.0) // fifth drain of six
			s.level(150, "waste", 16.0)
			s.level(154, "waste", 16.0)
		}, want: []string{"waste-nearly-full developer/waste high 15-", "waste-will-not-fit developer/waste high 15-"}},
		{name: "a drain under way owes what has not arrived", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.level(5, "waste", 13.8)
			s.level(150, "waste", 13.8)
			for i := range 8 {
				s.level(297+float64(i)*2, "waste", 13.8+0.06*float64(i)) // 0.42 of 0.5 when 311
			}
			s.stays(296, 313, "draining", "developer", 1)
			s.level(330, "waste", 14.3)
			s.level(340, "waste", 14.3)
			s.phase(314, "filling", "bleach", 2)
		}, want: []string{"waste-nearly-full developer/waste high 15-"}},
		{name: "never heard is unknown, not empty or full", write: func(s *script) {
			s.c41(0)
			s.level(100, "wash", 18)
		}},
		{name: "wash water: six fills of half a litre", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.level(5, "wash", 2.9)
			s.level(150, "wash", 2.9)
			s.level(200, "wash", 3.6)
			s.level(210, "wash", 3.6)
		}, want: []string{"wash-water-short developer/wash high 15-205"}},
		{name: "just enough is not enough to be over: 3 % of 18.9 l more", write: func(s *script) {
			dev(s, 295, always(37.8))
			for at := 5.0; at < 250; at += 10 {
				s.level(at, "wash", 2.9+0.2*float64(int(at/30)%2))
			}
		}, want: []string{"wash-water-short developer/wash high 15-"}},
	})
}

// What is still to drain counts the bath that is in, whichever step it is of:
// 14.5 l and 4.5 l to come do not go into 18.9 l. (A drain that ended was
// counted to the step that begins.)
func TestTheBathThatIsInIsStillToDrain(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	s.step(320, 710, "bleach", 2, always(38))
	for at := 400.0; at < 430; at += 5 {
		s.level(at, "waste", 14.5)
	}
	b := newBench(t).play(s.messages())
	for _, o := range b.found {
		if o.Rule == RuleWasteWillNotFit {
			if o.Facts["still_to_come_l"] != 4.5 || o.Step != "bleach" {
				t.Errorf("in %s, still to come %v l; want 4.5 in the bleach", o.Step, o.Facts["still_to_come_l"])
			}
			return
		}
	}
	t.Errorf("not told: %v", b.lines())
}
