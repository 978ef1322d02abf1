package rules

import (
	"testing"
	"time"

	"wetside/internal/lab"
)

// Late evidence that takes a finding back: it is withdrawn, never lost.
func TestLateEvidenceWithdraws(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, between(37.8, 200, 206, 38.1)) // outside at 200, 202, 204
	inside := s.temp(203, 37.8)
	inside.recv = 260
	msgs := s.messages()
	b := newBench(t)
	var given []OccurrenceChange
	for i, m := range msgs {
		b.play(msgs[i : i+1])
		for _, o := range b.found {
			if len(given) == 0 && m.Received.Before(moment(250)) {
				given = append(given, o)
			}
		}
	}
	if len(given) != 1 || line(given[0]) != "bath-temperature developer high 203-" {
		t.Fatalf("before the late reading: %v", given)
	}
	b.want()
}

// Late evidence that moves a beginning: the same episode under a new id.
func TestLateEvidenceMoves(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, between(37.8, 202, 230, 38.1))
	s.temp(201, 38.1).recv = 260
	b := newBench(t).play(s.messages())
	b.want("bath-temperature developer high 204-250")
	for _, o := range b.found {
		if o.Was == "" {
			t.Error("it does not say which episode it was")
		}
	}
}

// A gap is told in the run until it is filled.
func TestGapIsFilled(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	for _, e := range s.events {
		if e.at >= 150 && e.at < 152 {
			e.recv = 280
		}
	}
	msgs := s.messages()
	b := newBench(t)
	most := 0
	for i := range msgs {
		b.play(msgs[i : i+1])
		b.note(b.e.Tick(t.Context(), b.clock, b))
		most = max(most, len(b.runs[RunID(s.unit, "r1")].Gaps))
	}
	if n := len(b.runs[RunID(s.unit, "r1")].Gaps); most != 1 || n != 0 {
		t.Errorf("gaps at most %d, at last %d; want 1 and 0", most, n)
	}
}

// A retained copy does not begin a unit's timeline, said to be one or not;
// what was sent before the first live message is no gap.
func TestRetainedBeginsNothing(t *testing.T) {
	for _, marked := range []bool{true, false} {
		s := newScript("c41")
		online := s.add(-4000, lab.ChannelStatus, lab.Message{Status: &lab.Status{Online: true,
			Containers: map[string]lab.ContainerSpec{"sump": {Role: lab.RoleWaste, CapacityL: 10}}}})
		online.recv = -1
		online.m.Retained = marked
		for at := -3900.0; at < 0; at += 30 {
			s.phase(at, "idle", "", 0)
		}
		s.cut(-3999, 0)
		dev(s, 295, always(37.8))
		s.level(120, "sump", 9)
		s.level(130, "sump", 9)
		b := newBench(t).play(s.messages())
		if r := b.runs[RunID(s.unit, "r1")]; len(r.Gaps) != 0 {
			t.Errorf("marked %v: gaps %v", marked, r.Gaps)
		}
		b.want("waste-nearly-full developer/sump high 125-")
	}
}

// A retained will counts only if nothing newer was heard.
func TestRetainedWill(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	msgs := s.messages()
	half := len(msgs) / 2
	b := newBench(t)
	b.e.Monitoring(moment(0).Add(-time.Second))
	b.play(msgs[:half])
	at := b.clock
	b.play([]lab.Message{{Unit: s.unit, Will: true, Retained: true, Received: at, Channel: lab.ChannelStatus}})
	b.until(at.Sub(nine).Seconds() + 60)
	b.want()
}

// A hole at the beginning of a boot is a gap; buffers come oldest boot first.
func TestBufferOfTwoBoots(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, between(37.8, 240, 280, 38.1))
	s.step(320, 710, "bleach", 2, always(38))
	s.restarts = []float64{250}
	live := newBench(t).play(s.messages())
	s.buffered(200, 600)
	b := newBench(t).play(s.messages())
	if got, want := b.outcome(), live.outcome(); got != want {
		t.Error(differ(got, want))
	}
}

// A hole is waited for longer in the first minute after a unit was cut off:
// what it buffered comes in any order then.
func TestHoleAfterAReconnectIsWaitedForLonger(t *testing.T) {
	f := &Builtin().Figures
	message := func(o *order, seq int64, at time.Time) {
		o.add(&lab.Message{Boot: "b", Seq: seq, At: at, Received: at})
	}
	for _, tt := range []struct {
		name     string
		pauseEnd time.Time
		waitS    float64
	}{
		{"no pause", time.Time{}, f.HoleWaitS},
		{"right after one", nine, f.HoleWaitReconnectS},
		{"just within the minute", nine.Add(-29 * time.Second), f.HoleWaitReconnectS},
		{"over a minute ago", nine.Add(-time.Minute), f.HoleWaitS},
	} {
		o := &order{PauseEnd: tt.pauseEnd}
		message(o, 1, nine)
		if m, _, _ := o.next(f, nine); m == nil {
			t.Fatalf("%s: the first message is not folded", tt.name)
		}
		message(o, 3, nine)
		if m, _, _ := o.next(f, nine.Add(sec(tt.waitS)-time.Millisecond)); m != nil {
			t.Errorf("%s: the hole is given up before %v s", tt.name, tt.waitS)
		}
		if m, miss, _ := o.next(f, nine.Add(sec(tt.waitS))); m == nil || len(miss.gaps) != 1 || miss.gaps[0].FromSeq != 2 {
			t.Errorf("%s: the hole is still waited for after %v s", tt.name, tt.waitS)
		}
	}
}
