package watch

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"wetside/alerts"
	"wetside/internal/lab"
	"wetside/rules/timeline"
)

// write puts what was found, the transitions it makes and the states it
// rests on into the store, all or nothing, and then tells of it. ids are
// alerts to look at though nothing was found about them, due are units whose
// state is to be written though nothing was found of them.
func (f *folder) write(ctx context.Context, changes timeline.Changes, ids []string, due ...lab.UnitID) error {
	now := f.cfg.Clock.Now()
	f.noteAside()
	changes = f.without(changes)
	major := f.minor.sift(changes.Occurrences)
	changes.Occurrences = major
	save := f.toSave(changes, now, due)
	if len(major) == 0 && len(changes.Runs) == 0 && len(ids) == 0 && len(save) == 0 && len(f.asideDue) == 0 {
		f.broken = false
		f.show(now, changes.Touched)
		return nil
	}
	w := &write{now: now, ids: ids, states: f.states(save)}
	if len(f.noteAside()) > 0 { // a state that could not be written
		changes = f.without(changes)
		major = changes.Occurrences
	}
	w.aside = f.asideDue
	w.found, w.runs = f.grouped(f.release(f.minor.with(major))), changes.Runs
	f.result = nil
	err := f.commit(ctx, w.commit(f))
	if errors.Is(err, lab.ErrUnstorable) {
		f.result = nil
		err = f.commitApart(ctx, w, err)
	}
	if err != nil {
		f.broken = true
		return fmt.Errorf("write what was found: %w", err)
	}
	f.broken = false
	f.asideDue = nil
	f.minor.written(major)
	for _, s := range w.states {
		if p := f.units[s.Unit]; p.aside == nil {
			p.stored, p.dirty, p.savedAt = s.Arrival, false, now
		}
	}
	f.tell(now, changes.Touched, f.result)
	return nil
}

// release turns what the rules found into what the alerts take. What a unit
// that is folded again finds is held while it was found before.
func (f *folder) release(found []timeline.OccurrenceChange) []alerts.Change {
	var out []alerts.Change
	for _, o := range found {
		p := f.units[o.Unit]
		if p == nil || p.again == 0 {
			out = append(out, change(o))
			continue
		}
		if i := slices.IndexFunc(p.held, func(h timeline.OccurrenceChange) bool { return h.ID == o.ID || h.ID == o.Was }); i >= 0 {
			p.held = slices.Delete(p.held, i, i+1)
		}
		p.held = append(p.held, o)
	}
	return out
}

func change(o timeline.OccurrenceChange) alerts.Change {
	return alerts.Change{
		Occurrence: o.Occurrence, Noticed: o.Noticed, FoundAfterwards: o.FoundAfterwards,
		Was: o.Was, Withdrawn: o.Withdrawn,
	}
}

// toSave lists the units whose state goes into this write: those that
// findings rest on, those that have none stored, and those whose time has come
// among the touched; due are others whose time has.
func (f *folder) toSave(changes timeline.Changes, now time.Time, due []lab.UnitID) []lab.UnitID {
	found := map[lab.UnitID]bool{}
	if len(changes.Occurrences) > 0 {
		// One finding may rest on several units, as when the network is gone.
		for _, unit := range changes.Touched {
			found[unit] = true
		}
	}
	for _, r := range changes.Runs {
		if unit, err := lab.ParseUnitID(r.Unit); err == nil {
			found[unit] = true
		}
	}
	save := due
	for _, unit := range changes.Touched {
		p := f.placeOf(unit)
		// Half folded again: the stored state is of the whole.
		if p.again == 0 && p.aside == nil && (found[unit] || p.stored < 0 || f.timeToSave(unit, p, now)) && !slices.Contains(due, unit) {
			save = append(save, unit)
		}
	}
	return save
}

// due lists the units whose state is to be written though nothing is found of
// them, among them a few that were quiet for so long that a restart would read
// much for them. All units are looked at: with each tick, not with each batch.
func (f *folder) due(now time.Time) (save []lab.UnitID) {
	quiet := 0
	for _, unit := range f.engine.Units() {
		p := f.placeOf(unit)
		switch {
		case p.again > 0:
		case p.stored < 0, f.timeToSave(unit, p, now):
			save = append(save, unit)
		case f.cursor-p.stored > staleAfter && quiet < staleAtOnce:
			quiet++
			save = append(save, unit)
		}
	}
	return save
}

// timeToSave tells whether the state of a unit has changed and waited long
// enough. A state that is older costs a restart some reading and nothing else,
// so where nothing lasts whose figures are waiting for it, it may wait longer.
func (f *folder) timeToSave(unit lab.UnitID, p *place, now time.Time) bool {
	age := now.Sub(p.savedAt)
	if !p.dirty || age < f.cfg.SaveEvery {
		return false
	}
	return age >= uneventful*f.cfg.SaveEvery || f.cursor-p.stored > staleAfter/2 || f.minor.waits(unit)
}

func (f *folder) placeOf(unit lab.UnitID) *place {
	p := f.units[unit]
	if p == nil {
		p = &place{stored: -1}
		f.units[unit] = p
	}
	return p
}

// states takes the states of units out of the engine. All that arrived up to
// the cursor is in each, whoever it was from.
func (f *folder) states(units []lab.UnitID) []lab.UnitState {
	out := make([]lab.UnitState, 0, len(units))
	for _, unit := range units {
		version, blob, arrival := f.engine.Snapshot(unit)
		if blob == nil {
			continue // set aside by this very call
		}
		p := f.units[unit]
		p.has = max(p.has, arrival)
		out = append(out, lab.UnitState{Unit: unit, Arrival: max(f.cursor, p.has), Version: version, Blob: blob})
	}
	return out
}

// saveLast writes the states that are newer than the stored ones when the
// worker stops, so that the next start has less to read.
func (f *folder) saveLast() {
	if f.broken {
		return
	}
	var save []lab.UnitID
	for unit, p := range f.units {
		if p.dirty && p.again == 0 && !f.minor.waits(unit) {
			save = append(save, unit)
		}
	}
	if len(save) == 0 {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), stopWithin)
	defer cancel()
	c := lab.Commit{States: f.states(save), Apply: func([]lab.StoredAlert, time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
		return nil, nil, nil
	}}
	if err := f.cfg.Store.Commit(ctx, f.cfg.Term, c); err != nil {
		f.cfg.Log.Warn("the last states were not written; the next start folds a little more", "error", err)
	}
}

// policy is what holds pages back now.
func (f *folder) policy(now time.Time) alerts.Policy {
	p := alerts.Policy{OutOfService: map[string]bool{}, LabClosed: f.labSettings.ClosedAt(now), OnTrial: f.onTrial(now)}
	for unit, s := range f.settings {
		if outOfUse(s.Standing) {
			p.OutOfService[unit] = true
		}
	}
	return p
}

// toLookAt lists alerts of which the rules say nothing new but which time or
// people changed: their shelving is over, or what holds them back begins or
// ends.
func (f *folder) toLookAt(now time.Time) []string {
	var ids []string
	policy := f.policy(now)
	for id, a := range f.open {
		if a.ShelvedUntil != nil && !a.ShelvedUntil.After(now) || policy.Outdated(a, now) {
			ids = append(ids, id)
		}
	}
	return ids
}

// people reads again what a person changed, and lets the fold look at it: a
// page that shelving held back may be due.
func (f *folder) people(ctx context.Context) error {
	ids, reread := f.w.takeNudges()
	if reread {
		if err := f.read(ctx); err != nil {
			return err
		}
	}
	var changed []lab.StoredAlert
	var look []string
	for _, id := range ids {
		a, err := f.alert(ctx, id)
		if lab.KindOf(err) == lab.KindNotFound && err != nil {
			continue
		}
		if err != nil {
			return err
		}
		changed = append(changed, lab.StoredAlert{Alert: a})
		if a.State != lab.Closed && a.ShelvedUntil == nil {
			look = append(look, a.ID)
		}
	}
	now := f.cfg.Clock.Now()
	f.tell(now, nil, changed)
	if len(look) > 0 {
		return f.write(ctx, timeline.Changes{}, look)
	}
	if reread {
		f.show(now, nil)
	}
	return nil
}
