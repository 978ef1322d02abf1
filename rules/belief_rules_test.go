package rules_test

import (
	"fmt"
	"math"
	"testing"

	"wetside/internal/lab"
	"wetside/rules"
)

// by gives a temperature that is what f says within a time, aim elsewhere.
func by(aim, from, to float64, f at) at {
	return func(t float64) float64 {
		if t >= from && t < to {
			return f(t)
		}
		return aim
	}
}

// Contract, section 2.1: when a reading is believed. The developer of C-41 is
// in at 100 and drained at 295.
func TestReadingDoubtful(t *testing.T) {
	runScenarios(t, []scenario{
		{Name: "a jump of 25 °C: no drain by it", Write: func(s *script) { // 150 to 178
			dev(s, 295, between(37.8, 150, 180, 55))
		}, Want: []string{"reading-doubtful developer urgent 160-200"}},
		{Name: "outside what any bath can be", Write: func(s *script) {
			dev(s, 295, between(37.8, 200, 400, 100.04))
		}, Want: []string{"reading-doubtful developer urgent 210-295"}},
		{Name: "single readings are passed over", Write: func(s *script) {
			dev(s, 295, func(t float64) float64 {
				if int(t)%20 == 0 {
					return -40
				}
				return 37.8
			})
		}},
		{Name: "the first 30 s of a fill are free", Write: func(s *script) {
			dev(s, 295, by(37.8, 100, 128, func(t float64) float64 { return 37.8 - 0.9*math.Exp(-(t-100)/4) }))
		}},
		{Name: "longer while they close in", Write: func(s *script) {
			bleached(s, by(38, 320, 380, func(t float64) float64 { return 36 + 2*float64(int(t-320)/8*8)/60 }))
		}},
		{Name: "back within reach, it is believed again", Write: func(s *script) {
			dev(s, 295, between(37.8, 140, 170, 41.5)) // 3.7 away: never within 3
		}, Want: []string{"reading-doubtful developer urgent 150-190"}},
		{Name: "in another bath it can wait", Write: func(s *script) {
			bleached(s, between(38, 400, 440, 55))
		}, Want: []string{"reading-doubtful bleach low 410-460"}},
		{Name: "nothing that arrives is missing", Write: func(s *script) {
			dev(s, 295, between(37.8, 150, 400, 1999))
		}, Want: []string{"reading-doubtful developer urgent 160-295"}},
		{Name: "a flat line is in the report only, before five like baths are known", Write: func(s *script) { s.C41(0) }},
	})
}

// What was not believed is no evidence; half of it or more, and there is no
// push error.
func TestUnbelievedIsUnread(t *testing.T) {
	for _, tt := range []struct {
		name    string
		to      float64 // doubtful from 140 on
		null    bool
		reason  bool
		verdict string
	}{
		{"8 s", 148, false, false, lab.InControl},
		{"12 s", 152, false, true, lab.Inspect},
		{"90 s of 195", 230, false, true, lab.Inspect},
		{"100 s of 195", 240, true, true, lab.Inspect},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := c41Run(t, func(s *script) { s.Warm(60, 60+tt.to-140, 75) })
			r := played(t, s).Runs[rules.RunID(s.Unit, "r1")]
			st := r.Steps[0]
			if got := st.PushErrorStops == nil; got != tt.null || (r.PushErrorStops == nil) != tt.null {
				t.Errorf("push error %v, want null %v", st.PushErrorStops, tt.null)
			}
			if !tt.null && math.Abs(*st.PushErrorStops) > 0.01 {
				t.Errorf("push error %g, want 0: what was not believed does not count", *st.PushErrorStops)
			}
			has := false
			for _, y := range r.Reasons {
				has = has || y.Code == "missing-evidence" && y.Step == "developer"
			}
			if has != tt.reason || *r.Verdict != tt.verdict {
				t.Errorf("missing-evidence %v, %s; want %v, %s: %+v", has, *r.Verdict, tt.reason, tt.verdict, r.Reasons)
			}
			if st.UnbelievedN == 0 || st.UnbelievedWhy != "range" {
				t.Errorf("the report counts %d unbelieved readings (%q)", st.UnbelievedN, st.UnbelievedWhy)
			}
		})
	}
}

// What the probe says is shown as doubtful while it is not believed, beside
// the last that was; a single reading is passed over there too.
func TestDoubtfulIsShown(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, between(37.8, 150, 180, 55))
	for _, tt := range []struct {
		at   float64
		want string
	}{{152, "37.8 within"}, {165, "37.8 unknown, 55 for jump"}, {200, "37.8 within"}} {
		b := heardBy(t, s, tt.at)
		v, _ := b.E.View(s.Unit, moment(tt.at))
		got := fmt.Sprint(*v.Bath.C, " ", v.Bath.Standing)
		if d := v.Bath.Doubtful; d != nil {
			got += fmt.Sprint(", ", d.C, " for ", d.Why)
		}
		if got != tt.want {
			t.Errorf("at %g s the board shows %s; want %s", tt.at, got, tt.want)
		}
	}
}
