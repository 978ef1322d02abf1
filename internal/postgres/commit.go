package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// Commit writes what a worker found, in one transaction: alerts as c.Apply
// makes them from how they stand, their history, pages, runs, and the state
// of the fold. After an error nothing is written and it may be called again;
// c.Apply is then called anew.
func (s *Store) Commit(ctx context.Context, term int64, c lab.Commit) (err error) {
	defer s.wrap(&err, s.control, "commit findings")
	return pgx.BeginFunc(ctx, s.control, func(tx pgx.Tx) error {
		if err := fence(ctx, tx, term); err != nil {
			return err
		}
		return s.commitFindings(ctx, tx, c, false)
	})
}

// CommitImported writes what an import found. It needs no term, and states
// are not part of it: they belong to the unit as it is watched live.
func (s *Store) CommitImported(ctx context.Context, c lab.Commit) (err error) {
	defer s.wrap(&err, s.control, "commit imported findings")
	if len(c.States) > 0 {
		return lab.Errorf(lab.KindInvalid, "an import writes no state of a unit")
	}
	return pgx.BeginFunc(ctx, s.control, func(tx pgx.Tx) error {
		return s.commitFindings(ctx, tx, c, true)
	})
}

func (s *Store) commitFindings(ctx context.Context, tx pgx.Tx, c lab.Commit, imported bool) error {
	if c.Apply != nil {
		if err := s.applyAlerts(ctx, tx, c); err != nil {
			return err
		}
	}
	if err := upsertRuns(ctx, tx, c.Runs, imported); err != nil {
		return err
	}
	if err := upsertStates(ctx, tx, c.States, s.clock.Now()); err != nil {
		return err
	}
	return setAside(ctx, tx, c.Aside, s.clock.Now())
}

func (s *Store) applyAlerts(ctx context.Context, tx pgx.Tx, c lab.Commit) error {
	current, err := lockAlerts(ctx, tx, c.AlertKeys, c.AlertIDs)
	if err != nil {
		return err
	}
	alerts, events, pages := c.Apply(current, s.clock.Now())
	if err := renameAlerts(ctx, tx, current, alerts); err != nil {
		return err
	}
	if err := writeAlerts(ctx, tx, alerts); err != nil {
		return err
	}
	if err := addAlertEvents(ctx, tx, events); err != nil {
		return err
	}
	return addPages(ctx, tx, pages)
}
