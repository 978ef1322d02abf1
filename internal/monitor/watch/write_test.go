package watch

import (
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/rules/timeline"
)

// The last words of an alert wait for the next write of their unit's state: at
// a stop the state is not written without them, else they would be lost.
func TestStopWritesNoStateWhoseWordsWait(t *testing.T) {
	store := newFakeStore(labtest.NewClock(start))
	store.heard(plover, 41)
	b := newWorker(t, store, func(c *Config) { c.SaveEvery = time.Hour })
	f := b.newFolder()
	if err := f.rebuild(t.Context()); err != nil {
		t.Fatal(err)
	}
	before := store.states[plover].Arrival
	store.heard(plover, 42)
	if err := f.drain(t.Context()); err != nil {
		t.Fatal(err)
	}
	occ := *f.engine.(*fakeEngine).units[plover].Warm
	f.minor.wait(timeline.OccurrenceChange{Occurrence: occ})
	f.saveLast()
	if got := store.states[plover].Arrival; got != before {
		t.Errorf("the state up to %d is stored without the words that wait; want it left at %d", got, before)
	}
	f.minor.forget(plover)
	f.saveLast()
	if got := store.states[plover].Arrival; got == before {
		t.Error("with nothing waiting the state is not stored")
	}
}

// What is over is kept no longer: its words are no minor change of something
// that lasts, and the memory of what lasts does not grow with what is over.
func TestMinorForgetsWhatIsOver(t *testing.T) {
	m := minor{last: map[string]timeline.OccurrenceChange{}}
	lasting := timeline.OccurrenceChange{Occurrence: lab.Occurrence{ID: "o1", Message: "0.4 °C warm"}}
	m.written([]timeline.OccurrenceChange{lasting})
	lasting.Message = "0.5 °C warm"
	if major := m.sift([]timeline.OccurrenceChange{lasting}); len(major) != 0 || len(m.waiting) != 1 {
		t.Errorf("other words of what lasts: %d to be written at once, %d wait; want one that waits", len(major), len(m.waiting))
	}
	for _, over := range []func(o *timeline.OccurrenceChange){
		func(o *timeline.OccurrenceChange) { o.ClearedAt = time.Unix(1, 0) },
		func(o *timeline.OccurrenceChange) { o.Withdrawn = true },
	} {
		o := lasting
		over(&o)
		m.written([]timeline.OccurrenceChange{lasting})
		m.written([]timeline.OccurrenceChange{o})
		if len(m.last) != 0 {
			t.Errorf("%d are kept after all are over", len(m.last))
		}
	}
}

// A state is stored as of all that was read, also that of a unit of which the
// last was heard long ago: the next start has nothing of it to read again.
func TestStatesStandAtTheCursor(t *testing.T) {
	store := newFakeStore(labtest.NewClock(start))
	store.heard(plover, 41)
	b := newWorker(t, store, nil)
	f := b.newFolder()
	if err := f.rebuild(t.Context()); err != nil {
		t.Fatal(err)
	}
	store.heard(heron, 42)
	if err := f.drain(t.Context()); err != nil {
		t.Fatal(err)
	}
	for _, st := range f.states([]lab.UnitID{plover, heron}) {
		if st.Arrival != f.cursor || f.cursor < 2 {
			t.Errorf("%s is stored as of %d; all up to %d was read", st.Unit, st.Arrival, f.cursor)
		}
	}
}
