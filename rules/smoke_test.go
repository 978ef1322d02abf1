package rules

import (
	"fmt"
	"testing"
	"time"

	"wetside/internal/lab"
)

// script builds a unit's telemetry by hand.
type script struct {
	t0   time.Time
	seq  int64
	boot string
	out  []lab.Arrival
	no   int64
}

func newScript() *script {
	return &script{t0: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), boot: "b1"}
}

func (s *script) msg(atS float64, m lab.Message) {
	s.seq++
	s.no++
	m.Unit = lab.UnitID{Lab: "tern-street", Unit: "plover"}
	m.Boot, m.Seq, m.Arrival = s.boot, s.seq, s.no
	m.At = s.t0.Add(sec(atS))
	m.SentAt = m.At
	m.Received = m.At.Add(50 * time.Millisecond)
	s.out = append(s.out, lab.Arrival{Message: &m})
}

func (s *script) step(atS float64, st lab.Step) { s.msg(atS, lab.Message{Channel: lab.ChannelStep, Step: &st}) }
func (s *script) bath(atS, c float64) {
	s.msg(atS, lab.Message{Channel: lab.ChannelTemp, Temp: &lab.Temp{BathC: &c}})
}

func TestSmoke(t *testing.T) {
	s := newScript()
	set := 195.0
	st := func(at float64, ph lab.Phase, step string, n int) {
		s.step(at, lab.Step{Phase: ph, Run: "r1", Process: "c41", Step: step, N: n, Of: 6, SetS: &set})
	}
	s.step(0, lab.Step{Phase: lab.PhaseIdle})
	st(10, lab.PhaseHeating, "developer", 1)
	st(100, lab.PhaseFilling, "developer", 1)
	st(110, lab.PhaseInBath, "developer", 1)
	for i := 2.0; i < 200; i += 2 {
		c := 37.8
		if i > 60 && i < 90 {
			c = 38.4
		}
		s.bath(110+i, c)
	}
	st(110+205, lab.PhaseDraining, "developer", 1)
	set = 390
	st(330, lab.PhaseFilling, "bleach", 2)
	e := NewEngine(Config{})
	ch, err := e.Feed(t.Context(), s.out, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range ch.Occurrences {
		fmt.Println(o.Rule, o.Step, o.Priority, o.RaisedAt.Sub(s.t0), o.ClearedAt.Sub(s.t0), o.Message)
	}
	for _, r := range ch.Runs {
		fmt.Printf("%+v\n", r)
	}
}
