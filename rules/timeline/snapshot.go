package timeline

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"wetside/internal/lab"
)

// StateVersion is the version of the stored state. A state of another version
// is folded anew from stored telemetry.
const StateVersion = 2

// ErrVersion says that a stored state is of another version.
var ErrVersion = errors.New("stored state has another version")

// Snapshot gives the state of a unit to store, and the last arrival number
// that is in it. It gives none of a unit that is not known or was set aside. A
// state that cannot be written is a fault of the program: that unit is set aside
// by this very call.
func (e *Engine) Snapshot(id lab.UnitID) (version int, blob []byte, arrival int64) {
	u := e.units[id]
	if u == nil {
		return StateVersion, nil, 0
	}
	_ = e.guard(id, func() (err error) { // no error can come: the store is not asked
		blob, err = json.Marshal(u)
		return err
	})
	if blob == nil {
		return StateVersion, nil, 0
	}
	return StateVersion, blob, u.Arrival
}

// Restore takes a stored state back.
func (e *Engine) Restore(id lab.UnitID, version int, blob []byte) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("%s: stored state is not whole: %v", id, r)
		}
	}()
	if version != StateVersion {
		return fmt.Errorf("%s: version must be %d; got %d: %w", id, StateVersion, version, ErrVersion)
	}
	u := newUnit(e.cfg, id)
	u.Marks = nil
	if err := json.Unmarshal(blob, u); err != nil {
		return fmt.Errorf("%s: stored state does not read: %w", id, err)
	}
	u.ID = id
	u.State.Enter(u.Entries)
	u.wasNotGivenOut()
	e.add(u)
	if u.Arrivals.Last.After(e.clock) {
		e.clock = u.Arrivals.Last
	}
	e.due = time.Time{}
	return nil
}
