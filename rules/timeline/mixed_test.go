package timeline_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
	"wetside/rules/timeline"
)

// twoNames feeds step messages of several controllers under several names.
type twoNames struct {
	t     *testing.T
	e     *timeline.Engine
	kept  []lab.Message
	found map[string]timeline.OccurrenceChange
	seq   map[string]int64
	now   time.Time
}

func newTwoNames(t *testing.T) *twoNames {
	b := &twoNames{t: t, e: timeline.NewEngine(rules.Config{}), found: map[string]timeline.OccurrenceChange{}, seq: map[string]int64{}, now: moment(0)}
	b.e.Monitoring(b.now)
	return b
}

func (b *twoNames) UnitMessages(_ context.Context, u lab.UnitID, floor int64) ([]lab.Message, error) {
	var out []lab.Message
	for _, m := range b.kept {
		if m.Unit == u && m.Arrival >= floor {
			out = append(out, m)
		}
	}
	return out, nil
}

// says has the controller that started as boot speak under a name, 5 s after
// whatever came before.
func (b *twoNames) says(boot, name, run string) {
	b.now = b.now.Add(5 * time.Second)
	b.seq[boot]++
	b.send(lab.Message{Boot: boot, Seq: b.seq[boot], At: b.now, Unit: lab.UnitID{Lab: "tern-street", Unit: name}, Received: b.now,
		Channel: lab.ChannelStep, Step: &lab.Step{Phase: lab.PhaseHeating, Run: run, Process: "c41", Step: "developer", N: 1}})
}

func (b *twoNames) send(m lab.Message) {
	b.t.Helper()
	m.Arrival = int64(len(b.kept) + 1)
	b.kept = append(b.kept, m)
	ch, err := b.e.Feed(b.t.Context(), []lab.Arrival{{Message: &m}}, b)
	if err != nil {
		b.t.Fatal(err)
	}
	for _, o := range ch.Occurrences {
		delete(b.found, o.Was)
		if b.found[o.ID] = o; o.Withdrawn {
			delete(b.found, o.ID)
		}
	}
}

func (b *twoNames) mixed() (names []string, cleared bool) {
	for _, o := range b.found {
		if o.Rule == rules.RuleUnitMixedUp {
			names = append(names, fmt.Sprintf("%s %s", o.Unit.Unit, o.Priority))
			cleared = !o.ClearedAt.IsZero()
		} else {
			b.t.Errorf("also told: %s %s", o.Rule, o.Message)
		}
	}
	return names, cleared
}

// Contract, section 2, unit-mixed-up: one boot goes on in seq under a second
// name while the first has fallen silent.
func TestAControllerGoesOnUnderAnotherName(t *testing.T) {
	b := newTwoNames(t)
	for range 4 {
		b.says("aa", "plover", "r1")
	}
	for i := range 4 {
		b.says("aa", "heron", "r1")
		if names, _ := b.mixed(); (len(names) == 1) != (i >= 2) {
			t.Errorf("after %d messages under the second name: %v", i+1, names)
		}
	}
	if names, _ := b.mixed(); len(names) != 1 || names[0] != "heron high" {
		t.Errorf("told of %v", names)
	}
}

// Two units whose boots happen to be called the same, each from 1 on or both
// heard from the middle, are not mixed up.
func TestBootsOfOneNameAreNoMixUp(t *testing.T) {
	for _, from := range []int64{0, 500} {
		b := newTwoNames(t)
		for i := range int64(12) {
			b.now = b.now.Add(5 * time.Second)
			for k, name := range []string{"plover", "heron"} {
				b.send(lab.Message{Boot: "1", Seq: from + i + 1 + int64(k)*3*min(from, 1), At: b.now,
					Unit: lab.UnitID{Lab: "tern-street", Unit: name}, Received: b.now, Channel: lab.ChannelStep,
					Step: &lab.Step{Phase: lab.PhaseIdle}})
			}
		}
		if names, _ := b.mixed(); len(names) != 0 {
			t.Errorf("from seq %d: told of %v", from, names)
		}
	}
}

// Two boots of one unit by turns: three changes in two minutes. The other
// controller is not folded, and no outage is told.
func TestTwoControllersOfOneName(t *testing.T) {
	b := newTwoNames(t)
	for range 4 {
		b.says("aa", "plover", "r1")
	}
	for i := range 6 {
		b.says("bb", "plover", "r9")
		b.says("aa", "plover", "r1")
		if names, _ := b.mixed(); (len(names) == 1) != (i >= 1) {
			t.Errorf("after %d turns: %v", i+1, names)
		}
	}
	u := lab.UnitID{Lab: "tern-street", Unit: "plover"}
	v, _ := b.e.View(u, b.now)
	if v.Run == nil || v.Run.Run != "r1" {
		t.Errorf("the unit is in %+v; want its own run", v.Run)
	}
	for range 30 { // the other is gone: over after two minutes
		b.says("aa", "plover", "r1")
	}
	if _, cleared := b.mixed(); !cleared {
		t.Error("it stays open though the other controller has gone")
	}
}

// A controller that starts, and what its start left behind, are no turns.
func TestARestartIsNoMixUp(t *testing.T) {
	b := newTwoNames(t)
	for range 4 {
		b.says("aa", "plover", "r1")
	}
	late := b.now
	b.says("bb", "plover", "r1")
	b.seq["aa"]++
	b.send(lab.Message{Boot: "aa", Seq: b.seq["aa"], At: late.Add(time.Second), Unit: lab.UnitID{Lab: "tern-street", Unit: "plover"},
		Received: b.now.Add(time.Second), Channel: lab.ChannelStep, Step: &lab.Step{Phase: lab.PhaseHeating, Run: "r1", Process: "c41", Step: "developer", N: 1}})
	b.says("bb", "plover", "r1")
	b.says("cc", "plover", "r1")
	for _, o := range b.found {
		if o.Rule == rules.RuleUnitMixedUp {
			t.Errorf("told: %s", o.Message)
		}
	}
}
