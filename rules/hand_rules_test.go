package rules_test

import (
	"testing"

	"wetside/internal/lab"
)

// A level measured by hand counts beside the sensor, with what the sensor
// shows to come and go since, until the sensor shows that people did something
// to the container, or a person enters that they did. What is entered is shown
// at once, before the unit sends anything again.
func TestMeasuredByHand(t *testing.T) {
	u := newScript("c41").Unit
	set := func(at, litres float64) lab.Entry {
		return enters(u, at, lab.EntryContainer, "", lab.ContainerEvent{Container: "waste", What: lab.SetLevel, Litres: &litres})
	}
	did := func(at float64, what string) lab.Entry {
		return enters(u, at, lab.EntryContainer, "", lab.ContainerEvent{Container: "waste", What: what})
	}
	levels := func(s *script, from, to float64, l func(at float64) float64) {
		for at := from; at <= to; at += 30 {
			s.Level(at, "waste", l(at))
		}
	}
	for _, c := range []struct {
		name    string
		sensor  func(s *script)
		entries []lab.Entry
		litres  float64
		used    bool
		why     string
		none    bool // nothing is said of a measurement
		alerts  []string
	}{
		{name: "the sensor alone", sensor: func(s *script) { levels(s, 10, 310, always(5)) }, litres: 5, none: true},
		{name: "the dipstick stands, though the sensor goes on", sensor: func(s *script) { levels(s, 10, 310, always(5)) },
			entries: []lab.Entry{set(100, 8)}, litres: 8, used: true},
		{name: "entered after the last message: shown at once", sensor: func(s *script) { levels(s, 10, 310, always(5)) },
			entries: []lab.Entry{set(320, 8)}, litres: 8, used: true},
		{name: "a slow change of the sensor is added", sensor: func(s *script) { levels(s, 10, 310, func(at float64) float64 { return 5 + at/1000 }) },
			entries: []lab.Entry{set(105, 8)}, litres: 8.21, used: true},
		{name: "the sensor jumps: people were there, and it is used again", sensor: func(s *script) {
			levels(s, 10, 190, always(5))
			levels(s, 220, 310, always(1))
		}, entries: []lab.Entry{set(100, 8)}, litres: 1, why: lab.MeasuredEndedMoved},
		{name: "emptied ends it, and the sensor shows the rest", sensor: func(s *script) {
			levels(s, 10, 190, always(5))
			levels(s, 220, 310, always(0))
		}, entries: []lab.Entry{set(100, 8), did(200, lab.Emptied)}, litres: 0, none: true},
		{name: "no sensor: counted on from there", entries: []lab.Entry{set(100, 8)}, litres: 8, used: true},
		{name: "a sensor that begins to talk does not overrule the look of a moment ago", sensor: func(s *script) { levels(s, 220, 310, always(5)) },
			entries: []lab.Entry{set(100, 8)}, litres: 8, used: true},
		{name: "a second look takes the place of the first", sensor: func(s *script) { levels(s, 10, 310, always(5)) },
			entries: []lab.Entry{set(100, 8), set(200, 5.1)}, litres: 5.1, used: true},
		// 18.9 L holds 85 % at 16.065 L: the sensor alone would never tell
		{name: "nearly full by the dipstick", sensor: func(s *script) { levels(s, 10, 310, always(5)) },
			entries: []lab.Entry{set(100, 17)}, litres: 17, used: true, alerts: []string{"waste-nearly-full /waste high 130-"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newScript("c41")
			s.Stays(0, 312, "idle", "", 0)
			if c.sensor != nil {
				c.sensor(s)
			}
			b := played(t, s, c.entries...)
			var v lab.Container
			all, _ := b.E.View(u, b.Clock)
			for _, x := range all.Containers {
				if x.Name == "waste" {
					v = x
				}
			}
			if v.Litres == nil || *v.Litres != c.litres {
				t.Errorf("it holds %v; want %g", litresOr(v.Litres), c.litres)
			}
			switch m := v.Measured; {
			case (m == nil) != c.none:
				t.Errorf("measured: %+v; want none: %v", m, c.none)
			case m != nil && (m.Used != c.used || m.Why != c.why):
				t.Errorf("measured: %+v; want used %v, why %q", m, c.used, c.why)
			}
			b.TB = t
			b.Want(c.alerts...)
		})
	}
}

func litresOr(v *float64) any {
	if v == nil {
		return "nothing known"
	}
	return *v
}
