package timeline

import (
	"encoding/json"
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// unit is one unit: its messages in order, its state by the rules, and what was
// found. Its JSON is what is stored: names there may not change.
type unit struct {
	ID          lab.UnitID        `json:"unit"`
	Order       order             `json:"order"`
	State       *rules.Unit       `json:"state"`
	Marks       []mark            `json:"marks"`
	Since       int               `json:"since"` // messages folded since the last mark
	Found       map[string]*found `json:"found"`
	Runs        map[string]string `json:"runs,omitempty"` // digests of the run records that were given out, by id
	Arrivals    arrivals          `json:"arr"`
	Arrival     int64             `json:"arrival"`            // the last arrival number taken
	OfTimeline  json.RawMessage   `json:"lost,omitempty"`     // the state that the messages alone have made, while State is ahead of it (lostrun.go)
	OfTimelineT time.Time         `json:"true_t,omitzero"`    // the unit's clock in it
	Entries     rules.Entries     `json:"entries,omitempty"`  // what people entered, by time
	TakenBack   []string          `json:"back,omitempty"`     // ids of entries that were undone
	RunsDue     []lab.Run         `json:"runs_due,omitempty"` // run records still to give out, the last of each run

	cfg     rules.Config
	placing place           // where what is found now belongs: the message being folded
	lateAt  *place          // the earliest place that late evidence has come for; folded again with the next collect
	dirty   map[string]bool // ids of what was found or changed since changes gave it out
	touched bool            // something came or changed since then

	lookedAt string // what the outlook said when it was last looked at
}

func newUnit(cfg rules.Config, id lab.UnitID) *unit {
	u := &unit{ID: id, Found: map[string]*found{}, Runs: map[string]string{}, cfg: cfg, dirty: map[string]bool{}}
	u.State = rules.NewUnit(cfg, id, u)
	u.setMark(0)
	return u
}

// take hands in one good message, at arrival time now.
func (u *unit) take(m *lab.Message, now, since time.Time) {
	u.touched = true
	u.Arrival = max(u.Arrival, m.Arrival)
	if u.likelyRetained(m) {
		m.Retained = true
	}
	u.Arrivals.noteArrival(u, m, now, since)
	if m.Will {
		return
	}
	if m.Retained && m.Status != nil {
		u.State.Declare(m.Status)
	}
	what, at := u.Order.add(m)
	if what == takenLate {
		u.refoldFrom(at)
	}
	u.release(now)
}

// likelyRetained tells whether a status is one that the broker kept, in a capture
// that does not mark it: the first message of a unit, and old.
func (u *unit) likelyRetained(m *lab.Message) bool {
	return m.Status != nil && len(u.Order.Boots) == 0 && !m.AtReplaced && m.Received.Sub(m.At) > 30*time.Second
}

// release folds what is ready at arrival time now.
func (u *unit) release(now time.Time) {
	if u.Arrivals.inBacklog(u, now) && u.Order.waitingCount() < pendingMost {
		return
	}
	for {
		m, miss, bootIndex := u.Order.next(&u.cfg.Data.Figures, now)
		if m == nil {
			return
		}
		u.placing = u.Order.place(bootIndex, m.Seq)
		u.foldOne(m, miss, u.Order.pendingFloor(m.Arrival))
		u.touched = true
	}
}

// foldOne folds the next message of the timeline; floor is for a mark.
func (u *unit) foldOne(m *lab.Message, miss missing, floor int64) {
	u.backToTimeline()
	now := u.State.Now()
	begins := m.Step != nil && m.Step.Run != "" && m.Step.Run != now.Run
	if u.Order.crowded() {
		at := u.placing
		if miss.from > 0 {
			at.Seq = miss.from
		}
		u.markAnew(floor, at)
	} else if !now.Running && u.Since > 0 && (begins || u.Since >= marksEvery) {
		// the mark lies before the hole that is right before m
		at := u.placing
		if miss.from > 0 {
			at.Seq = miss.from
		}
		u.setMark(floor)
		last := &u.Marks[len(u.Marks)-1]
		last.At = at
		if begins {
			last.Run = rules.RunID(u.ID, m.Step.Run)
		}
	}
	u.State.Take(m, miss.gaps, miss.unspoken)
	u.Since++
}

// offsetS is the unit's clock offset, false while unknown.
func (u *unit) offsetS() (float64, bool) {
	v := u.Arrivals.offset()
	return v, !math.IsInf(v, 1)
}
