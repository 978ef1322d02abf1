package watch

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/rules"
	"wetside/rules/timeline"
)

var _ Engine = (*timeline.Engine)(nil)

// ruleStore is a fakeStore that gives telemetry back, as the real engine
// wants it for late evidence.
type ruleStore struct{ *fakeStore }

func (s ruleStore) UnitMessages(_ context.Context, unit lab.UnitID, floor int64) ([]lab.Message, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	var out []lab.Message
	for _, a := range s.arrivals {
		if a.Message != nil && a.Message.Unit == unit && a.Message.Arrival >= floor {
			out = append(out, *a.Message)
		}
	}
	return out, nil
}

// warmRun is the developer of a C-41 run whose bath is a degree too warm from
// the second minute on, told every second.
func warmRun(unit lab.UnitID) []lab.Message {
	var out []lab.Message
	add := func(second int, ch lab.Channel, body func(*lab.Message)) {
		at := start.Add(time.Duration(second) * time.Second)
		m := lab.Message{Unit: unit, Channel: ch, Boot: "boot-1", Seq: int64(len(out) + 1), SentAt: at, At: at, Received: at}
		body(&m)
		out = append(out, m)
	}
	phase := func(second int, p lab.Phase) {
		set := 195.0
		add(second, lab.ChannelStep, func(m *lab.Message) {
			m.Step = &lab.Step{Phase: p, Run: "r1", Process: "c41", Step: "developer", N: 1, Of: 6, SetS: &set}
		})
	}
	add(0, lab.ChannelStep, func(m *lab.Message) { m.Step = &lab.Step{Phase: lab.PhaseIdle} })
	phase(1, lab.PhaseHeating)
	phase(5, lab.PhaseFilling)
	phase(10, lab.PhaseInBath)
	for s := 11; s < 150; s++ {
		c := 37.8
		if s > 70 {
			c = 39.0
		}
		add(s, lab.ChannelTemp, func(m *lab.Message) { m.Temp = &lab.Temp{BathC: &c} })
		if s%4 == 0 {
			rpm := 75.0
			add(s, lab.ChannelMotion, func(m *lab.Message) { m.Motion = &lab.Motion{RPM: &rpm} })
		}
	}
	return out
}

// hear stores messages as they arrived.
func (s ruleStore) hear(msgs []lab.Message) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, m := range msgs {
		m.Arrival = int64(len(s.arrivals) + 1)
		s.arrivals = append(s.arrivals, lab.Arrival{Message: &m})
	}
}

// summary is what must be the same however it came about.
func (s ruleStore) summary() []string {
	rows, _, pages := s.Stored()
	var out []string
	for _, a := range rows {
		out = append(out, fmt.Sprintf("%s %s %s %s raised %s cleared %v %s", a.ID, a.Rule, a.Step, a.State, a.RaisedAt, a.ClearedAt, a.Priority))
	}
	for _, p := range pages {
		out = append(out, fmt.Sprintf("page %s %d %d", p.AlertID, p.Occurrence, p.Step))
	}
	slices.Sort(out)
	return out
}

// With the real engine: however the arrivals are cut into chunks and lives,
// with states written or not, the alerts and the pages are the same.
func TestRealEngineAcrossRestarts(t *testing.T) {
	msgs := warmRun(plover)
	newStore := func() ruleStore { return ruleStore{newFakeStore(labtest.NewClock(start))} }
	life := func(t tb, s ruleStore, chunk int, save time.Duration, stopped bool) {
		b := newWorker(t, s.fakeStore, func(c *Config) {
			c.Store, c.Chunk, c.SaveEvery = s, chunk, save
			c.NewEngine = func() Engine { return timeline.NewEngine(rules.Config{}) }
		})
		f := b.newFolder()
		if err := f.rebuild(context.Background()); err != nil {
			t.Fatal(err)
		}
		if stopped {
			f.saveLast()
		}
	}
	whole := newStore()
	whole.hear(msgs)
	life(t, whole, 1000, time.Hour, true)
	want := whole.summary()
	if !slices.ContainsFunc(want, func(s string) bool { return len(s) > 4 && s[:4] == "page" }) {
		t.Fatalf("a developer a degree too warm pages nobody: %q", want)
	}
	rapid.Check(t, func(t *rapid.T) {
		s := newStore()
		for rest := msgs; len(rest) > 0; {
			n := min(len(rest), rapid.IntRange(10, 120).Draw(t, "arrivals"))
			s.hear(rest[:n])
			rest = rest[n:]
			save := rapid.SampledFrom([]time.Duration{time.Nanosecond, time.Hour}).Draw(t, "save")
			life(t, s, rapid.IntRange(5, 60).Draw(t, "chunk"), save, rapid.Bool().Draw(t, "stopped in order"))
		}
		if got := s.summary(); !slices.Equal(got, want) {
			t.Fatalf("got  %q\nwant %q", got, want)
		}
	})
}

// An alert that lasts is brought up to date with every reading; that alone is
// no reason to write.
func TestUpToDateIsNoTransition(t *testing.T) {
	s := ruleStore{newFakeStore(labtest.NewClock(start))}
	msgs := warmRun(plover)
	s.hear(msgs)
	b := newWorker(t, s.fakeStore, func(c *Config) {
		c.Store, c.Chunk, c.SaveEvery = s, 1, time.Hour
		c.NewEngine = func() Engine { return timeline.NewEngine(rules.Config{}) }
	})
	f := b.newFolder()
	if err := f.rebuild(t.Context()); err != nil {
		t.Fatal(err)
	}
	if n := len(s.committed.C()); n == 0 || n > 20 {
		t.Errorf("%d commits for %d arrivals one by one and a single alert; want a few", n, len(msgs))
	}
}
