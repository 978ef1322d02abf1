package timeline_test

import (
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// Contract, section 2, unit-silent: on arrival, given on the unit's clock.
// Arrivals are 20 ms after at, which the unit's clock does not show.
func TestSilence(t *testing.T) {
	runScenarios(t, []scenario{
		{Name: "90 s after the last arrival", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Without(func(e *event) bool { return e.At > 200 })
		}, Until: 400, Want: []string{"unit-silent developer urgent 290-"}},
		{Name: "not before", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Without(func(e *event) bool { return e.At > 200 })
		}, Until: 290},
		{Name: "its will, and 15 s", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Without(func(e *event) bool { return e.At > 200 })
			s.Will(230)
		}, Until: 400, Want: []string{"unit-silent developer urgent 245-"}},
		{Name: "a message ends the will", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Without(func(e *event) bool { return e.At > 200 && e.At < 240 })
			s.Cut(200, 240)
			s.Will(230)
		}, Until: 300},
		{Name: "heard again", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			s.Cut(401, 531)
		}, Want: []string{"unit-silent bleach high 490-532"}},
		{Name: "idle and drying units may be quiet", Write: func(s *script) {
			s.Phase(0, "idle", "", 0)
			s.Phase(1, "heating", "developer", 1)
			s.Phase(2, "drying", "", 0)
		}, Until: 1000},
		{Name: "urgent on battery", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			s.Without(func(e *event) bool { return e.At > 400 })
			s.Power(400, "battery", "lost", 0, 0)
		}, Until: 500, Want: []string{"power-lost bleach urgent 400-", "unit-silent bleach urgent 490-"}},
	})
}

// Silence is not judged while the monitor is disconnected.
func TestSilencePaused(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	s.Without(func(e *event) bool { return e.At > 200 })
	b := newBench(t).Play(s.Messages())
	b.E.Paused(moment(210))
	b.Until(500)
	b.Want()
	b.E.Monitoring(moment(500))
	b.Until(589)
	b.Want()
	b.Until(600)
	b.Want("unit-silent developer urgent 589.98-")
}

// One network failure that silences all units is one alert.
func TestNetworkFailure(t *testing.T) {
	for _, wills := range []bool{false, true} {
		var all []lab.Message
		for i, name := range []string{"plover", "heron", "avocet"} {
			s := newScript("c41")
			s.Unit.Unit = name
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			s.Without(func(e *event) bool { return e.At > 200 && e.At < 600 })
			if wills {
				s.Will(210 + float64(i))
			}
			all = append(all, s.Messages()...)
		}
		sortByReceived(all)
		i := 0
		for i < len(all) && all[i].Received.Before(moment(599)) {
			i++
		}
		b := newBench(t).Play(all[:i])
		b.Until(400)
		open := 0
		for _, o := range b.Found {
			if o.Rule == rules.RuleUnitSilent {
				open++
			}
		}
		if open != 1 {
			t.Errorf("wills %v: %d alerts for one failure: %v", wills, open, b.Lines())
		}
		// a restart in between changes nothing
		again := newBench(t)
		again.Found, again.List, again.Store, again.No, again.Clock = b.Found, b.List, b.Store, b.No, b.Clock
		for _, u := range b.E.Units() {
			v, blob, _ := b.E.Snapshot(u)
			if err := again.E.Restore(u, v, blob); err != nil {
				t.Fatal(err)
			}
		}
		again.Play(all[i:])
		for _, o := range again.Found {
			if o.Rule == rules.RuleUnitSilent && o.ClearedAt.IsZero() {
				t.Errorf("wills %v: still open: %s", wills, line(o))
			}
		}
	}
}

func TestClockOff(t *testing.T) {
	shifted := func(s *script, from, to, by float64) {
		for _, e := range s.Events {
			if e.At >= from && e.At < to {
				e.Shift = by
			}
		}
	}
	runScenarios(t, []scenario{
		{Name: "four seconds are allowed", Write: func(s *script) { dev(s, 295, always(37.8)); shifted(s, 0, 999, -4) }},
		{Name: "ahead by a minute", Write: func(s *script) { s.Stays(0, 100, "idle", "", 0); shifted(s, 0, 999, 60) },
			Want: []string{"clock-off  low 0.02-"}},
		{Name: "behind by a minute", Write: func(s *script) { s.Stays(0, 100, "idle", "", 0); shifted(s, 0, 999, -60) },
			Want: []string{"clock-off  low 20.02-"}},
		{Name: "a backlog is not a clock", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			s.Buffered(200, 600)
		}, Want: []string{"unit-silent developer urgent 288-600"}},
		{Name: "nor where nothing was heard before it", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			s.Buffered(-1, 600)
		}},
		{Name: "set back by a minute within the step: durations stay, without up_s", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			shifted(s, 200, 999, -60)
		}, Want: []string{"clock-off bleach low 500.02-"}},
		{Name: "with up_s", Write: func(s *script) {
			s.UpS = true
			dev(s, 305, always(37.8))
			shifted(s, 200, 999, -60)
		}, Want: []string{"step-overrun developer urgent 238.9-245"}},
		{Name: "set forward by a minute: no overrun", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			shifted(s, 200, 999, 60)
		}, Want: []string{"clock-off developer low 200.02-"}},
		{Name: "forward and back again, with up_s", Write: func(s *script) {
			s.UpS = true
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			shifted(s, 200, 250, 60)
		}, Want: []string{"clock-off developer low 200.02-550.02"}},
		{Name: "forward and back again, without", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.WholeStep(320, 710, "bleach", 2, always(38))
			shifted(s, 200, 250, 60)
		}, Want: []string{"clock-off developer low 200.02-550.02"}},
	})
}

// A controller that lost its clock: its at is replaced on decoding.
func TestClockLost(t *testing.T) {
	s := newScript("c41")
	s.UpS = true
	dev(s, 295, always(37.8))
	msgs := s.Messages()
	for i := range msgs {
		if m := &msgs[i]; m.Received.After(moment(200)) && m.Received.Before(moment(240)) {
			m.SentAt, m.At, m.AtReplaced = time.Unix(0, 0), m.Received, true
		}
	}
	newBench(t).Play(msgs).Want("clock-off developer low 200.02-240.02")
}

func TestTelemetryRefused(t *testing.T) {
	b := newBench(t)
	refuse := func(at float64) {
		b.Tick(moment(at))
		b.Clock = moment(at)
		b.No++
		q := lab.Quarantined{Unit: lab.UnitID{Lab: "tern-street", Unit: "plover"}, Received: moment(at), Arrival: b.No, Reason: "json: cut short"}
		b.Note(b.E.Feed(t.Context(), []lab.Arrival{{Refused: &q}}, b))
	}
	for i := range 9 {
		refuse(float64(i * 6))
	}
	refuse(61) // nine in the minute before
	b.Want()
	refuse(62)
	refuse(63)
	b.Until(300)
	b.Want("telemetry-refused  high 62-123")
}
