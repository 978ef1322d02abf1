package rules_test

import (
	"slices"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// Every figure of a rule has a side on which the figure itself stands. These
// rows put the telemetry on the figure and a moment or a hair beside it. The
// figures are those of the contract, section 2, and of sheets.md.
func TestEdgesOfTime(t *testing.T) {
	at := func(s *script, at float64, p lab.Phase, step string, n int) { s.Phase(at, p, step, n) }
	waits := func(s *script, from, to float64, what, step string, n int) {
		for at := from; at <= to; at += 10 {
			s.Phase(at, lab.PhaseWaiting, step, n).WaitsFor = what
		}
	}
	runScenarios(t, []scenario{
		{Name: "a developer drained at its latest second is not over", Write: func(s *script) { dev(s, 298.9, always(37.8)) }},
		{Name: "nor is it over at a message of that moment", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Without(func(e *event) bool { return e.At >= 294 })
			s.Temp(298.9, 37.8)
		}},
		{Name: "a tenth of a second later it is", Write: func(s *script) { dev(s, 299, always(37.8)) },
			Want: []string{"step-overrun developer urgent 298.9-299"}},
		{Name: "drained at its earliest second it is not short", Write: func(s *script) { dev(s, 291.1, always(37.8)) }},
		{Name: "a tenth before it is", Write: func(s *script) {
			dev(s, 291, always(37.8))
			s.WholeStep(315, 705, "bleach", 2, always(38))
		}, Want: []string{"step-short developer high 291-"}},
		{Name: "exact: wash 1 of E-6 drained at its earliest second", Process: "e6-7", Write: func(s *script) {
			s.Phase(0, lab.PhaseIdle, "", 0)
			s.Phase(10, lab.PhaseHeating, "first-developer", 1)
			s.WholeStep(100, 460, "first-developer", 1, always(38))
			s.WholeStep(480, 590, "wash-1", 2, always(38)) // 120 - 10
			s.WholeStep(620, 740, "reversal-bath", 3, always(37))
		}},
		{Name: "the longest time that may be set", Write: func(s *script) { s.SetTimes["developer"] = 198.9; dev(s, 295, always(37.8)) }},
		{Name: "a tenth more", Write: func(s *script) { s.SetTimes["developer"] = 199; dev(s, 295, always(37.8)) },
			Want: []string{"wrong-time-set developer high 10-"}},
		{Name: "the shortest", Write: func(s *script) { s.SetTimes["developer"] = 191.1; dev(s, 295, always(37.8)) }},
		{Name: "a tenth less", Write: func(s *script) { s.SetTimes["developer"] = 191; dev(s, 295, always(37.8)) },
			Want: []string{"wrong-time-set developer high 10-"}},
		{Name: "heating to the hour", Write: func(s *script) {
			at(s, 0, lab.PhaseIdle, "", 0)
			s.Stays(10, 3611, lab.PhaseHeating, "developer", 1) // the last at 3,610
		}},
		{Name: "draining to the minute", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Stays(295, 356, lab.PhaseDraining, "developer", 1)
		}},
		{Name: "and a moment over", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Stays(295, 356, lab.PhaseDraining, "developer", 1)
			s.Temp(355.1, 30)
		}, Want: []string{"phase-overdue developer/draining urgent 355-"}},
		{Name: "waiting with wet film to two minutes", Write: func(s *script) {
			bleached(s, always(38))
			waits(s, 720, 840, lab.WaitChemistry, "wash-1", 3)
		}},
		{Name: "to the dryer to five", Write: func(s *script) {
			end := s.C41(0)
			s.Without(func(e *event) bool { return e.At >= end })
			waits(s, end, end+300, lab.WaitToDryer, "", 0)
		}},
		{Name: "no reading for just ten seconds", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Without(func(e *event) bool { return e.M.Temp != nil && e.At > 200 && e.At < 211 || e.At > 210 })
			s.RPM(210, 30)
		}},
		{Name: "and a moment more", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Without(func(e *event) bool { return e.M.Temp != nil && e.At > 200 && e.At < 211 || e.At > 210 })
			s.RPM(210.1, 30)
		}, Want: []string{"reading-missing developer urgent 210-"}},
		{Name: "a hole of just ten seconds ends no hold: the excursion is one", Write: func(s *script) {
			bleached(s, between(35.4, 400, 440, 34.5))
			s.Cut(403, 412)
		}, Want: []string{"bath-temperature bleach low 415-460"}},
		{Name: "of twelve it does", Write: func(s *script) {
			bleached(s, between(35.4, 400, 440, 34.5))
			s.Cut(402.5, 413.5)
		}, Want: []string{"bath-temperature bleach low 429-460"}},
		{Name: "a gap that could just hold half a minute's bath", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Temp(300, 30)
			s.Temp(330, 30).Lost = true
			s.Temp(360, 30)
			s.WholeStep(370, 565, "wash-1", 3, always(38))
			s.Without(func(e *event) bool { return e.M.Motion != nil && e.At > 295 && e.At < 360 })
		}},
		{Name: "and one a moment too short", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Temp(300, 30)
			s.Temp(330, 30).Lost = true
			s.Temp(359, 30)
			s.WholeStep(370, 565, "wash-1", 3, always(38))
		}, Want: []string{"step-skipped wash-1/bleach urgent 365-"}},
	})
}

// The edges of readings: sheets.md for the limits, figures.yaml for the holds.
func TestEdgesOfReadings(t *testing.T) {
	fig := rules.Builtin().Figures
	still := func(s *script, from, to, rpm float64) {
		for _, e := range s.Events {
			if e.M.Motion != nil && e.At >= from && e.At < to {
				v := rpm
				e.M.Motion.RPM = &v
			}
		}
	}
	runScenarios(t, []scenario{
		{Name: "at the lower limit is inside", Write: func(s *script) { dev(s, 295, always(37.65)) }},
		{Name: "just under it is not", Write: func(s *script) { dev(s, 295, always(37.64)) },
			Want: []string{"bath-temperature developer high 130-295"}},
		{Name: "settling: just 1 °C outside is not far", Write: func(s *script) { dev(s, 295, between(37.8, 100, 126, 36.65)) }},
		{Name: "five turns a minute are turning, 4.9 are not", Write: func(s *script) {
			dev(s, 295, always(37.8))
			still(s, 151, 190, fig.RotationRPM)
			still(s, 201, 213, fig.RotationRPM-0.1)
		}, Want: []string{"rotation-stopped developer urgent 209-213"}},
		{Name: "five begins no standing still either", Write: func(s *script) {
			dev(s, 295, always(37.8))
			still(s, 193, 201, fig.RotationRPM)
			still(s, 201, 209, fig.RotationRPM-0.1)
		}},
		{Name: "no battery is low at 30 %; one that was is not low any more", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Power(150, "battery", "lost", 30, 0)
			s.Power(160, "battery", "", 29.9, 0)
			s.Power(170, "battery", "", 30, 0)
			s.Power(180, "mains", "restored", 30, 30)
		}, Want: []string{"power-lost developer urgent 150-180", "battery-low developer urgent 160-170", "power-resumed developer urgent 180-"}},
		{Name: "85 % is nearly full", Write: func(s *script) {
			s.Stays(0, 200, lab.PhaseIdle, "", 0)
			s.Levels(10, 100, 10, "waste", always(fig.NearlyFull*18.9))
		}, Want: []string{"waste-nearly-full /waste high 40-"}},
		{Name: "a hair less is not", Write: func(s *script) {
			s.Stays(0, 200, lab.PhaseIdle, "", 0)
			s.Levels(10, 100, 10, "waste", always(fig.NearlyFull*18.9-0.001))
		}},
		{Name: "a shortage that just fits is none", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Levels(5, 100, 10, "waste", always(18.9-5)) // ten drains of half a litre
			s.Levels(6, 100, 10, "wash", always(3))       // six draws
			s.Without(func(e *event) bool { return e.At > 150 })
		}, Want: []string{"waste-nearly-full developer/waste high 15-"}}, // not for the run, for the next
		{Name: "by ten millilitres it is one", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Levels(5, 100, 10, "waste", always(18.9-5+0.01))
			s.Levels(6, 100, 10, "wash", always(2.99))
			s.Without(func(e *event) bool { return e.At > 150 })
		}, Want: []string{"wash-water-short developer/wash high 15-", "waste-nearly-full developer/waste high 15-",
			"waste-will-not-fit developer/waste high 15-"}},
		{Name: "a drain whose container has risen by just half is arriving", Write: func(s *script) {
			s.C41(0)
			s.Levels(1, 231, 4, "waste", func(t float64) float64 { return 2 + min(max(t-215, 0)/10, 1)*0.25 })
			s.Without(func(e *event) bool { return e.At > 240 })
		}},
	})
}

// The edges of what is judged on arrival.
func TestEdgesOfArrival(t *testing.T) {
	u := newScript("c41").Unit
	inBath := func(name string, last float64) []lab.Message {
		s := newScript("c41")
		s.Unit.Unit = name
		dev(s, 295, always(37.8))
		s.Without(func(e *event) bool { return e.At >= last })
		s.Phase(last, lab.PhaseInBath, "developer", 1)
		return s.Messages()
	}
	const arrives = 0.02 // after it was sent
	tick := func(b *bench, at float64) { b.Note(b.E.Tick(t.Context(), moment(at), b)) }

	t.Run("silent at 90 s to the moment", func(t *testing.T) {
		b := newBench(t).Play(inBath("plover", 200))
		tick(b, 290+arrives-0.001)
		b.Want()
		tick(b, 290+arrives)
		b.Want("unit-silent developer urgent 290-")
	})
	t.Run("by the will at 15", func(t *testing.T) {
		s := newScript("c41")
		s.Will(210)
		b := newBench(t).Play(inBath("plover", 200)).Play(s.Messages())
		tick(b, 225+arrives-0.001)
		b.Want()
		tick(b, 225+arrives)
		b.Want("unit-silent developer urgent 225-")
	})
	// Silent together means quiet for 45 s when the first is silent.
	t.Run("quiet for just 45 s is quiet", func(t *testing.T) {
		for other, want := range map[float64]string{245: "network", 245.5: ""} {
			all := append(inBath("plover", 200), inBath("heron", other)...)
			sortByReceived(all)
			b := newBench(t).Play(all)
			tick(b, 290+arrives)
			for _, o := range b.Found {
				if o.Subject != want {
					t.Errorf("the other was last heard at %g: subject %q, want %q", other, o.Subject, want)
				}
			}
			if len(b.Found) != 1 {
				t.Errorf("the other was last heard at %g: %v, want one alert", other, b.Lines())
			}
		}
	})
	t.Run("a clock that is off by just five seconds is allowed", func(t *testing.T) {
		for by, want := range map[float64][]string{-5: nil, -5.1: {"clock-off  low 0-"}, 5: nil, 5.1: {"clock-off  low 0-"}} {
			s := newScript("c41")
			s.Stays(0, 100, lab.PhaseIdle, "", 0)
			for _, e := range s.Events {
				e.Shift = by
			}
			msgs := s.Messages()
			for i := range msgs {
				msgs[i].Received = msgs[i].At.Add(lab.Seconds(-by))
			}
			if b := newBench(t).Play(msgs); !slices.Equal(b.Lines(), want) {
				t.Errorf("off by %g: %v, want %v", by, b.Lines(), want)
			}
		}
	})
	t.Run("ten refused within less than a minute", func(t *testing.T) {
		for last, want := range map[float64][]string{60: nil, 59.9: {"telemetry-refused  high 59.9-"}} {
			b := newBench(t)
			for i := range 10 {
				at := float64(i)
				if i == 9 {
					at = last
				}
				b.No++
				q := lab.Quarantined{Unit: u, Received: moment(at), Arrival: b.No, Reason: "json: cut short"}
				b.Note(b.E.Feed(t.Context(), []lab.Arrival{{Refused: &q}}, b))
			}
			if !slices.Equal(b.Lines(), want) {
				t.Errorf("the tenth at %g s: %v, want %v", last, b.Lines(), want)
			}
		}
	})
	t.Run("a run of which nothing is heard for six hours is lost", func(t *testing.T) {
		b := newBench(t).Play(inBath("plover", 200))
		for _, c := range []struct {
			after float64
			want  string
		}{{6*3600 - 0.001, lab.OutcomeRunning}, {6 * 3600, lab.OutcomeLost}} {
			tick(b, 200+arrives+c.after)
			if r := b.Runs[rules.RunID(u, "r1")]; r.Outcome != c.want {
				t.Errorf("after %g s the run is %s, want %s", c.after, r.Outcome, c.want)
			}
		}
	})
}

// A shortage turns urgent five minutes before, by time alone: no new reading
// of a level is needed for it.
func TestShortageTurnsUrgent(t *testing.T) {
	s := newScript("c41")
	s.C41(0)
	s.Level(5, "wash", 0.3) // wash-1 draws first, at about 628
	s.Level(15, "wash", 0.3)
	b := newBench(t)
	var turned time.Time
	acts := ""
	for _, m := range s.Messages() {
		b.Play([]lab.Message{m})
		for _, o := range b.Found {
			if o.Rule != rules.RuleWashWaterShort || !turned.IsZero() {
				continue
			}
			if acts == "" && o.Priority != lab.High {
				t.Fatalf("%s was raised as %s, with %v s to go", o.Rule, o.Priority, o.Facts["draw_in_s"])
			}
			acts, _ = o.Facts["act_at"].(string)
			if o.Priority == lab.Urgent {
				turned = m.At
			}
		}
		if !turned.IsZero() {
			break
		}
	}
	act, err := time.Parse(time.RFC3339, acts)
	if err != nil || turned.IsZero() {
		t.Fatalf("never urgent; act at %q: %v", acts, b.Lines())
	}
	// readings come every second or two
	if left := act.Sub(turned).Seconds(); left > 300 || left < 297 {
		t.Errorf("urgent %g s before the draw; want 300", left)
	}
}

// Two labs on one monitor: the failure of one network is not that of the other,
// and a lab that is well does not make the other's failure look like one unit's.
func TestTwoLabsSilentAtOnce(t *testing.T) {
	var all []lab.Message
	for _, u := range []lab.UnitID{{Lab: "tern-street", Unit: "plover"}, {Lab: "tern-street", Unit: "heron"},
		{Lab: "quay-side", Unit: "dunlin"}, {Lab: "quay-side", Unit: "knot"}, {Lab: "the-mill", Unit: "wren"}} {
		s := newScript("c41")
		s.Unit = u
		dev(s, 295, always(37.8))
		if u.Lab != "the-mill" {
			s.Without(func(e *event) bool { return e.At > 200 })
		}
		all = append(all, s.Messages()...)
	}
	sortByReceived(all)
	b := newBench(t).Play(all).Until(292)
	var got []string
	for _, o := range b.Found {
		names, _ := o.Facts["units"].([]string)
		got = append(got, o.Unit.Lab+" "+o.Subject)
		slices.Sort(names)
		want := []string{"heron", "plover"}
		if o.Unit.Lab == "quay-side" {
			want = []string{"dunlin", "knot"}
		}
		if !slices.Equal(names, want) {
			t.Errorf("%s: units %v, want %v", o.Unit.Lab, names, want)
		}
	}
	slices.Sort(got)
	if want := []string{"quay-side network", "tern-street network"}; !slices.Equal(got, want) {
		t.Errorf("alerts %v, want %v", got, want)
	}
}

// After a hole only a message of the very step proves that the film is still
// in it: the same bath under another n is another step.
func TestSameStepUnderAnotherNumber(t *testing.T) {
	runScenarios(t, []scenario{{Name: "wash 2 called by the name of wash 1", Process: "c41", Write: func(s *script) {
		s.Phase(0, lab.PhaseIdle, "", 0)
		s.Phase(10, lab.PhaseHeating, "wash-1", 1)
		s.WholeStep(100, 350, "wash-1", 1, always(38)) // 195 + 60: over at 355
		s.WholeStep(400, 595, "wash-1", 2, always(38))
		s.Cut(340, 402) // the first message after the hole is of the second
		s.Without(func(e *event) bool {
			return e.M.Step != nil && e.At >= 400 && e.At < 410 && e.M.Step.Phase != lab.PhaseInBath
		})
	}, Want: []string{"step-skipped wash-1/bleach urgent 10-", "step-skipped wash-1/developer urgent 10-"}}})
}
