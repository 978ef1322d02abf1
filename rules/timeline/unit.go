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
	Unit        lab.UnitID        `json:"unit"`
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
	TakenBack   []string          `json:"back,omitempty"`     // entries taken back
	RunsDue     []lab.Run         `json:"runs_due,omitempty"` // run records still to give out, the last of each run

	cfg     rules.Config
	placing place // of the message being folded
	lateAt  *place
	dirty   map[string]bool
	touched bool

	lookedAt string // what the outlook said when it was last looked at
}

func newUnit(cfg rules.Config, u lab.UnitID) *unit {
	w := &unit{Unit: u, Found: map[string]*found{}, Runs: map[string]string{}, cfg: cfg, dirty: map[string]bool{}}
	w.State = rules.NewUnit(cfg, u, w)
	w.setMark(0)
	return w
}

// take hands in one good message, at arrival time now.
func (w *unit) take(m *lab.Message, now, since time.Time) {
	w.touched = true
	w.Arrival = max(w.Arrival, m.Arrival)
	if w.likelyRetained(m) {
		m.Retained = true
	}
	w.Arrivals.noteArrival(w, m, now, since)
	if m.Will {
		return
	}
	if m.Retained && m.Status != nil {
		w.State.Declare(m.Status)
	}
	what, at := w.Order.add(m)
	if what == takenLate {
		w.refoldFrom(at)
	}
	w.release(now)
}

// likelyRetained tells whether a status is one that the broker kept, in a capture
// that does not mark it: the first message of a unit, and old.
func (w *unit) likelyRetained(m *lab.Message) bool {
	return m.Status != nil && len(w.Order.Boots) == 0 && !m.AtReplaced && m.Received.Sub(m.At) > 30*time.Second
}

// release folds what is ready at arrival time now.
func (w *unit) release(now time.Time) {
	if w.Arrivals.inBacklog(w, now) && w.Order.waitingCount() < pendingMost {
		return
	}
	for {
		m, miss, bootIndex := w.Order.next(&w.cfg.Data.Figures, now)
		if m == nil {
			return
		}
		w.placing = w.Order.place(bootIndex, m.Seq)
		w.foldOne(m, miss, w.Order.pendingFloor(m.Arrival))
		w.touched = true
	}
}

// foldOne folds the next message of the timeline; floor is for a mark.
func (w *unit) foldOne(m *lab.Message, miss missing, floor int64) {
	w.backToTimeline()
	now := w.State.Now()
	begins := m.Step != nil && m.Step.Run != "" && m.Step.Run != now.Run
	if w.Order.crowded() {
		at := w.placing
		if miss.from > 0 {
			at.Seq = miss.from
		}
		w.markAnew(floor, at)
	} else if !now.Running && w.Since > 0 && (begins || w.Since >= marksEvery) {
		// the mark lies before the hole that is right before m
		at := w.placing
		if miss.from > 0 {
			at.Seq = miss.from
		}
		w.setMark(floor)
		last := &w.Marks[len(w.Marks)-1]
		last.At = at
		if begins {
			last.Run = rules.RunID(w.Unit, m.Step.Run)
		}
	}
	w.State.Take(m, miss.gaps, miss.unspoken)
	w.Since++
}

// offsetS is the unit's clock offset, false while unknown.
func (w *unit) offsetS() (float64, bool) {
	v := w.Arrivals.offset()
	return v, !math.IsInf(v, 1)
}
