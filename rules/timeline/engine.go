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
	UnitMessages(ctx context.Context, unit lab.UnitID, floor int64) ([]lab.Message, error)
}

// Engine follows any number of units: it gives their telemetry to the rules in
// order and keeps what is found. It reads no clock and does no input or output of
// its own. It belongs to one goroutine.
type Engine struct {
	cfg    rules.Config
	units  map[lab.UnitID]*unit
	order  []lab.UnitID // by name
	clock  time.Time    // the latest arrival time
	since  time.Time    // the monitor listens since then: silence counts from here
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
	w.Arrivals.tick(w, e.clock)
	w.giveUpRun(e.clock)
	if a.Entry != nil {
		w.enter(a.Entry)
		return
	}
	if a.Refused != nil {
		w.Arrivals.noteRefused(w, a.Refused, received)
		return
	}
	m := *a.Message
	m.Received = received
	if !m.Will && !m.Retained {
		e.heardAgain(w, received)
		if e.ofAnotherController(w, &m, received) {
			w.takeUnfolded(&m, received)
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
		_ = e.guard(u, func() error { // no error can come: the store is not asked
			w.Arrivals.tick(w, e.clock)
			if w.Order.waiting() {
				w.release(e.clock)
			}
			w.giveUpRun(e.clock)
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
	w.countAhead()
	w.clearOffline()
	if w.Arrivals.inBacklog(w, e.clock) {
		// Findings wait until the backlog is whole, even where it is so long that
		// it is folded as it comes in: what had begun and ended meanwhile must
		// page nobody.
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
