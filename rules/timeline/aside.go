package timeline

import (
	"errors"
	"fmt"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
)

// Aside is a unit that cannot be judged because of a fault of the program's own,
// and is set aside so that the others go on. What it sends is stored; a later
// version of the program folds it again from its last good state.
type Aside struct {
	Unit  lab.UnitID
	At    time.Time // arrival time at which the fault showed
	Why   string    // one line
	Stack string    // where, for the log
}

// historyError is a failure to read stored telemetry: of the store, not of the
// unit.
type historyError struct{ error }

func (e historyError) Unwrap() error { return e.error }

// guard does something with one unit's state. A panic, or an error that is not
// the store's, sets that unit aside and nothing else. It gives the store's
// errors.
func (e *Engine) guard(id lab.UnitID, do func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			e.setAside(id, fmt.Sprint(r), string(debug.Stack()))
			err = nil
		}
	}()
	err = do()
	var store historyError
	if err == nil || errors.As(err, &store) {
		return err
	}
	e.setAside(id, err.Error(), "")
	return nil
}

// setAside takes a unit out of the engine: what is left of its state cannot be
// trusted.
func (e *Engine) setAside(id lab.UnitID, why, stack string) {
	if _, known := e.aside[id]; known {
		return
	}
	if e.aside == nil {
		e.aside = map[lab.UnitID]Aside{}
	}
	e.aside[id] = Aside{Unit: id, At: e.clock, Why: why, Stack: stack}
	e.newAside = append(e.newAside, e.aside[id])
	delete(e.units, id)
	e.byName = slices.DeleteFunc(slices.Clone(e.byName), func(x lab.UnitID) bool { return x == id })
	e.due = time.Time{}
}

// SetAside lists the units that are not judged, by name.
func (e *Engine) SetAside() []Aside {
	out := make([]Aside, 0, len(e.aside))
	for _, a := range e.aside {
		out = append(out, a)
	}
	slices.SortFunc(out, func(a, b Aside) int { return strings.Compare(a.Unit.String(), b.Unit.String()) })
	return out
}

// PutAside sets a unit aside that was so before, or that somebody else cannot
// go on with: a store that refuses what was found of it.
func (e *Engine) PutAside(a Aside) {
	e.setAside(a.Unit, a.Why, a.Stack)
	e.aside[a.Unit] = a
	e.newAside = slices.DeleteFunc(e.newAside, func(x Aside) bool { return x.Unit == a.Unit })
}

func (e *Engine) isAside(id lab.UnitID) bool { _, ok := e.aside[id]; return ok }
