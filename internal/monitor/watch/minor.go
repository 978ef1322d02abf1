package watch

import (
	"reflect"
	"slices"

	"wetside/internal/lab"
	"wetside/rules/timeline"
)

// minor are changes that only bring the words and figures of a lasting
// occurrence up to date. They are no transitions, and with every reading
// there is one: they wait for the next write, which comes with the unit's
// state at the latest. Until then neither is stored, so that a crash loses
// neither.
type minor struct {
	last    map[string]timeline.OccurrenceChange // lasting occurrences by id, as last written
	waiting []timeline.OccurrenceChange          // the latest of each
}

// sift puts minor changes aside and tells whether there are others.
func (m *minor) sift(found []timeline.OccurrenceChange) (major []timeline.OccurrenceChange) {
	for _, o := range found {
		if old, ok := m.last[o.ID]; ok && reflect.DeepEqual(bare(old), bare(o)) {
			m.wait(o)
			continue
		}
		m.waiting = slices.DeleteFunc(m.waiting, func(w timeline.OccurrenceChange) bool { return w.ID == o.ID })
		major = append(major, o)
	}
	return major
}

// bare is a change without what may change with every reading.
func bare(o timeline.OccurrenceChange) timeline.OccurrenceChange {
	o.Message, o.Consequence, o.Response, o.Facts = "", "", "", nil
	return o
}

func (m *minor) wait(o timeline.OccurrenceChange) {
	for i, w := range m.waiting {
		if w.ID == o.ID {
			m.waiting[i] = o
			return
		}
	}
	m.waiting = append(m.waiting, o)
}

// with gives what waits, then the others: all that a write must hold.
func (m *minor) with(major []timeline.OccurrenceChange) []timeline.OccurrenceChange {
	return append(append([]timeline.OccurrenceChange(nil), m.waiting...), major...)
}

// written notes that all of it is in the store.
func (m *minor) written(major []timeline.OccurrenceChange) {
	m.waiting = nil
	for _, o := range major {
		delete(m.last, o.Was)
		if o.Withdrawn || !o.ClearedAt.IsZero() {
			delete(m.last, o.ID)
			continue
		}
		m.last[o.ID] = o
	}
}

// forget drops what waits of a unit.
func (m *minor) forget(unit lab.UnitID) {
	m.waiting = slices.DeleteFunc(m.waiting, func(o timeline.OccurrenceChange) bool { return o.Unit == unit })
}

// waits tells whether something of a unit is waiting.
func (m *minor) waits(unit lab.UnitID) bool {
	for _, o := range m.waiting {
		if o.Unit == unit {
			return true
		}
	}
	return false
}
