package watch

import (
	"context"

	"wetside/internal/lab"
)

// Calls of the store, each with its own deadline: a database that has gone
// silent must not hold the worker for ever.

func (f *folder) arrivals(ctx context.Context) ([]lab.Arrival, error) {
	ctx, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	return f.cfg.Store.ArrivalsAfter(ctx, f.cursor, f.cfg.Chunk)
}

func (f *folder) unitStates(ctx context.Context) ([]lab.UnitState, error) {
	ctx, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	return f.cfg.Store.UnitStates(ctx)
}

// commit is not broken off by a stop: it has its own deadline, and its answer
// says whether memory and store agree.
func (f *folder) commit(ctx context.Context, c lab.Commit) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), storeWithin)
	defer cancel()
	return f.cfg.Store.Commit(ctx, f.cfg.Term, c)
}

func (f *folder) alert(ctx context.Context, id string) (lab.Alert, error) {
	ctx, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	return f.cfg.Store.Alert(ctx, id)
}

// read reads the units' settings and the open alerts anew.
func (f *folder) read(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	settings, err := f.cfg.Store.UnitSettings(ctx)
	if err != nil {
		return err
	}
	yes := true
	open, err := f.cfg.Store.Alerts(ctx, lab.AlertFilter{Open: &yes, Limit: allAlerts})
	if err != nil {
		return err
	}
	labSettings, err := f.cfg.Store.LabSettings(ctx)
	if err != nil {
		return err
	}
	if err := f.readTrials(ctx); err != nil {
		return err
	}
	f.settings, f.labSettings = settings, labSettings
	clear(f.open)
	for _, a := range open {
		f.open[a.ID] = a
	}
	f.openChanged()
	f.lastRead = f.cfg.Clock.Now()
	return nil
}
