package watch

import (
	"slices"
	"testing"
	"time"

	"wetside/internal/labtest"
)

// The worker notices that the clock was set before it judges anything by it,
// in either direction; that time passes, or a clock is disciplined, is none.
func TestClockThatIsSet(t *testing.T) {
	clock := labtest.NewClock(start)
	steady := time.Duration(0)
	store := newFakeStore(clock)
	store.heard(plover, 38)
	var told []time.Duration
	b := newWorker(t, store, func(c *Config) {
		c.Steady = func() time.Duration { return steady }
		c.ClockSet = func(by time.Duration) { told = append(told, by) }
	})
	f := b.newFolder()
	if err := f.rebuild(t.Context()); err != nil {
		t.Fatal(err)
	}
	passes := func(by, really time.Duration) {
		clock.Advance(by)
		steady += really
		if err := f.tick(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	passes(time.Second, time.Second)
	passes(time.Minute, time.Minute)
	passes(1500*time.Millisecond, time.Second)
	passes(time.Hour+time.Second, time.Second)
	passes(time.Second, time.Second)
	passes(-time.Hour, time.Second)
	passes(time.Second, time.Second)
	if want := []time.Duration{time.Hour, -time.Hour - time.Second}; !slices.Equal(told, want) {
		t.Errorf("told of %v; want %v", told, want)
	}
}
