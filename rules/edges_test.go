package rules

import (
	"math"
	"slices"
	"testing"
	"time"

	"wetside/internal/lab"
)

// Every figure of a rule has a side on which the figure itself stands. These
// rows put the telemetry on the figure and a moment or a hair beside it. The
// figures are those of the contract, section 2, and of sheets.md.
func TestEdgesOfTime(t *testing.T) {
	at := func(s *script, at float64, p lab.Phase, step string, n int) { s.phase(at, p, step, n) }
	waits := func(s *script, from, to float64, what, step string, n int) {
		for at := from; at <= to; at += 10 {
			s.phase(at, lab.PhaseWaiting, step, n).WaitsFor = what
		}
	}
	runScenarios(t, []scenario{
		{name: "a developer drained at its latest second is not over", write: func(s *script) { dev(s, 298.9, always(37.8)) }},
		{name: "nor is it over at a message of that moment", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.without(func(e *event) bool { return e.at >= 294 })
			s.temp(298.9, 37.8)
		}},
		{name: "a tenth of a second later it is", write: func(s *script) { dev(s, 299, always(37.8)) },
			want: []string{"step-overrun developer urgent 298.9-299"}},
		{name: "drained at its earliest second it is not short", write: func(s *script) { dev(s, 291.1, always(37.8)) }},
		{name: "a tenth before it is", write: func(s *script) {
			dev(s, 291, always(37.8))
			s.step(315, 705, "bleach", 2, always(38))
		}, want: []string{"step-short developer high 291-"}},
		{name: "exact: wash 1 of E-6 drained at its earliest second", process: "e6-7", write: func(s *script) {
			s.phase(0, lab.PhaseIdle, "", 0)
			s.phase(10, lab.PhaseHeating, "first-developer", 1)
			s.step(100, 460, "first-developer", 1, always(38))
			s.step(480, 590, "wash-1", 2, always(38)) // 120 - 10
			s.step(620, 740, "reversal-bath", 3, always(37))
		}},
		{name: "the longest time that may be set", write: func(s *script) { s.set["developer"] = 198.9; dev(s, 295, always(37.8)) }},
		{name: "a tenth more", write: func(s *script) { s.set["developer"] = 199; dev(s, 295, always(37.8)) },
			want: []string{"wrong-time-set developer high 10-"}},
		{name: "the shortest", write: func(s *script) { s.set["developer"] = 191.1; dev(s, 295, always(37.8)) }},
		{name: "a tenth less", write: func(s *script) { s.set["developer"] = 191; dev(s, 295, always(37.8)) },
			want: []string{"wrong-time-set developer high 10-"}},
		{name: "heating to the hour", write: func(s *script) {
			at(s, 0, lab.PhaseIdle, "", 0)
			s.stays(10, 3611, lab.PhaseHeating, "developer", 1) // the last at 3,610
		}},
		{name: "draining to the minute", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.stays(295, 356, lab.PhaseDraining, "developer", 1)
		}},
		{name: "and a moment over", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.stays(295, 356, lab.PhaseDraining, "developer", 1)
			s.temp(355.1, 30)
		}, want: []string{"phase-overdue developer/draining urgent 355-"}},
		{name: "waiting with wet film to two minutes", write: func(s *script) {
			bleached(s, always(38))
			waits(s, 720, 840, lab.WaitChemistry, "wash-1", 3)
		}},
		{name: "to the dryer to five", write: func(s *script) {
			end := s.c41(0)
			s.without(func(e *event) bool { return e.at >= end })
			waits(s, end, end+300, lab.WaitToDryer, "", 0)
		}},
		{name: "no reading for just ten seconds", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.without(func(e *event) bool { return e.m.Temp != nil && e.at > 200 && e.at < 211 || e.at > 210 })
			s.rpm(210, 30)
		}},
		{name: "and a moment more", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.without(func(e *event) bool { return e.m.Temp != nil && e.at > 200 && e.at < 211 || e.at > 210 })
			s.rpm(210.1, 30)
		}, want: []string{"reading-missing developer urgent 210-"}},
		{name: "a hole of just ten seconds ends no hold: the excursion is one", write: func(s *script) {
			bleached(s, between(35.4, 400, 440, 34.5))
			s.cut(403, 412)
		}, want: []string{"bath-temperature bleach low 415-460"}},
		{name: "of twelve it does", write: func(s *script) {
			bleached(s, between(35.4, 400, 440, 34.5))
			s.cut(402.5, 413.5)
		}, want: []string{"bath-temperature bleach low 429-460"}},
		{name: "a gap that could just hold half a minute's bath", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.temp(300, 30)
			s.temp(330, 30).lost = true
			s.temp(360, 30)
			s.step(370, 565, "wash-1", 3, always(38))
			s.without(func(e *event) bool { return e.m.Motion != nil && e.at > 295 && e.at < 360 })
		}},
		{name: "and one a moment too short", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.temp(300, 30)
			s.temp(330, 30).lost = true
			s.temp(359, 30)
			s.step(370, 565, "wash-1", 3, always(38))
		}, want: []string{"step-skipped wash-1/bleach urgent 365-"}},
	})
}

// The edges of readings: sheets.md for the limits, figures.yaml for the holds.
func TestEdgesOfReadings(t *testing.T) {
	fig := Builtin().Figures
	still := func(s *script, from, to, rpm float64) {
		for _, e := range s.events {
			if e.m.Motion != nil && e.at >= from && e.at < to {
				v := rpm
				e.m.Motion.RPM = &v
			}
		}
	}
	runScenarios(t, []scenario{
		{name: "at the lower limit is inside", write: func(s *script) { dev(s, 295, always(37.65)) }},
		{name: "just under it is not", write: func(s *script) { dev(s, 295, always(37.64)) },
			want: []string{"bath-temperature developer high 130-295"}},
		{name: "settling: just 1 °C outside is not far", write: func(s *script) { dev(s, 295, between(37.8, 100, 126, 36.65)) }},
		{name: "five turns a minute are turning, 4.9 are not", write: func(s *script) {
			dev(s, 295, always(37.8))
			still(s, 151, 190, fig.RotationRPM)
			still(s, 201, 213, fig.RotationRPM-0.1)
		}, want: []string{"rotation-stopped developer urgent 209-213"}},
		{name: "five begins no standing still either", write: func(s *script) {
			dev(s, 295, always(37.8))
			still(s, 193, 201, fig.RotationRPM)
			still(s, 201, 209, fig.RotationRPM-0.1)
		}},
		{name: "no battery is low at 30 %; one that was is not low any more", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.power(150, "battery", "lost", 30, 0)
			s.power(160, "battery", "", 29.9, 0)
			s.power(170, "battery", "", 30, 0)
			s.power(180, "mains", "restored", 30, 30)
		}, want: []string{"power-lost developer urgent 150-180", "battery-low developer urgent 160-170", "power-resumed developer urgent 180-"}},
		{name: "85 % is nearly full", write: func(s *script) {
			s.stays(0, 200, lab.PhaseIdle, "", 0)
			s.levels(10, 100, 10, "waste", always(fig.NearlyFull*18.9))
		}, want: []string{"waste-nearly-full /waste high 40-"}},
		{name: "a hair less is not", write: func(s *script) {
			s.stays(0, 200, lab.PhaseIdle, "", 0)
			s.levels(10, 100, 10, "waste", always(fig.NearlyFull*18.9-0.001))
		}},
		{name: "a shortage that just fits is none", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.levels(5, 100, 10, "waste", always(18.9-5)) // ten drains of half a litre
			s.levels(6, 100, 10, "wash", always(3))       // six draws
			s.without(func(e *event) bool { return e.at > 150 })
		}, want: []string{"waste-nearly-full developer/waste high 15-"}}, // not for the run, for the next
		{name: "by ten millilitres it is one", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.levels(5, 100, 10, "waste", always(18.9-5+0.01))
			s.levels(6, 100, 10, "wash", always(2.99))
			s.without(func(e *event) bool { return e.at > 150 })
		}, want: []string{"wash-water-short developer/wash high 15-", "waste-nearly-full developer/waste high 15-",
			"waste-will-not-fit developer/waste high 15-"}},
		{name: "a drain whose container has risen by just half is arriving", write: func(s *script) {
			s.c41(0)
			s.levels(1, 231, 4, "waste", func(t float64) float64 { return 2 + min(max(t-215, 0)/10, 1)*0.25 })
			s.without(func(e *event) bool { return e.at > 240 })
		}},
	})
}

// The edges of what is judged on arrival.
func TestEdgesOfArrival(t *testing.T) {
	u := newScript("c41").unit
	inBath := func(name string, last float64) []lab.Message {
		s := newScript("c41")
		s.unit.Unit = name
		dev(s, 295, always(37.8))
		s.without(func(e *event) bool { return e.at >= last })
		s.phase(last, lab.PhaseInBath, "developer", 1)
		return s.messages()
	}
	const arrives = 0.02 // after it was sent
	tick := func(b *bench, at float64) { b.note(b.e.Tick(t.Context(), moment(at), b)) }

	t.Run("silent at 90 s to the moment", func(t *testing.T) {
		b := newBench(t).play(inBath("plover", 200))
		tick(b, 290+arrives-0.001)
		b.want()
		tick(b, 290+arrives)
		b.want("unit-silent developer urgent 290-")
	})
	t.Run("by the will at 15", func(t *testing.T) {
		s := newScript("c41")
		s.will(210)
		b := newBench(t).play(inBath("plover", 200)).play(s.messages())
		tick(b, 225+arrives-0.001)
		b.want()
		tick(b, 225+arrives)
		b.want("unit-silent developer urgent 225-")
	})
	// Silent together means quiet for 45 s when the first is silent.
	t.Run("quiet for just 45 s is quiet", func(t *testing.T) {
		for other, want := range map[float64]string{245: "network", 245.5: ""} {
			all := append(inBath("plover", 200), inBath("heron", other)...)
			sortByReceived(all)
			b := newBench(t).play(all)
			tick(b, 290+arrives)
			for _, o := range b.found {
				if o.Subject != want {
					t.Errorf("the other was last heard at %g: subject %q, want %q", other, o.Subject, want)
				}
			}
			if len(b.found) != 1 {
				t.Errorf("the other was last heard at %g: %v, want one alert", other, b.lines())
			}
		}
	})
	t.Run("a clock that is off by just five seconds is allowed", func(t *testing.T) {
		for by, want := range map[float64][]string{-5: nil, -5.1: {"clock-off  low 0-"}, 5: nil, 5.1: {"clock-off  low 0-"}} {
			s := newScript("c41")
			s.stays(0, 100, lab.PhaseIdle, "", 0)
			for _, e := range s.events {
				e.shift = by
			}
			msgs := s.messages()
			for i := range msgs {
				msgs[i].Received = msgs[i].At.Add(sec(-by))
			}
			if b := newBench(t).play(msgs); !slices.Equal(b.lines(), want) {
				t.Errorf("off by %g: %v, want %v", by, b.lines(), want)
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
				b.no++
				q := lab.Quarantined{Unit: u, Received: moment(at), Arrival: b.no, Reason: "json: cut short"}
				b.note(b.e.Feed(t.Context(), []lab.Arrival{{Refused: &q}}, b))
			}
			if !slices.Equal(b.lines(), want) {
				t.Errorf("the tenth at %g s: %v, want %v", last, b.lines(), want)
			}
		}
	})
	t.Run("a run of which nothing is heard for six hours is lost", func(t *testing.T) {
		b := newBench(t).play(inBath("plover", 200))
		for _, c := range []struct {
			after float64
			want  string
		}{{6*3600 - 0.001, lab.OutcomeRunning}, {6 * 3600, lab.OutcomeLost}} {
			tick(b, 200+arrives+c.after)
			if r := b.runs[RunID(u, "r1")]; r.Outcome != c.want {
				t.Errorf("after %g s the run is %s, want %s", c.after, r.Outcome, c.want)
			}
		}
	})
	t.Run("a hole is waited for to the last moment", func(t *testing.T) {
		fig := Builtin().Figures
		o := &order{LastRecv: nine}
		recv := func(seq int64, at float64) *lab.Message {
			return &lab.Message{Boot: "b", Seq: seq, At: moment(at), Received: moment(at)}
		}
		o.add(recv(1, 0))
		if m, _, _ := o.next(&fig, moment(0)); m == nil {
			t.Fatal("the first message waits")
		}
		o.add(recv(3, 1))
		if m, _, _ := o.next(&fig, moment(1+fig.HoleWaitS-0.001)); m != nil {
			t.Error("the hole was gone past before its time")
		}
		if m, g, _ := o.next(&fig, moment(1+fig.HoleWaitS)); m == nil || len(g.gaps) != 1 || g.gaps[0].FromSeq != 2 || g.gaps[0].ToSeq != 2 {
			t.Errorf("message %v, hole %v; want the message with the hole of seq 2 before it", m, g)
		}
	})
	t.Run("after a reconnect a hole is waited for longer, for a minute", func(t *testing.T) {
		fig := Builtin().Figures
		o := &order{PauseEnd: nine}
		if got := o.waits(&fig, moment(59.999)); got != sec(fig.HoleWaitReconnectS) {
			t.Errorf("59.999 s after it: %s", got)
		}
		if got := o.waits(&fig, moment(60)); got != sec(fig.HoleWaitS) {
			t.Errorf("a minute after it: %s", got)
		}
	})
}

// A shortage turns urgent five minutes before, by time alone: no new reading
// of a level is needed for it.
func TestShortageTurnsUrgent(t *testing.T) {
	s := newScript("c41")
	s.c41(0)
	s.level(5, "wash", 0.3) // wash-1 draws first, at about 628
	s.level(15, "wash", 0.3)
	b := newBench(t)
	var turned time.Time
	acts := ""
	for _, m := range s.messages() {
		b.play([]lab.Message{m})
		for _, o := range b.found {
			if o.Rule != RuleWashWaterShort || !turned.IsZero() {
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
		t.Fatalf("never urgent; act at %q: %v", acts, b.lines())
	}
	// readings come every second or two
	if left := act.Sub(turned).Seconds(); left > 300 || left < 297 {
		t.Errorf("urgent %g s before the draw; want 300", left)
	}

	// to the second
	f := b.e.units[s.unit].fold()
	for inS, want := range map[float64]lab.Priority{300: lab.Urgent, 300.001: lab.High} {
		a := about{rule: RuleChemistryShort, subject: "c41/fixer", run: true}
		for range 2 {
			f.s.Clock.T = f.s.Clock.T.Add(10 * time.Second)
			f.shortage(a, "x", &flow{Container: "c41/fixer", L: 0.5, InS: inS, Step: "fixer"}, false, true, func() say { return say{} })
		}
		if o := f.open(a); o == nil || o.Priority != want {
			t.Errorf("%g s before: %+v, want %s", inS, o, want)
		}
		f.clear(a, f.s.Clock.T)
	}
}

// A roll that names neither process nor push wants what the load does; one
// that names its process has its own push, 0 too.
func TestRollsInheritTheLoad(t *testing.T) {
	r := &run{Process: "c41", Push: 1}
	for _, c := range []struct {
		name string
		load lab.Load
		want []odd
	}{
		{"both of the load", lab.Load{Process: "c41", Push: 1, Rolls: []lab.Roll{{TwinCheck: "1"}}}, nil},
		{"its own push, the load's process", lab.Load{Process: "c41", Push: 2, Rolls: []lab.Roll{{TwinCheck: "1", Push: 1}}}, nil},
		{"the load's push is not the run's", lab.Load{Process: "c41", Push: 2, Rolls: []lab.Roll{{TwinCheck: "1"}}}, []odd{{"1", "c41", 2}}},
		{"its own process, so its own push", lab.Load{Process: "c41", Push: 1, Rolls: []lab.Roll{{TwinCheck: "1", Process: "c41"}}}, []odd{{"1", "c41", 0}}},
		{"no rolls: the load itself", lab.Load{Process: "c41", Push: 0}, []odd{{"", "c41", 0}}},
	} {
		if got := oddRolls(&c.load, r); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// A step of the unit's clock moves the smallest lag the other way: a clock set
// back makes every later message arrive later by its own count. Both ways one
// after the other, without up_s, the durations stay right.
func TestClockStepsEitherWay(t *testing.T) {
	for _, first := range []float64{-3600, 3600} {
		c := clock{}
		shift := 0.0
		for i := range 120 {
			at := float64(i) * 2
			switch i {
			case 40:
				shift = first
			case 80:
				shift = 0
			}
			jitter := 0.05 * float64(i%3) // arrivals are never quite even
			c.advance(&lab.Message{Boot: "b", Seq: int64(i + 1), At: moment(at + shift), Received: moment(at + 0.2 + jitter)})
			if off := c.T.Sub(moment(at)).Seconds(); math.Abs(off) > 0.3 {
				t.Fatalf("first by %g s: message %d stands at %g s, want %g", first, i, c.T.Sub(nine).Seconds(), at)
			}
			if want := 0.2 - shift; i != 40 && i != 80 && math.Abs(c.LagS-want) > 0.3 {
				t.Fatalf("first by %g s: after message %d the smallest lag is %g s, want about %g", first, i, c.LagS, want)
			}
		}
	}
}

// Two labs on one monitor: the failure of one network is not that of the other,
// and a lab that is well does not make the other's failure look like one unit's.
func TestTwoLabsSilentAtOnce(t *testing.T) {
	var all []lab.Message
	for _, u := range []lab.UnitID{{Lab: "tern-street", Unit: "plover"}, {Lab: "tern-street", Unit: "heron"},
		{Lab: "quay-side", Unit: "dunlin"}, {Lab: "quay-side", Unit: "knot"}, {Lab: "the-mill", Unit: "wren"}} {
		s := newScript("c41")
		s.unit = u
		dev(s, 295, always(37.8))
		if u.Lab != "the-mill" {
			s.without(func(e *event) bool { return e.at > 200 })
		}
		all = append(all, s.messages()...)
	}
	sortByReceived(all)
	b := newBench(t).play(all).until(292)
	var got []string
	for _, o := range b.found {
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
	runScenarios(t, []scenario{{name: "wash 2 called by the name of wash 1", process: "c41", write: func(s *script) {
		s.phase(0, lab.PhaseIdle, "", 0)
		s.phase(10, lab.PhaseHeating, "wash-1", 1)
		s.step(100, 350, "wash-1", 1, always(38)) // 195 + 60: over at 355
		s.step(400, 595, "wash-1", 2, always(38))
		s.cut(340, 402) // the first message after the hole is of the second
		s.without(func(e *event) bool {
			return e.m.Step != nil && e.at >= 400 && e.at < 410 && e.m.Step.Phase != lab.PhaseInBath
		})
	}, want: []string{"step-skipped wash-1/bleach urgent 10-", "step-skipped wash-1/developer urgent 10-"}}})
}
