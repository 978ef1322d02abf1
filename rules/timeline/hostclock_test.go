package timeline_test

import (
	"bytes"
	"testing"
	"time"

	"wetside/rules"
	"wetside/rules/timeline"
)

// silentFrom plays a unit that is last heard at 200 s, in its developer.
func silentFrom(t *testing.T) *bench {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	s.Without(func(e *event) bool { return e.At > 200 })
	return newBench(t).Play(s.Messages())
}

// The monitor's own clock is set an hour ahead, and back, while a unit falls
// silent: it is told 90 s after it was last heard, neither at once nor never.
func TestSilenceOverAClockThatIsSet(t *testing.T) {
	for _, by := range []time.Duration{time.Hour, -time.Hour, 20 * time.Second, -20 * time.Second, 240 * time.Hour} {
		t.Run(by.String(), func(t *testing.T) {
			b := silentFrom(t)
			b.Passes(201, 230, 0)
			b.E.ClockSet(moment(230).Add(by), by)
			b.Passes(231, 286, by)
			b.Want()
			b.Passes(287, 320, by)
			if got := len(b.Lines()); got != 1 {
				t.Errorf("after 120 s of silence: %d alerts %q; want unit-silent", got, b.Lines())
			}
		})
	}
}

// And back again, as somebody does who noticed the mistake.
func TestSilenceOverAClockSetAndSetBack(t *testing.T) {
	b := silentFrom(t)
	b.Passes(201, 220, 0)
	b.E.ClockSet(moment(220).Add(time.Hour), time.Hour)
	b.Passes(221, 250, time.Hour)
	b.E.ClockSet(moment(250), -time.Hour)
	b.Passes(251, 286, 0)
	b.Want()
	b.Passes(287, 320, 0)
	b.Want("unit-silent developer urgent 290-")
}

// A state that was stored by a clock an hour ahead does not keep the monitor
// from noticing silence for an hour.
func TestSilenceAfterAFutureWasStored(t *testing.T) {
	b := silentFrom(t)
	b.Passes(201, 220, 0)
	b.E.ClockSet(moment(220).Add(time.Hour), time.Hour)
	b.Passes(221, 225, time.Hour)
	version, blob, _ := b.E.Snapshot(newScript("c41").Unit)
	e := timeline.NewEngine(rules.Config{})
	if err := e.Restore(newScript("c41").Unit, version, blob); err != nil {
		t.Fatal(err)
	}
	b.E = e
	e.Monitoring(moment(230)) // by a clock that is right again
	b.Passes(230, 315, 0)
	b.Want()
	b.Passes(316, 330, 0)
	if len(b.Lines()) != 1 {
		t.Errorf("100 s after the start: %q; want unit-silent", b.Lines())
	}
}

// A message that waits behind a hole is not kept there for an hour.
func TestHoleOverAClockThatIsSetBack(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	s.Cut(150, 152)
	s.Without(func(e *event) bool { return e.At > 153 })
	b := newBench(t).Play(s.Messages())
	b.E.ClockSet(moment(154).Add(-time.Hour), -time.Hour)
	b.Passes(155, 200, -time.Hour)
	if _, state, _ := b.E.Snapshot(newScript("c41").Unit); bytes.Contains(state, []byte(`"pending":`)) {
		t.Error("a message still waits behind a hole, 45 s after it came")
	}
}
