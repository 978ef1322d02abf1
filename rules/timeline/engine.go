package timeline

import (
	"context"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// History gives stored telemetry back when late evidence makes it necessary to
// fold a unit again. It must return every stored message of the unit whose
// arrival number is at least floor (floor 0: all there is), in any order.
type History interface {
	UnitMessages(ctx context.Context, id lab.UnitID, floor int64) ([]lab.Message, error)
}

// Engine follows any number of units: it gives their telemetry to the rules in
// order and keeps what is found. It reads no clock and does no input or output of
// its own. It belongs to one goroutine.
type Engine struct {
	cfg    rules.Config
	units  map[lab.UnitID]*unit
	byName []lab.UnitID
	clock  time.Time // the latest arrival time
	since  time.Time // the monitor listens since then: silence counts from here
	paused bool
	due    time.Time // the next moment at which a unit can count as silent
	set    clockSet  // when the monitor's own clock was last set

	aside    map[lab.UnitID]Aside // units that cannot be judged
	newAside []Aside              // those that Changes has not told yet
}

// NewEngine makes an engine that knows no unit yet. Zero fields of the
// configuration are the built-in sheets and rules.
func NewEngine(cfg rules.Config) *Engine {
	return &Engine{cfg: cfg.WithDefaults(), units: map[lab.UnitID]*unit{}}
}

// Units lists the units heard of, by name.
func (e *Engine) Units() []lab.UnitID { return slices.Clone(e.byName) }

func (e *Engine) unit(id lab.UnitID) *unit {
	u := e.units[id]
	if u == nil {
		u = newUnit(e.cfg, id)
		e.add(u)
	}
	return u
}

func (e *Engine) add(u *unit) {
	if e.units[u.ID] == nil {
		i, _ := slices.BinarySearchFunc(e.byName, u.ID, func(a, b lab.UnitID) int {
			return strings.Compare(a.String(), b.String())
		})
		e.byName = slices.Insert(slices.Clone(e.byName), i, u.ID) // a list that somebody goes through stays as it is
	}
	e.units[u.ID] = u
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
	id, received := a.Of(), e.received(a.ReceivedAt())
	if received.After(e.clock) {
		e.clock = received
	}
	if id.IsZero() {
		return nil
	}
	if e.isAside(id) {
		return nil
	}
	return e.guard(id, func() error {
		u := e.unit(id)
		if n := a.Number(); n > 0 && n <= u.Arrival {
			return nil
		}
		e.silence(e.clock)
		e.takeIn(u, a, received)
		return nil
	})
}

// takeIn hands one arrival to its unit.
func (e *Engine) takeIn(u *unit, a lab.Arrival, received time.Time) {
	u.Arrivals.tick(u, e.clock)
	u.giveUpRun(e.clock)
	if a.Entry != nil {
		u.enter(a.Entry)
		return
	}
	if a.Refused != nil {
		u.Arrivals.noteRefused(u, a.Refused, received)
		return
	}
	m := *a.Message
	m.Received = received
	if !m.Will && !m.Retained {
		e.heardAgain(u, received)
		if e.ofAnotherController(u, &m, received) {
			u.takeUnfolded(&m, received)
			return
		}
	}
	u.take(&m, received, e.since)
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
	for _, id := range e.byName {
		u := e.units[id]
		if u == nil {
			continue
		}
		_ = e.guard(id, func() error { // no error can come: the store is not asked
			u.Arrivals.tick(u, e.clock)
			if u.Order.waiting() {
				u.release(e.clock)
			}
			u.giveUpRun(e.clock)
			u.touched = u.outlookMoves(e.clock) || u.touched
			return nil
		})
	}
	return e.collect(ctx, h)
}

// collect folds again where late evidence came, and gives out what is new.
func (e *Engine) collect(ctx context.Context, h History) (Changes, error) {
	var ch Changes
	for _, id := range e.byName {
		u := e.units[id]
		if u == nil || u.lateAt == nil && !u.touched {
			continue
		}
		if err := e.guard(id, func() error { return e.collectUnit(ctx, u, h, &ch) }); err != nil {
			return ch, err
		}
	}
	ch.Aside, e.newAside = e.newAside, nil
	return ch, nil
}

func (e *Engine) collectUnit(ctx context.Context, u *unit, h History, ch *Changes) error {
	if u.lateAt != nil {
		if err := u.refold(ctx, h); err != nil {
			return err
		}
	}
	if !u.touched {
		return nil
	}
	u.countAhead()
	u.clearOffline()
	if u.Arrivals.inBacklog(u, e.clock) {
		// Findings wait until the backlog is whole, even where it is so long that
		// it is folded as it comes in: what had begun and ended meanwhile must
		// page nobody.
		ch.Touched = append(ch.Touched, u.ID)
		return nil
	}
	u.touched = false
	occ, runs := u.changes(e.clock)
	ch.Occurrences = append(ch.Occurrences, occ...)
	ch.Runs = append(ch.Runs, runs...)
	ch.Touched = append(ch.Touched, u.ID)
	return nil
}
