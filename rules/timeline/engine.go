package timeline

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// History gives stored telemetry back to the fold when late evidence makes it
// fold a unit again. It must return every stored message of the unit whose
// arrival number is at least floor (floor 0: all there is), in any order.
type History interface {
	UnitMessages(ctx context.Context, unit lab.UnitID, floor int64) ([]lab.Message, error)
}

// Changes is what a call to Feed or Tick found. It is keyed by what things
// are of: applying it twice changes nothing.
type Changes struct {
	// Occurrences are new or changed, unit by unit.
	Occurrences []OccurrenceChange
	// Runs are new or changed.
	Runs []lab.Run
	// Touched are the units whose view or state may have changed.
	Touched []lab.UnitID
	// Aside are the units that could not be folded; what was found of them in
	// this call is not in it.
	Aside []Aside
}

// OccurrenceChange is one episode of a condition as it stands now.
type OccurrenceChange struct {
	lab.Occurrence
	// Noticed is the arrival time at which the fold found it out.
	Noticed time.Time
	// FoundAfterwards: it had already ended when it was noticed.
	FoundAfterwards bool
	// Was is the ID the same episode had before late evidence moved its
	// beginning; "" otherwise. What people did to it goes with it.
	Was string
	// Withdrawn: later evidence says that it never was.
	Withdrawn bool
}

// StateVersion is the version of the stored state. A state of another version
// is folded anew from stored telemetry.
const StateVersion = 2

// ErrVersion says that a stored state is of another version.
var ErrVersion = errors.New("stored state has another version")

// Engine folds the telemetry of any number of units. It holds no clock and
// does no input or output of its own. It belongs to one goroutine.
type Engine struct {
	cfg    rules.Config
	units  map[lab.UnitID]*unit
	order  []lab.UnitID // by name
	clock  time.Time    // the latest arrival time
	since  time.Time    // silence is judged from here
	paused bool
	due    time.Time // no silence before this
	set    clockSet  // when the monitor's own clock was last set

	aside    map[lab.UnitID]Aside // units that cannot be judged
	newAside []Aside              // of them those not told of yet
}

// NewEngine makes an engine that knows no unit yet. Zero fields of the
// configuration are the built-in sheets and rules.
func NewEngine(cfg rules.Config) *Engine {
	return &Engine{cfg: cfg.WithDefaults(), units: map[lab.UnitID]*unit{}}
}

// Units lists the units heard of, by name.
func (e *Engine) Units() []lab.UnitID { return slices.Clone(e.order) }

func (e *Engine) unit(u lab.UnitID) *unit {
	w := e.units[u]
	if w == nil {
		w = newUnit(e.cfg, u)
		e.put(w)
	}
	return w
}

func (e *Engine) put(w *unit) {
	if e.units[w.Unit] == nil {
		i, _ := slices.BinarySearchFunc(e.order, w.Unit, func(a, b lab.UnitID) int {
			return strings.Compare(a.String(), b.String())
		})
		e.order = slices.Insert(e.order, i, w.Unit)
	}
	e.units[w.Unit] = w
}

// Monitoring starts the silence clock: the monitor is connected and caught up.
func (e *Engine) Monitoring(from time.Time) {
	if e.paused || e.since.IsZero() {
		e.since = from
	}
	e.paused, e.due = false, time.Time{}
}

// Paused stops the silence clock.
func (e *Engine) Paused(time.Time) { e.paused = true }

// Feed takes arrivals in the order of their numbers. What a unit has already
// taken (by arrival number) is passed over.
func (e *Engine) Feed(ctx context.Context, arrivals []lab.Arrival, h History) (Changes, error) {
	for _, a := range arrivals {
		if err := e.arrival(a); err != nil {
			return Changes{}, err
		}
	}
	return e.collect(ctx, h)
}

func (e *Engine) arrival(a lab.Arrival) error {
	unit, received := a.Of(), e.received(a.ReceivedAt())
	if received.After(e.clock) {
		e.clock = received
	}
	if unit.IsZero() {
		return nil
	}
	if e.isAside(unit) {
		return nil
	}
	return e.guard(unit, func() error {
		w := e.unit(unit)
		if n := a.Number(); n > 0 && n <= w.Arrival {
			return nil
		}
		e.silence(e.clock)
		e.takeIn(w, a, received)
		return nil
	})
}

// takeIn hands one arrival to its unit.
func (e *Engine) takeIn(w *unit, a lab.Arrival, received time.Time) {
	w.Arr.tick(w, e.clock)
	w.loseRun(e.clock)
	if a.Entry != nil {
		w.enter(a.Entry)
		return
	}
	if a.Refused != nil {
		w.Arr.refuse(w, a.Refused, received)
		return
	}
	m := *a.Message
	m.Received = received
	if !m.Will && !m.Retained {
		e.heardAgain(w, received)
		if e.another(w, &m, received) {
			w.stored(&m, received)
			return
		}
	}
	w.take(&m, received, e.since)
	if m.Will {
		e.due = time.Time{}
	}
}

// Tick lets arrival time pass to now: holes are given up, silence is judged.
func (e *Engine) Tick(ctx context.Context, now time.Time, h History) (Changes, error) {
	switch {
	case now.After(e.clock):
		e.clock = now
	case e.clock.Sub(now) > lab.Seconds(setBackS):
		e.pullBack(now)
	}
	e.silence(e.clock)
	for _, u := range slices.Clone(e.order) {
		w := e.units[u]
		if w == nil {
			continue
		}
		_ = e.guard(u, func() error { // it reads nothing from the store
			w.Arr.tick(w, e.clock)
			if w.Order.waiting() {
				w.release(e.clock)
			}
			w.loseRun(e.clock)
			w.touched = w.outlookMoves(e.clock) || w.touched
			return nil
		})
	}
	return e.collect(ctx, h)
}

// collect folds again where late evidence came, and gives out what is new.
func (e *Engine) collect(ctx context.Context, h History) (Changes, error) {
	var ch Changes
	for _, u := range slices.Clone(e.order) {
		w := e.units[u]
		if w == nil || w.lateAt == nil && !w.touched {
			continue
		}
		if err := e.guard(u, func() error { return e.collectUnit(ctx, w, h, &ch) }); err != nil {
			return ch, err
		}
	}
	ch.Aside, e.newAside = e.newAside, nil
	return ch, nil
}

func (e *Engine) collectUnit(ctx context.Context, w *unit, h History, ch *Changes) error {
	if w.lateAt != nil {
		if err := w.refold(ctx, h); err != nil {
			return err
		}
	}
	if !w.touched {
		return nil
	}
	w.ahead()
	w.offlineClears()
	if w.Arr.inBacklog(w, e.clock) {
		// A backlog too long to be kept whole is folded as it comes in, and
		// given out when it is all there: what had ended meanwhile pages
		// nobody.
		ch.Touched = append(ch.Touched, w.Unit)
		return nil
	}
	w.touched = false
	occ, runs := w.changes(e.clock)
	ch.Occurrences = append(ch.Occurrences, occ...)
	ch.Runs = append(ch.Runs, runs...)
	ch.Touched = append(ch.Touched, w.Unit)
	return nil
}

// Snapshot gives the state of a unit to store, and the last arrival number
// that is in it. It gives none of a unit that is not known or was set aside,
// be it by this very call: a state that cannot be written is a fault of ours.
func (e *Engine) Snapshot(u lab.UnitID) (version int, blob []byte, arrival int64) {
	w := e.units[u]
	if w == nil {
		return StateVersion, nil, 0
	}
	_ = e.guard(u, func() (err error) { // it reads nothing from the store
		blob, err = json.Marshal(w)
		return err
	})
	if blob == nil {
		return StateVersion, nil, 0
	}
	return StateVersion, blob, w.Arrival
}

// Restore takes a stored state back.
func (e *Engine) Restore(u lab.UnitID, version int, blob []byte) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("%s: stored state is not whole: %v", u, r)
		}
	}()
	if version != StateVersion {
		return fmt.Errorf("%s: version must be %d; got %d: %w", u, StateVersion, version, ErrVersion)
	}
	w := newUnit(e.cfg, u)
	w.Marks = nil
	if err := json.Unmarshal(blob, w); err != nil {
		return fmt.Errorf("%s: stored state does not read: %w", u, err)
	}
	w.Unit = u
	w.State.Enter(w.Entries)
	w.wasNotGivenOut()
	e.put(w)
	if w.Arr.Last.After(e.clock) {
		e.clock = w.Arr.Last
	}
	e.due = time.Time{}
	return nil
}
