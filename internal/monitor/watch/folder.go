package watch

import (
	"context"
	"errors"
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/rules/timeline"
)

// folder is the worker's state: an engine and how far it has come. It is used
// by the worker's goroutine alone and thrown away when a write fails.
type folder struct {
	w      *Worker
	cfg    Config
	engine Engine

	cursor int64                 // every arrival up to here was fed
	units  map[lab.UnitID]*place // how far each unit's state is stored
	broken bool                  // a write failed: memory is ahead of the store
	judged bool                  // silence is being judged

	refold refold // how far it is with states of another version

	minor minor // what may wait for the next write

	asideDue []lab.SetAside    // set aside, not stored yet
	result   []lab.StoredAlert // what the alerts came to in the write at hand

	settings    map[string]lab.UnitSetting
	labSettings lab.LabSettings
	inUse       lab.RulesInUse
	open        map[string]lab.Alert // open alerts by id
	byUnit      map[string][]string  // ids of them by unit, the most pressing first; nil: to be made
	openMoved   bool                 // open was changed and is not shown yet
	views       map[lab.UnitID]shownUnit
	lastViews   time.Time
	lastRead    time.Time
	clockRead   reading // the clock, when it was last looked at
}

// place is how far the stored state of one unit has come.
type place struct {
	stored  int64     // the state of the unit up to here is in the store; -1: none is
	has     int64     // arrivals up to here are in the engine's state already
	dirty   bool      // fed since
	savedAt time.Time // when its state was last written
	// A state of another version is folded again from the beginning. What
	// that finds out up to the arrival again has been found before: it is
	// held and put to the alerts as it stands at the end.
	again int64
	held  []timeline.OccurrenceChange

	aside *lab.AsideMark // not judged
}

func (w *Worker) newFolder() *folder {
	return &folder{
		w: w, cfg: w.cfg, engine: w.cfg.NewEngine(), units: map[lab.UnitID]*place{},
		minor: minor{last: map[string]timeline.OccurrenceChange{}},
		open:  map[string]lab.Alert{}, views: map[lab.UnitID]shownUnit{},
	}
}

// rebuild takes up the stored states and folds what came after them.
func (f *folder) rebuild(ctx context.Context) (err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("rebuild: %w", err)
		}
	}()
	states, err := f.unitStates(ctx)
	if err != nil {
		return err
	}
	f.takeUp(states)
	f.engine.Paused(f.cfg.Clock.Now())
	if err := f.read(ctx); err != nil {
		return err
	}
	// Time passes once before it is shown: what waits behind a hole that was
	// given up long ago is part of what is known.
	if err := f.tick(ctx); err != nil {
		return err
	}
	if len(f.asideDue) > 0 {
		if err := f.write(ctx, timeline.Changes{}, nil); err != nil {
			return err
		}
	}
	f.show(f.cfg.Clock.Now(), nil)
	f.w.rebuilt.Store(true)
	return nil
}

// takeUp puts the stored states into the engine. The cursor begins where the
// first of them needs it; those that are set aside need nothing.
func (f *folder) takeUp(states []lab.UnitState) {
	first, last := int64(outOfReach), int64(0)
	for _, s := range states {
		p := f.restore(s)
		f.units[s.Unit] = p
		first, last = min(first, p.has), max(last, s.Arrival)
	}
	if f.cursor = first; first == outOfReach {
		f.cursor = last
	}
	f.refolds()
}

// restore puts one stored state into the engine. One that does not read sets
// its unit aside.
func (f *folder) restore(s lab.UnitState) *place {
	if p := f.restoreAside(s); p != nil {
		return p
	}
	if len(s.Blob) == 0 { // it was set aside before any state was good
		return &place{stored: -1, has: s.Arrival}
	}
	p := &place{stored: s.Arrival, has: s.Arrival, savedAt: f.cfg.Clock.Now()}
	err := f.engine.Restore(s.Unit, s.Version, s.Blob)
	if errors.Is(err, timeline.ErrVersion) {
		f.cfg.Log.Info("the stored state is of another version; folding the unit again from its telemetry", "unit", s.Unit, "version", s.Version)
		p.has, p.again = 0, s.Arrival
		return p
	}
	if err != nil {
		f.units[s.Unit] = p
		f.engine.PutAside(timeline.Aside{Unit: s.Unit, At: f.cfg.Clock.Now(), Why: err.Error()})
		f.noteAside()
	}
	return p
}

// drain feeds what has arrived: less than all where the store is quicker to
// give the first of it.
func (f *folder) drain(ctx context.Context) error { return f.drainTo(ctx, f.cfg.Chunk) }

// drainTo feeds what has arrived until the store gives less than few at once.
func (f *folder) drainTo(ctx context.Context, few int) error {
	for {
		arrivals, err := f.arrivals(ctx)
		if err != nil {
			return err
		}
		if len(arrivals) > 0 {
			if err := f.feed(ctx, arrivals); err != nil {
				return err
			}
			f.refolded(arrivals)
		}
		if len(arrivals) == 0 || len(arrivals) < few && !f.behind() {
			return f.caughtUp(ctx)
		}
	}
}

// feed gives one chunk of arrivals to the engine and writes what it found.
func (f *folder) feed(ctx context.Context, arrivals []lab.Arrival) error {
	f.hostClock()
	fresh := make([]lab.Arrival, 0, len(arrivals))
	for _, a := range arrivals {
		unit := a.Of()
		p := f.units[unit]
		if p == nil && !unit.IsZero() {
			p = &place{stored: -1}
			f.units[unit] = p
		}
		if p != nil && a.Number() <= p.has {
			continue // its stored state holds it
		}
		if p != nil {
			p.has, p.dirty = a.Number(), true
		}
		fresh = append(fresh, a)
	}
	last := arrivals[len(arrivals)-1].Number()
	if len(fresh) == 0 {
		f.cursor = last
		return nil
	}
	f.broken = true // until it is written
	changes, err := f.engine.Feed(ctx, fresh, f.cfg.Store)
	if err != nil {
		return fmt.Errorf("fold arrivals %d to %d: %w", arrivals[0].Number(), last, err)
	}
	f.cursor = last
	return f.write(ctx, changes, nil)
}

// behind tells whether a unit that is folded again has not come to where its
// stored state stood: the store may give less than a chunk though more is there.
func (f *folder) behind() bool {
	for _, p := range f.units {
		if p.has < p.again {
			return true
		}
	}
	return false
}

// caughtUp puts what was held back of units that were folded again to the
// alerts: they have come as far as there is telemetry.
func (f *folder) caughtUp(ctx context.Context) error {
	var late timeline.Changes
	for unit, p := range f.units {
		if p.again > 0 {
			p.again = 0
			late.Occurrences = append(late.Occurrences, p.held...)
			late.Touched = append(late.Touched, unit)
			p.held = nil
		}
	}
	if len(late.Touched) == 0 {
		return nil
	}
	clear(f.minor.last) // what was held is not written yet
	if err := f.write(ctx, late, nil); err != nil {
		return err
	}
	f.refoldEnds()
	return nil
}

// tick lets time pass: for the engine, for shelved alerts, for the views.
func (f *folder) tick(ctx context.Context) error {
	f.hostClock()
	now := f.cfg.Clock.Now()
	if err := f.drainTo(ctx, 1); err != nil { // everything: nobody is called silent who was heard
		return err
	}
	f.judge(now)
	f.broken = true
	changes, err := f.engine.Tick(ctx, now, f.cfg.Store)
	if err != nil {
		return fmt.Errorf("let time pass: %w", err)
	}
	for _, unit := range changes.Touched {
		if p := f.units[unit]; p != nil {
			p.dirty = true
		}
	}
	if err := f.write(ctx, changes, f.toLookAt(now), f.due(now)...); err != nil {
		return err
	}
	if now.Sub(f.lastRead) >= readEvery {
		if err := f.read(ctx); err != nil {
			return err
		}
		f.show(now, nil)
	}
	if now.Sub(f.lastViews) >= viewEvery {
		f.lastViews = now
		f.show(now, f.inTrouble())
	}
	return nil
}

// judge tells the engine when silence begins or ends to mean something.
func (f *folder) judge(now time.Time) {
	connected := f.cfg.Connected()
	switch {
	case connected && !f.judged:
		f.engine.Monitoring(now)
	case !connected && f.judged:
		f.engine.Paused(now)
	}
	f.judged = connected
}
