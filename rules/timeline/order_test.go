package timeline_test

import (
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
	"wetside/rules/timeline"
)

// Late evidence that takes a finding back: it is withdrawn, never lost.
func TestLateEvidenceWithdraws(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, between(37.8, 200, 206, 38.1)) // outside at 200, 202, 204
	inside := s.Temp(203, 37.8)
	inside.Recv = 260
	msgs := s.Messages()
	b := newBench(t)
	var given []timeline.OccurrenceChange
	for i, m := range msgs {
		b.Play(msgs[i : i+1])
		for _, o := range b.Found {
			if len(given) == 0 && m.Received.Before(moment(250)) {
				given = append(given, o)
			}
		}
	}
	if len(given) != 1 || line(given[0]) != "bath-temperature developer high 203-" {
		t.Fatalf("before the late reading: %v", given)
	}
	b.Want()
}

// Late evidence that moves a beginning: the same episode under a new id.
func TestLateEvidenceMoves(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, between(37.8, 202, 230, 38.1))
	s.Temp(201, 38.1).Recv = 260
	b := newBench(t).Play(s.Messages())
	b.Want("bath-temperature developer high 204-250")
	for _, o := range b.Found {
		if o.Was == "" {
			t.Error("it does not say which episode it was")
		}
	}
}

// A gap is told in the run until it is filled.
func TestGapIsFilled(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	for _, e := range s.Events {
		if e.At >= 150 && e.At < 152 {
			e.Recv = 280
		}
	}
	msgs := s.Messages()
	b := newBench(t)
	most := 0
	for i := range msgs {
		b.Play(msgs[i : i+1])
		b.Note(b.E.Tick(t.Context(), b.Clock, b))
		most = max(most, len(b.Runs[rules.RunID(s.Unit, "r1")].Gaps))
	}
	if n := len(b.Runs[rules.RunID(s.Unit, "r1")].Gaps); most != 1 || n != 0 {
		t.Errorf("gaps at most %d, at last %d; want 1 and 0", most, n)
	}
}

// A retained copy does not begin a unit's timeline, said to be one or not;
// what was sent before the first live message is no gap.
func TestRetainedBeginsNothing(t *testing.T) {
	for _, marked := range []bool{true, false} {
		s := newScript("c41")
		online := s.Add(-4000, lab.ChannelStatus, lab.Message{Status: &lab.Status{Online: true,
			Containers: map[string]lab.ContainerSpec{"sump": {Role: lab.RoleWaste, CapacityL: 10}}}})
		online.Recv = -1
		online.M.Retained = marked
		for at := -3900.0; at < 0; at += 30 {
			s.Phase(at, "idle", "", 0)
		}
		s.Cut(-3999, 0)
		dev(s, 295, always(37.8))
		s.Level(120, "sump", 9)
		s.Level(130, "sump", 9)
		b := newBench(t).Play(s.Messages())
		if r := b.Runs[rules.RunID(s.Unit, "r1")]; len(r.Gaps) != 0 {
			t.Errorf("marked %v: gaps %v", marked, r.Gaps)
		}
		b.Want("waste-nearly-full developer/sump high 125-")
	}
}

// A retained will counts only if nothing newer was heard.
func TestRetainedWill(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, always(37.8))
	msgs := s.Messages()
	half := len(msgs) / 2
	b := newBench(t)
	b.E.Monitoring(moment(0).Add(-time.Second))
	b.Play(msgs[:half])
	at := b.Clock
	b.Play([]lab.Message{{Unit: s.Unit, Will: true, Retained: true, Received: at, Channel: lab.ChannelStatus}})
	b.Until(at.Sub(nine).Seconds() + 60)
	b.Want()
}

// A hole at the beginning of a boot is a gap; buffers come oldest boot first.
func TestBufferOfTwoBoots(t *testing.T) {
	s := newScript("c41")
	dev(s, 295, between(37.8, 240, 280, 38.1))
	s.WholeStep(320, 710, "bleach", 2, always(38))
	s.Restarts = []float64{250}
	live := newBench(t).Play(s.Messages())
	s.Buffered(200, 600)
	b := newBench(t).Play(s.Messages())
	if got, want := b.Outcome(), live.Outcome(); got != want {
		t.Error(differ(got, want))
	}
}
