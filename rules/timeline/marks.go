package timeline

import (
	"encoding/json"
	"slices"
	"time"
)

// mark is a place in the timeline from which the unit can be folded again.
type mark struct {
	At    place           `json:"at"`
	T     time.Time       `json:"t,omitzero"`    // the unit's clock there
	Run   string          `json:"run,omitempty"` // the run that begins there
	Floor int64           `json:"floor"`         // the lowest arrival number of what comes after it
	State json.RawMessage `json:"state"`
}

const (
	marksKept  = 6
	marksEvery = 4000 // messages, outside a run
)

// marshalState is the state as it is stored.
func (w *unit) marshalState() json.RawMessage {
	blob, err := w.State.MarshalJSON()
	if err != nil {
		panic("rules: state does not marshal: " + err.Error())
	}
	return blob
}

// setMark keeps the state here as a place to fold again from.
func (w *unit) setMark(floor int64) {
	w.Marks = append(w.Marks, mark{At: w.Order.frontier(), T: w.State.Now().At, Floor: floor, State: w.marshalState()})
	if len(w.Marks) > marksKept {
		w.Marks = slices.Clone(w.Marks[1:])
		w.forget()
		w.forgetEntries()
	}
	w.Since = 0
}

// markAnew forgets all earlier marks and sets one here, for a unit that starts so
// often that its boots cannot be kept back to them.
func (w *unit) markAnew(floor int64, at place) {
	w.Marks = nil
	w.setMark(floor)
	w.Marks[0].At = at
	w.Order.forget(at)
	w.forget()
	w.forgetEntries()
}
