package timeline

import (
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

func moment(s float64) time.Time {
	return time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC).Add(lab.Seconds(s))
}

// A hole is waited for longer in the first minute after a unit was cut off:
// what it buffered comes in any order then.
func TestHoleAfterAReconnectIsWaitedForLonger(t *testing.T) {
	f := &rules.Builtin().Figures
	message := func(o *order, seq int64, at time.Time) {
		o.add(&lab.Message{Boot: "b", Seq: seq, At: at, Received: at})
	}
	for _, tt := range []struct {
		name     string
		pauseEnd time.Time
		waitS    float64
	}{
		{"no pause", time.Time{}, f.HoleWaitS},
		{"right after one", moment(0), f.HoleWaitReconnectS},
		{"just within the minute", moment(0).Add(-29 * time.Second), f.HoleWaitReconnectS},
		{"over a minute ago", moment(0).Add(-time.Minute), f.HoleWaitS},
	} {
		o := &order{PauseEnd: tt.pauseEnd}
		message(o, 1, moment(0))
		if m, _, _ := o.next(f, moment(0)); m == nil {
			t.Fatalf("%s: the first message is not folded", tt.name)
		}
		message(o, 3, moment(0))
		if m, _, _ := o.next(f, moment(0).Add(lab.Seconds(tt.waitS)-time.Millisecond)); m != nil {
			t.Errorf("%s: the hole is given up before %v s", tt.name, tt.waitS)
		}
		if m, miss, _ := o.next(f, moment(0).Add(lab.Seconds(tt.waitS))); m == nil || len(miss.gaps) != 1 || miss.gaps[0].FromSeq != 2 {
			t.Errorf("%s: the hole is still waited for after %v s", tt.name, tt.waitS)
		}
	}
}

// Exact boundaries of the wait for a hole.
func TestHolesAtTheLastMoment(t *testing.T) {
	t.Run("a hole is waited for to the last moment", func(t *testing.T) {
		fig := rules.Builtin().Figures
		o := &order{LastRecv: moment(0)}
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
		fig := rules.Builtin().Figures
		o := &order{PauseEnd: moment(0)}
		if got := o.holeWait(&fig, moment(59.999)); got != lab.Seconds(fig.HoleWaitReconnectS) {
			t.Errorf("59.999 s after it: %s", got)
		}
		if got := o.holeWait(&fig, moment(60)); got != lab.Seconds(fig.HoleWaitS) {
			t.Errorf("a minute after it: %s", got)
		}
	})
}

// What was stamped just before the clock was set and comes after it counts at
// its own moment.
func TestStampedBeforeTheClockWasSet(t *testing.T) {
	for _, by := range []time.Duration{time.Hour, -time.Hour} {
		e := NewEngine(rules.Config{})
		if _, err := e.Tick(t.Context(), moment(230), nil); err != nil {
			t.Fatal(err)
		}
		e.ClockSet(moment(230).Add(by), by)
		if got := e.received(moment(229)); !got.Equal(moment(229).Add(by)) {
			t.Errorf("set by %v: what was stamped at 229 s arrived at %v", by, got.Sub(moment(0)))
		}
		if got := e.received(moment(231).Add(by)); !got.Equal(moment(231).Add(by)) {
			t.Errorf("set by %v: what was stamped after it arrived at %v", by, got.Sub(moment(0)))
		}
	}
}
