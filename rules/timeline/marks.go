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
	Floor int64           `json:"floor"`         // no later message has a lower arrival number
	State json.RawMessage `json:"state"`
}

const (
	marksKept  = 6
	marksEvery = 4000 // messages, while no run goes on
)

// marshalState is the state as it is stored.
func (w *unit) marshalState() json.RawMessage {
	blob, err := w.State.MarshalJSON()
	if err != nil {
		panic("rules: state does not marshal: " + err.Error())
	}
	return blob
}

// setMark keeps a place to fold again from; floor is the lowest arrival
// number of what comes after it.
func (w *unit) setMark(floor int64) {
	w.Marks = append(w.Marks, mark{At: w.Order.frontier(), T: w.State.Now().At, Floor: floor, State: w.marshalState()})
	if len(w.Marks) > marksKept {
		w.Marks = slices.Clone(w.Marks[1:])
		w.forget()
		w.forgetEntries()
	}
	w.Since = 0
}

// markAnew gives up folding from earlier marks: a unit that starts again and
// again has more boots than are kept.
func (w *unit) markAnew(floor int64, at place) {
	w.Marks = nil
	w.setMark(floor)
	w.Marks[0].At = at
	w.Order.forget(at)
	w.forget()
	w.forgetEntries()
}
