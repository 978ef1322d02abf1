package timeline

import (
	"encoding/json"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// enter takes what a person entered.
func (w *unit) enter(e *lab.Entry) {
	w.Arrival = max(w.Arrival, e.Arrival)
	w.touched = true
	if e.What == lab.EntryTakesBack {
		w.takeBack(e)
		return
	}
	if slices.Contains(w.TakenBack, e.ID) || w.Entries.Find(e.ID) != nil {
		return
	}
	if k := rules.NewEntry(e, w.onUnit); k != nil {
		w.setEntries(w.Entries.With(k))
		w.refoldFor(k)
	}
}

func (w *unit) setEntries(list rules.Entries) {
	w.Entries = list
	w.State.Enter(list)
}

// takenBackKept is how many ids of undone entries are kept: an entry may arrive
// after it was undone.
const takenBackKept = 64

// takeBack undoes another entry, whether it is here or still to come.
func (w *unit) takeBack(e *lab.Entry) {
	var b lab.TakesBack
	if json.Unmarshal(e.Body, &b) != nil || b.ID == "" || slices.Contains(w.TakenBack, b.ID) {
		return
	}
	w.TakenBack = append(w.TakenBack, b.ID)
	if more := len(w.TakenBack) - takenBackKept; more > 0 {
		w.TakenBack = w.TakenBack[more:]
	}
	k := w.Entries.Find(b.ID)
	if k == nil {
		return
	}
	w.setEntries(w.Entries.Without(k))
	if w.OfTimeline != nil {
		w.backToTimeline()
	}
	w.refoldFor(k)
}

// onUnit is a moment of the monitor's clock as the unit's clock showed it. An
// offset too small for clock-off does not count.
func (w *unit) onUnit(t time.Time) time.Time {
	if off, ok := w.offsetS(); !ok || off < w.cfg.Data.Figures.ClockOffS && off > -w.cfg.Data.Figures.ClockOffS {
		return t
	}
	return w.Arrivals.onUnitClock(t)
}

// refoldFor has the unit folded again from the last mark before the entry counts,
// unless the timeline has not come that far yet.
func (w *unit) refoldFor(k *rules.Entry) {
	m := -1
	if k.OfWholeRun() {
		m = slices.IndexFunc(w.Marks, func(m mark) bool { return m.Run == k.RunID })
	}
	if m < 0 {
		if k.T.After(w.timelineNow()) && !k.OfWholeRun() {
			return // the timeline will come to it
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

// timelineNow is the unit's clock at its last message; entries that were counted
// ahead of the timeline do not move it.
func (w *unit) timelineNow() time.Time {
	if w.OfTimeline == nil {
		return w.State.Now().At
	}
	return w.OfTimelineT
}

// countAhead counts in what people entered of a time that the timeline has not
// reached: the unit may be switched off for a night. The state before it is kept,
// and the next message goes on from that.
func (w *unit) countAhead() {
	if !w.State.Pending() {
		return
	}
	w.keepTimelineState()
	w.placing = w.Order.frontier()
	w.State.CountAhead()
}

// foldsAgain tells whether a run can still be folded again.
func (w *unit) foldsAgain(id string) bool {
	return id != "" && w.State.Now().RunID == id || slices.ContainsFunc(w.Marks, func(m mark) bool { return m.Run == id })
}

func (w *unit) forgetEntries() {
	w.setEntries(w.State.ForgetEntries(w.Marks[0].T, w.foldsAgain))
}
