package watch

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/rules"
	"wetside/rules/timeline"
)

// realFolder is a worker's state with the real engine over a store.
func realFolder(t *testing.T, s ruleStore, program string) (*folder, *bench) {
	t.Helper()
	b := newWorker(t, s.fakeStore, func(c *Config) {
		c.Store, c.Chunk, c.SaveEvery, c.Program = s, 40, time.Nanosecond, program
		c.NewEngine = func() Engine { return timeline.NewEngine(rules.Config{}) }
	})
	f := b.newFolder()
	if err := f.rebuild(t.Context()); err != nil {
		t.Fatalf("one unit stops the rest: %v", err)
	}
	return f, b
}

// spoil puts something into a stored state on which the fold breaks.
func (s ruleStore) spoil(t *testing.T, unit lab.UnitID) {
	t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	st := s.states[unit]
	was := []byte(`"steps":[`)
	if !bytes.Contains(st.Blob, was) {
		t.Fatalf("the state has no run to spoil: %.300s", st.Blob)
	}
	st.Blob = bytes.Replace(st.Blob, was, []byte(`"steps":[null,`), 1)
	st.Blob = bytes.Replace(st.Blob, []byte(`"steps":[null,]`), []byte(`"steps":[null]`), 1)
	s.states[unit] = st
}

func faultOf(w *Worker, unit lab.UnitID) *lab.UnitFault {
	v, _ := w.Unit(unit)
	return v.Fault
}

// A unit on which the fold breaks is set aside; the other's alert comes as if
// nothing had been. It stays aside over a restart, and another version of the
// program folds it again from where it stopped.
func TestOneUnitCannotStopAnother(t *testing.T) {
	s := ruleStore{newFakeStore(labtest.NewClock(start))}
	first, second := warmRun(plover), warmRun(heron)
	const half = 40
	s.hear(first[:half])
	s.hear(second[:half])
	realFolder(t, s, "v1")
	s.spoil(t, plover)

	s.hear(first[half:])
	s.hear(second[half:])
	f, b := realFolder(t, s, "v1")
	fault := faultOf(b.Worker, plover)
	if fault == nil || fault.Judged || !strings.Contains(fault.Text, "Not judged") {
		t.Fatalf("plover's fault is %+v, want it not judged", fault)
	}
	if faultOf(b.Worker, heron) != nil {
		t.Error("heron has a fault")
	}
	wants := func(unit lab.UnitID) bool {
		rows, _, _ := s.Stored()
		return slices.ContainsFunc(rows, func(a lab.StoredAlert) bool {
			return a.Rule == rules.RuleBathTemperature && a.Unit == unit.String()
		})
	}
	if !wants(heron) {
		t.Error("heron's developer is a degree too warm and nobody is told")
	}
	if wants(plover) {
		t.Error("plover is judged by a state that is broken")
	}
	if mark := s.states[plover].Aside; mark == nil || mark.Program != "v1" || mark.Why == "" {
		t.Fatalf("plover is stored with the mark %+v", mark)
	}
	if f.cursor < int64(len(s.arrivals)) {
		t.Errorf("the cursor stands at %d of %d: the fault holds it back", f.cursor, len(s.arrivals))
	}

	f, b = realFolder(t, s, "v1")
	if fault := faultOf(b.Worker, plover); fault == nil || f.cursor < int64(len(s.arrivals)) {
		t.Errorf("after a restart: fault %+v, cursor %d", fault, f.cursor)
	}

	// What was wrong with the fold is mended in v2: here, with the state.
	st := s.states[plover]
	st.Blob = bytes.Replace(st.Blob, []byte(`"steps":[null,`), []byte(`"steps":[`), 1)
	s.states[plover] = st
	f, b = realFolder(t, s, "v2")
	f.saveLast()
	if fault := faultOf(b.Worker, plover); fault != nil {
		t.Errorf("another version: still %+v", fault)
	}
	if !wants(plover) {
		t.Error("another version folds plover again and finds nothing")
	}
	if s.states[plover].Aside != nil {
		t.Error("the mark stays on a unit that is judged again")
	}
}

// A stored state that does not read at all is one unit's trouble.
func TestStateThatDoesNotRead(t *testing.T) {
	s := ruleStore{newFakeStore(labtest.NewClock(start))}
	s.hear(warmRun(plover)[:40])
	s.hear(warmRun(heron))
	realFolder(t, s, "v1")
	for _, blob := range []string{`{`, `null`, `{"found":{"x":null}}`, `{"state":null}`, `[]`} {
		st := s.states[plover]
		st.Blob, st.Aside = []byte(blob), nil
		s.states[plover] = st
		s.hear(warmRun(plover)[40:42])
		_, b := realFolder(t, s, "v1")
		if blob != `null` && faultOf(b.Worker, plover) == nil {
			t.Errorf("state %s: no fault is told", blob)
		}
		if v, ok := b.Unit(heron); !ok || v.Fault != nil || v.Run == nil {
			t.Errorf("state %s of plover: heron is %+v", blob, v)
		}
	}
}

// What the store refuses of one unit is left out; what was found of the others
// in the same pass is written.
func TestStoreRefusesOneUnit(t *testing.T) {
	s := ruleStore{newFakeStore(labtest.NewClock(start))}
	s.refused = plover
	s.hear(warmRun(plover))
	s.hear(warmRun(heron))
	_, b := realFolder(t, s, "v1")
	rows, _, pages := s.Stored()
	if len(rows) != 1 || rows[0].Unit != heron.String() || len(pages) == 0 {
		t.Errorf("stored %d alerts and %d pages, want heron's", len(rows), len(pages))
	}
	if fault := faultOf(b.Worker, plover); fault == nil || fault.Judged {
		t.Errorf("plover's fault is %+v", fault)
	}
	if s.states[plover].Aside == nil {
		t.Error("plover is not marked in the store")
	}
}

// oddEngine gives one unit a view that JSON cannot hold.
type oddEngine struct {
	Engine
	odd lab.UnitID
}

func (e oddEngine) View(u lab.UnitID, now time.Time) (lab.Unit, bool) {
	v, ok := e.Engine.View(u, now)
	if inf := math.Inf(1); u == e.odd {
		v.RoomC = &inf
	}
	return v, ok
}

// A view that cannot be written is not shown; what is shown can be.
func TestViewThatCannotBeWritten(t *testing.T) {
	s := ruleStore{newFakeStore(labtest.NewClock(start))}
	s.hear(warmRun(plover))
	s.hear(warmRun(heron))
	b := newWorker(t, s.fakeStore, func(c *Config) {
		c.Store = s
		c.NewEngine = func() Engine { return oddEngine{timeline.NewEngine(rules.Config{}), plover} }
	})
	if err := b.newFolder().rebuild(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, err := json.Marshal(b.Units()); err != nil {
		t.Fatalf("the units cannot be written: %v", err)
	}
	if fault := faultOf(b.Worker, plover); fault == nil || !fault.Judged {
		t.Errorf("plover's fault is %+v, want that it is judged and not shown whole", fault)
	}
	if v, _ := b.Unit(heron); v.Fault != nil || v.Run == nil {
		t.Errorf("heron is shown as %+v", v)
	}
	rows, _, _ := s.Stored()
	if fmt.Sprint(len(rows)) != "2" {
		t.Errorf("%d alerts; both developers are too warm", len(rows))
	}
}
