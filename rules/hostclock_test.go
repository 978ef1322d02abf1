package rules

import (
	"testing"
	"time"
)

// silentFrom plays a unit that is last heard at 200 s, in its developer.
func silentFrom(t *testing.T) *bench {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	s.without(func(e *event) bool { return e.at > 200 })
	return newBench(t).play(s.messages())
}

// ticks lets time pass by a clock that shows so much more than it should.
func (b *bench) passes(from, to float64, off time.Duration) {
	for s := from; s <= to; s++ {
		b.note(b.e.Tick(b.tb.Context(), moment(s).Add(off), b))
	}
}

// The monitor's own clock is set an hour ahead, and back, while a unit falls
// silent: it is told 90 s after it was last heard, neither at once nor never.
func TestSilenceOverAClockThatIsSet(t *testing.T) {
	for _, by := range []time.Duration{time.Hour, -time.Hour, 20 * time.Second, -20 * time.Second, 240 * time.Hour} {
		t.Run(by.String(), func(t *testing.T) {
			b := silentFrom(t)
			b.passes(201, 230, 0)
			b.e.ClockSet(moment(230).Add(by), by)
			b.passes(231, 286, by)
			b.want()
			b.passes(287, 320, by)
			if got := len(b.lines()); got != 1 {
				t.Errorf("after 120 s of silence: %d alerts %q; want unit-silent", got, b.lines())
			}
		})
	}
}

// And back again, as somebody does who noticed the mistake.
func TestSilenceOverAClockSetAndSetBack(t *testing.T) {
	b := silentFrom(t)
	b.passes(201, 220, 0)
	b.e.ClockSet(moment(220).Add(time.Hour), time.Hour)
	b.passes(221, 250, time.Hour)
	b.e.ClockSet(moment(250), -time.Hour)
	b.passes(251, 286, 0)
	b.want()
	b.passes(287, 320, 0)
	b.want("unit-silent developer urgent 290-")
}

// A state that was stored by a clock an hour ahead does not keep the monitor
// from noticing silence for an hour.
func TestSilenceAfterAFutureWasStored(t *testing.T) {
	b := silentFrom(t)
	b.passes(201, 220, 0)
	b.e.ClockSet(moment(220).Add(time.Hour), time.Hour)
	b.passes(221, 225, time.Hour)
	version, blob, _ := b.e.Snapshot(newScript("c41").unit)
	e := NewEngine(Config{})
	if err := e.Restore(newScript("c41").unit, version, blob); err != nil {
		t.Fatal(err)
	}
	b.e = e
	e.Monitoring(moment(230)) // by a clock that is right again
	b.passes(230, 315, 0)
	b.want()
	b.passes(316, 330, 0)
	if len(b.lines()) != 1 {
		t.Errorf("100 s after the start: %q; want unit-silent", b.lines())
	}
}

// What was stamped just before the clock was set and comes after it counts at
// its own moment.
func TestStampedBeforeTheClockWasSet(t *testing.T) {
	for _, by := range []time.Duration{time.Hour, -time.Hour} {
		b := silentFrom(t)
		b.passes(201, 230, 0)
		b.e.ClockSet(moment(230).Add(by), by)
		if got := b.e.received(moment(229)); !got.Equal(moment(229).Add(by)) {
			t.Errorf("set by %v: what was stamped at 229 s arrived at %v", by, got.Sub(nine))
		}
		if got := b.e.received(moment(231).Add(by)); !got.Equal(moment(231).Add(by)) {
			t.Errorf("set by %v: what was stamped after it arrived at %v", by, got.Sub(nine))
		}
	}
}

// A message that waits behind a hole is not kept there for an hour.
func TestHoleOverAClockThatIsSetBack(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	s.cut(150, 152)
	s.without(func(e *event) bool { return e.at > 153 })
	b := newBench(t).play(s.messages())
	b.e.ClockSet(moment(154).Add(-time.Hour), -time.Hour)
	b.passes(155, 200, -time.Hour)
	if b.e.units[newScript("c41").unit].Order.waiting() {
		t.Error("a message still waits behind a hole, 45 s after it came")
	}
}
