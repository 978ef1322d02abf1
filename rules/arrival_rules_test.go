package rules

import (
	"testing"
	"time"

	"wetside/internal/lab"
)

func (s *script) will(at float64) {
	s.add(at, lab.ChannelStatus, lab.Message{Will: true})
}

// Contract, section 2, unit-silent: on arrival, given on the unit's clock.
// Arrivals are 20 ms after at, which the unit's clock does not show.
func TestSilence(t *testing.T) {
	runScenarios(t, []scenario{
		{name: "90 s after the last arrival", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.without(func(e *event) bool { return e.at > 200 })
		}, until: 400, want: []string{"unit-silent developer urgent 290-"}},
		{name: "not before", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.without(func(e *event) bool { return e.at > 200 })
		}, until: 290},
		{name: "its will, and 15 s", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.without(func(e *event) bool { return e.at > 200 })
			s.will(230)
		}, until: 400, want: []string{"unit-silent developer urgent 245-"}},
		{name: "a message ends the will", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.without(func(e *event) bool { return e.at > 200 && e.at < 240 })
			s.cut(200, 240)
			s.will(230)
		}, until: 300},
		{name: "heard again", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			s.cut(401, 531)
		}, want: []string{"unit-silent bleach high 490-532"}},
		{name: "idle and drying units may be quiet", write: func(s *script) {
			s.phase(0, "idle", "", 0)
			s.phase(1, "heating", "developer", 1)
			s.phase(2, "drying", "", 0)
		}, until: 1000},
		{name: "urgent on battery", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			s.without(func(e *event) bool { return e.at > 400 })
			s.power(400, "battery", "lost", 0, 0)
		}, until: 500, want: []string{"power-lost bleach urgent 400-", "unit-silent bleach urgent 490-"}},
	})
}

// Silence is not judged while the monitor is disconnected.
func TestSilencePaused(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	s.without(func(e *event) bool { return e.at > 200 })
	b := newBench(t).play(s.messages())
	b.e.Paused(moment(210))
	b.until(500)
	b.want()
	b.e.Monitoring(moment(500))
	b.until(589)
	b.want()
	b.until(600)
	b.want("unit-silent developer urgent 589.98-")
}

// One network failure that silences all units is one alert.
func TestNetworkFailure(t *testing.T) {
	for _, wills := range []bool{false, true} {
		var all []lab.Message
		for i, name := range []string{"plover", "heron", "avocet"} {
			s := newScript("c41")
			s.unit.Unit = name
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			s.without(func(e *event) bool { return e.at > 200 && e.at < 600 })
			if wills {
				s.will(210 + float64(i))
			}
			all = append(all, s.messages()...)
		}
		sortByReceived(all)
		i := 0
		for i < len(all) && all[i].Received.Before(moment(599)) {
			i++
		}
		b := newBench(t).play(all[:i])
		b.until(400)
		open := 0
		for _, o := range b.found {
			if o.Rule == RuleUnitSilent {
				open++
			}
		}
		if open != 1 {
			t.Errorf("wills %v: %d alerts for one failure: %v", wills, open, b.lines())
		}
		// a restart in between changes nothing
		again := newBench(t)
		again.found, again.list, again.store, again.no, again.clock = b.found, b.list, b.store, b.no, b.clock
		for _, u := range b.e.Units() {
			v, blob, _ := b.e.Snapshot(u)
			if err := again.e.Restore(u, v, blob); err != nil {
				t.Fatal(err)
			}
		}
		again.play(all[i:])
		for _, o := range again.found {
			if o.Rule == RuleUnitSilent && o.ClearedAt.IsZero() {
				t.Errorf("wills %v: still open: %s", wills, line(o))
			}
		}
	}
}

func TestClockOff(t *testing.T) {
	shifted := func(s *script, from, to, by float64) {
		for _, e := range s.events {
			if e.at >= from && e.at < to {
				e.shift = by
			}
		}
	}
	runScenarios(t, []scenario{
		{name: "four seconds are allowed", write: func(s *script) { dev(s, 295, always(37.8)); shifted(s, 0, 999, -4) }},
		{name: "ahead by a minute", write: func(s *script) { s.stays(0, 100, "idle", "", 0); shifted(s, 0, 999, 60) },
			want: []string{"clock-off  low 0.02-"}},
		{name: "behind by a minute", write: func(s *script) { s.stays(0, 100, "idle", "", 0); shifted(s, 0, 999, -60) },
			want: []string{"clock-off  low 20.02-"}},
		{name: "a backlog is not a clock", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			s.buffered(200, 600)
		}, want: []string{"unit-silent developer urgent 288-600"}},
		{name: "nor where nothing was heard before it", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			s.buffered(-1, 600)
		}},
		{name: "set back by a minute within the step: durations stay, without up_s", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			shifted(s, 200, 999, -60)
		}, want: []string{"clock-off bleach low 500.02-"}},
		{name: "with up_s", write: func(s *script) {
			s.upS = true
			dev(s, 305, always(37.8))
			shifted(s, 200, 999, -60)
		}, want: []string{"step-overrun developer urgent 238.9-245"}},
		{name: "set forward by a minute: no overrun", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			shifted(s, 200, 999, 60)
		}, want: []string{"clock-off developer low 200.02-"}},
		{name: "forward and back again, with up_s", write: func(s *script) {
			s.upS = true
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			shifted(s, 200, 250, 60)
		}, want: []string{"clock-off developer low 200.02-550.02"}},
		{name: "forward and back again, without", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.step(320, 710, "bleach", 2, always(38))
			shifted(s, 200, 250, 60)
		}, want: []string{"clock-off developer low 200.02-550.02"}},
	})
}

// A controller that lost its clock: its at is replaced on decoding.
func TestClockLost(t *testing.T) {
	s := newScript("c41")
	s.upS = true
	dev(s, 295, always(37.8))
	msgs := s.messages()
	for i := range msgs {
		if m := &msgs[i]; m.Received.After(moment(200)) && m.Received.Before(moment(240)) {
			m.SentAt, m.At, m.AtReplaced = time.Unix(0, 0), m.Received, true
		}
	}
	newBench(t).play(msgs).want("clock-off developer low 200.02-240.02")
}

func TestTelemetryRefused(t *testing.T) {
	b := newBench(t)
	refuse := func(at float64) {
		b.tick(moment(at))
		b.clock = moment(at)
		b.no++
		q := lab.Quarantined{Unit: lab.UnitID{Lab: "tern-street", Unit: "plover"}, Received: moment(at), Arrival: b.no, Reason: "json: cut short"}
		b.note(b.e.Feed(t.Context(), []lab.Arrival{{Refused: &q}}, b))
	}
	for i := range 9 {
		refuse(float64(i * 6))
	}
	refuse(61) // nine in the minute before
	b.want()
	refuse(62)
	refuse(63)
	b.until(300)
	b.want("telemetry-refused  high 62-123")
}
