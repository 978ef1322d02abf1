package rules_test

import (
	"testing"

	"wetside/rules"
)

// Default containers of 18.9 l; a run of C-41 at 0.5 l a fill, its two washes
// of three fills each as long as the unit has not shown another number, drains
// 5 l into waste and draws 3 l from wash. Those of script.c41 fill once.
func TestWaste(t *testing.T) {
	idle := func(s *script, from, to float64) { s.Stays(from, to, "idle", "", 0) }
	full := []string{"waste"}
	runScenarios(t, []scenario{
		{Name: "85 %, idle: 30 s", Write: func(s *script) {
			idle(s, 0, 200)
			s.Level(10, "waste", 16.0)
			s.Level(40, "waste", 16.1) // 0.85 of 18.9 is 16.065
			s.Level(70, "waste", 16.1)
			s.Level(100, "waste", 16.1)
		}, Want: []string{"waste-nearly-full /waste high 70-"}},
		{Name: "one reading is not steady", Write: func(s *script) {
			idle(s, 0, 200)
			s.Level(10, "waste", 17)
			s.Level(40, "waste", 3)
			s.Level(70, "waste", 17)
		}},
		{Name: "clears below 75 %, not at 80", Write: func(s *script) {
			idle(s, 0, 300)
			for at, l := range map[float64]float64{10: 17, 40: 17, 70: 15, 100: 14.2, 130: 14, 160: 14} {
				s.Level(at, "waste", l)
			}
		}, Want: []string{"waste-nearly-full /waste high 40-130"}},
		{Name: "float closed; clears 60 s after it opened", Write: func(s *script) {
			idle(s, 0, 300)
			for _, at := range []float64{10, 40, 70} {
				s.Level(at, "waste", 5, full...)
			}
			for _, at := range []float64{100, 130, 170, 200} {
				s.Level(at, "waste", 0)
			}
		}, Want: []string{"waste-nearly-full /waste high 40-160"}},
		{Name: "a float that bounces says nothing", Write: func(s *script) {
			idle(s, 0, 300)
			for i := range 20 {
				s.Level(10+float64(i)*5, "waste", 5, full[:i%2]...)
			}
		}},
		{Name: "in a run 5 s", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Level(150, "waste", 5, full...)
			s.Level(154, "waste", 5, full...)
			s.Level(158, "waste", 5, full...)
		}, Want: []string{"waste-nearly-full developer/waste high 155-"}},
		{Name: "while draining 15 s", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Level(200, "waste", 5)
			for at := 296.0; at < 330; at += 4 {
				s.Level(at, "waste", 5, full...)
			}
			s.Stays(296, 330, "draining", "developer", 1)
		}, Want: []string{"waste-nearly-full developer/waste high 311-"}},
		{Name: "no room for the next run", Write: func(s *script) {
			end := s.C41(0)
			for at := end + 10; at < end+100; at += 30 {
				s.Level(at, "waste", 15.9) // 3.0 of room, 3.0 wanted
			}
			for at := end + 130; at < end+220; at += 30 {
				s.Level(at, "waste", 15.91)
			}
		}, Want: []string{"waste-nearly-full /waste high 1755-"}},
		{Name: "a run that will not fit: high, urgent from five minutes before the drain", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			s.Level(5, "waste", 18.2)
			s.Level(150, "waste", 18.2)
			s.Level(154, "waste", 18.2)
		}, Want: []string{"waste-will-not-fit developer/waste urgent 15-", "waste-nearly-full developer/waste high 35-"}},
		{Name: "high while it is further off", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Without(func(e *event) bool { return e.At > 250 })
			s.Level(5, "waste", 16.0) // fifth drain of six
			s.Level(150, "waste", 16.0)
			s.Level(154, "waste", 16.0)
		}, Want: []string{"waste-nearly-full developer/waste high 15-", "waste-will-not-fit developer/waste high 15-"}},
		{Name: "a drain under way owes what has not arrived", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Level(5, "waste", 13.8)
			s.Level(150, "waste", 13.8)
			for i := range 8 {
				s.Level(297+float64(i)*2, "waste", 13.8+0.06*float64(i)) // 0.42 of 0.5 when 311
			}
			s.Stays(296, 313, "draining", "developer", 1)
			s.Level(330, "waste", 14.3)
			s.Level(340, "waste", 14.3)
			s.Phase(314, "filling", "bleach", 2)
		}, Want: []string{"waste-nearly-full developer/waste high 15-"}},
		{Name: "never heard is unknown, not empty or full", Write: func(s *script) {
			s.C41(0)
			s.Level(100, "wash", 18)
		}},
		{Name: "wash water: six fills of half a litre", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Level(5, "wash", 2.9)
			s.Level(150, "wash", 2.9)
			s.Level(200, "wash", 3.6)
			s.Level(210, "wash", 3.6)
		}, Want: []string{"wash-water-short developer/wash high 15-205"}},
		{Name: "just enough is not enough to be over: 3 % of 18.9 l more", Write: func(s *script) {
			dev(s, 295, always(37.8))
			for at := 5.0; at < 250; at += 10 {
				s.Level(at, "wash", 2.9+0.2*float64(int(at/30)%2))
			}
		}, Want: []string{"wash-water-short developer/wash high 15-"}},
	})
}

// What is still to drain counts the bath that is in, whichever step it is of:
// 14.5 l and 4.5 l to come do not go into 18.9 l. (A drain that ended was
// counted to the step that begins.)
func TestTheBathThatIsInIsStillToDrain(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	s.WholeStep(320, 710, "bleach", 2, always(38))
	for at := 400.0; at < 430; at += 5 {
		s.Level(at, "waste", 14.5)
	}
	b := newBench(t).Play(s.Messages())
	for _, o := range b.Found {
		if o.Rule == rules.RuleWasteWillNotFit {
			if o.Facts["still_to_come_l"] != 4.5 || o.Step != "bleach" {
				t.Errorf("in %s, still to come %v l; want 4.5 in the bleach", o.Step, o.Facts["still_to_come_l"])
			}
			return
		}
	}
	t.Errorf("not told: %v", b.Lines())
}
