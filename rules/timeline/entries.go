package timeline

import (
	"encoding/json"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// enter takes what a person entered.
func (u *unit) enter(e *lab.Entry) {
	u.Arrival = max(u.Arrival, e.Arrival)
	u.touched = true
	if e.What == lab.EntryTakesBack {
		u.takeBack(e)
		return
	}
	if slices.Contains(u.TakenBack, e.ID) || u.Entries.Find(e.ID) != nil {
		return
	}
	if k := rules.NewEntry(e, u.onUnit); k != nil {
		u.setEntries(u.Entries.With(k))
		u.refoldFor(k)
	}
}

func (u *unit) setEntries(list rules.Entries) {
	u.Entries = list
	u.State.Enter(list)
}

// takenBackKept is how many ids of undone entries are kept: an entry may arrive
// after it was undone.
const takenBackKept = 64

// takeBack undoes another entry, whether it is here or still to come.
func (u *unit) takeBack(e *lab.Entry) {
	var b lab.TakesBack
	if json.Unmarshal(e.Body, &b) != nil || b.ID == "" || slices.Contains(u.TakenBack, b.ID) {
		return
	}
	u.TakenBack = append(u.TakenBack, b.ID)
	if more := len(u.TakenBack) - takenBackKept; more > 0 {
		u.TakenBack = u.TakenBack[more:]
	}
	k := u.Entries.Find(b.ID)
	if k == nil {
		return
	}
	u.setEntries(u.Entries.Without(k))
	if u.OfTimeline != nil {
		u.backToTimeline()
	}
	u.refoldFor(k)
}

// onUnit is a moment of the monitor's clock as the unit's clock showed it. An
// offset too small for clock-off does not count.
func (u *unit) onUnit(t time.Time) time.Time {
	if off, ok := u.offsetS(); !ok || off < u.cfg.Data.Figures.ClockOffS && off > -u.cfg.Data.Figures.ClockOffS {
		return t
	}
	return u.Arrivals.onUnitClock(t)
}

// refoldFor has the unit folded again from the last mark before the entry counts,
// unless the timeline has not come that far yet.
func (u *unit) refoldFor(k *rules.Entry) {
	m := -1
	if k.OfWholeRun() {
		m = slices.IndexFunc(u.Marks, func(m mark) bool { return m.Run == k.RunID })
	}
	if m < 0 {
		if k.T.After(u.timelineNow()) && !k.OfWholeRun() {
			return // the timeline will come to it
		}
		for i := range u.Marks {
			if u.Marks[i].T.Before(k.T) {
				m = i
			}
		}
	}
	if m < 0 {
		return // older than what is kept to fold from
	}
	if at := u.Marks[m].At; u.lateAt == nil || at.before(*u.lateAt) {
		u.lateAt = &at
	}
}

// timelineNow is the unit's clock at its last message; entries that were counted
// ahead of the timeline do not move it.
func (u *unit) timelineNow() time.Time {
	if u.OfTimeline == nil {
		return u.State.Now().At
	}
	return u.OfTimelineT
}

// countAhead counts in what people entered of a time that the timeline has not
// reached: the unit may be switched off for a night. The state before it is kept,
// and the next message goes on from that.
func (u *unit) countAhead() {
	if !u.State.Pending() {
		return
	}
	u.keepTimelineState()
	u.placing = u.Order.frontier()
	u.State.CountAhead()
}

// foldsAgain tells whether a run can still be folded again.
func (u *unit) foldsAgain(id string) bool {
	return id != "" && u.State.Now().RunID == id || slices.ContainsFunc(u.Marks, func(m mark) bool { return m.Run == id })
}

func (u *unit) forgetEntries() {
	u.setEntries(u.State.ForgetEntries(u.Marks[0].T, u.foldsAgain))
}
