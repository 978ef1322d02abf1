package rules

import (
	"cmp"
	"encoding/json"
	"slices"
	"time"

	"wetside/internal/lab"
)

// entry is what a person entered, as the fold counts it in: at a time of the
// unit's own timeline, whenever it arrived. What the fold finds is a function
// of the messages and of the set of entries, so that live watching, a second
// pass and late evidence agree.
type entry struct {
	lab.Entry
	T  time.Time `json:"t"`           // when it was so, by the unit's clock
	To time.Time `json:"to,omitzero"` // until when, of turning by hand; zero: to the end of the outage
}

// enter takes what a person entered.
func (w *watch) enter(e *lab.Entry) {
	w.Arrival = max(w.Arrival, e.Arrival)
	w.touched = true
	if e.What == lab.EntryTakesBack {
		w.takeBack(e)
		return
	}
	known := slices.Contains(w.Back, e.ID) || slices.ContainsFunc(w.Entries, func(k *entry) bool { return k.ID == e.ID })
	if !e.Kind().Folded || known {
		return
	}
	k := &entry{Entry: *e, T: w.onUnit(e.At)}
	k.Arrival = 0 // of no consequence: the fold takes entries as a set
	if e.What == lab.EntryTurned {
		var b lab.Turned
		if json.Unmarshal(e.Body, &b) != nil || b.From.IsZero() {
			return
		}
		k.T = w.onUnit(b.From.Time)
		if b.To != nil {
			k.To = w.onUnit(b.To.Time)
		}
	}
	i, _ := slices.BinarySearchFunc(w.Entries, k, compareEntries)
	w.Entries = slices.Insert(w.Entries, i, k)
	w.again(k)
}

func compareEntries(a, b *entry) int {
	return cmp.Or(a.T.Compare(b.T), cmp.Compare(a.ID, b.ID))
}

// backKept is how many takings back are kept, for entries that arrive after
// them.
const backKept = 64

// takeBack forgets another entry, whether it is here already or still to come.
func (w *watch) takeBack(e *lab.Entry) {
	var b lab.TakesBack
	if json.Unmarshal(e.Body, &b) != nil || b.ID == "" || slices.Contains(w.Back, b.ID) {
		return
	}
	w.Back = append(w.Back, b.ID)
	if more := len(w.Back) - backKept; more > 0 {
		w.Back = w.Back[more:]
	}
	i := slices.IndexFunc(w.Entries, func(k *entry) bool { return k.ID == b.ID })
	if i < 0 {
		return
	}
	k := w.Entries[i]
	w.Entries = slices.Delete(w.Entries, i, i+1)
	if w.Lost != nil {
		w.unlose()
	}
	w.again(k)
}

// onUnit gives a moment of ours as the unit's clock showed it. Small offsets
// do not count.
func (w *watch) onUnit(t time.Time) time.Time {
	if off, ok := w.offsetS(); !ok || off < w.cfg.Data.Figures.ClockOffS && off > -w.cfg.Data.Figures.ClockOffS {
		return t
	}
	return w.Arr.onUnitClock(t)
}

// now is what the unit's clock showed at the last message of its timeline.
func (s *state) now() time.Time { return s.Clock.report(s.Clock.T) }

// again has the unit folded again from the last mark at which the entry did
// not count yet, where the timeline has gone past that.
func (w *watch) again(k *entry) {
	m := -1
	if k.OfWholeRun() {
		m = slices.IndexFunc(w.Marks, func(m mark) bool { return m.Run == k.RunID })
	}
	if m < 0 {
		if k.T.After(w.trueNow()) && !k.OfWholeRun() {
			return // still to come
		}
		for i := range w.Marks {
			if w.Marks[i].T.Before(k.T) {
				m = i
			}
		}
	}
	if m < 0 {
		return // older than what is kept to fold from
	}
	if at := w.Marks[m].At; w.lateAt == nil || at.before(*w.lateAt) {
		w.lateAt = &at
	}
}

// trueNow is the unit's clock at the last message, without what was counted
// in ahead of the timeline.
func (w *watch) trueNow() time.Time {
	if w.Lost == nil {
		return w.State.now()
	}
	return w.TrueT
}

// ahead counts in what people entered of a time that the timeline has not
// reached: a unit that is switched off says nothing for a night. The state
// before it is kept, and goes on with the next message.
func (w *watch) ahead() {
	if !slices.ContainsFunc(w.Entries, func(k *entry) bool { return w.State.pending(k) }) {
		return
	}
	w.setStateAside()
	f := w.fold()
	w.placing = w.Order.frontier()
	for _, k := range w.Entries {
		if w.State.pending(k) {
			before := w.State.Clock.T
			w.State.Clock.T = maxTime(before, k.T.Add(-w.State.Clock.Shift))
			f.apply(k, before)
		}
	}
}

// knowsRun tells whether a run can still be folded again.
func (w *watch) knowsRun(id string) bool {
	return w.State.Run != nil && w.State.Run.ID == id || slices.ContainsFunc(w.Marks, func(m mark) bool { return m.Run == id })
}

// forgetEntries drops the entries that can no longer change anything: those
// before the oldest mark, but for the figures in force.
func (w *watch) forgetEntries() {
	oldest := w.Marks[0].T
	last := map[string]int{}
	for i, k := range w.Entries {
		if k.Kind().Figure && k.T.Before(oldest) {
			last[k.Sets()] = i
		}
	}
	for i := len(w.Entries) - 1; i >= 0; i-- {
		k := w.Entries[i]
		at, set := last[k.Sets()]
		switch {
		case k.Kind().Figure && (!k.T.Before(oldest) || set && at == i), k.OfWholeRun() && w.knowsRun(k.RunID), !k.OfWholeRun() && !k.T.Before(oldest):
			continue
		}
		w.Entries = slices.Delete(w.Entries, i, i+1)
	}
	for id := range w.State.Done {
		if !slices.ContainsFunc(w.Entries, func(k *entry) bool { return k.ID == id }) {
			delete(w.State.Done, id)
		}
	}
}
