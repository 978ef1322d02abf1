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
func (u *unit) marshalState() json.RawMessage {
	blob, err := u.State.MarshalJSON()
	if err != nil {
		panic("rules: state does not marshal: " + err.Error())
	}
	return blob
}

// setMark keeps the state here as a place to fold again from.
func (u *unit) setMark(floor int64) {
	u.Marks = append(u.Marks, mark{At: u.Order.frontier(), T: u.State.Now().At, Floor: floor, State: u.marshalState()})
	if len(u.Marks) > marksKept {
		u.Marks = slices.Clone(u.Marks[1:])
		u.forget()
		u.forgetEntries()
	}
	u.Since = 0
}

// markAnew forgets all earlier marks and sets one here, for a unit that starts so
// often that its boots cannot be kept back to them.
func (u *unit) markAnew(floor int64, at place) {
	u.Marks = nil
	u.setMark(floor)
	u.Marks[0].At = at
	u.Order.forget(at)
	u.forget()
	u.forgetEntries()
}
