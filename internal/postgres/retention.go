package postgres

import (
	"context"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
)

// keepAgain is for how long it is kept that a refused message came again.
const keepAgain = 7 * 24 * time.Hour

// DropTelemetry drops the telemetry of days that ended before a moment, a
// partition at a time, as long as each run of that day, and of the days
// beside it, is sealed: what a run rests on is in its record. It never waits
// long for what is being written, and gives the days it dropped.
func (s *Store) DropTelemetry(ctx context.Context, term int64, before time.Time) (dropped []time.Time, err error) {
	defer s.wrap(&err, s.control, "drop old telemetry")
	if _, err := s.control.Exec(ctx, `DELETE FROM quarantine_again WHERE received_at < $1`, s.clock.Now().UTC().Add(-keepAgain)); err != nil {
		return nil, err
	}
	have, err := s.partitionNames(ctx)
	if err != nil {
		return nil, err
	}
	for name := range have {
		day, err := time.Parse("telemetry_2006_01_02", name)
		if err != nil || !day.AddDate(0, 0, 1).Before(before) {
			continue // the default partition, or too young
		}
		done, err := s.dropDay(ctx, term, day)
		if err != nil {
			return dropped, err
		}
		if done {
			dropped = append(dropped, day)
		}
	}
	return dropped, nil
}

// dropDay drops one day where nothing needs it any more.
func (s *Store) dropDay(ctx context.Context, term int64, day time.Time) (done bool, err error) {
	err = pgx.BeginFunc(ctx, s.control, func(tx pgx.Tx) error {
		if err := fence(ctx, tx, term); err != nil {
			return err
		}
		var needed bool
		err := tx.QueryRow(ctx, `
			SELECT EXISTS (
				SELECT FROM runs r
				WHERE started_at < $2 AND coalesce(ended_at, started_at + interval '2 days') >= $1
				  AND (outcome = 'running' OR EXISTS (SELECT FROM record_queue q WHERE q.run = r.id)
				       OR NOT EXISTS (SELECT FROM records c WHERE c.run = r.id)))`,
			day.Add(-runClockSlack), day.AddDate(0, 0, 1).Add(runClockSlack)).Scan(&needed)
		if err != nil || needed {
			return err
		}
		name := pgx.Identifier{partitionName(day)}.Sanitize()
		for _, sql := range []string{
			`SET LOCAL lock_timeout = '1s'`, // telemetry that comes in waits no longer
			`ALTER TABLE telemetry DETACH PARTITION ` + name,
			`DROP TABLE ` + name,
		} {
			if _, err := tx.Exec(ctx, sql); err != nil {
				return err
			}
		}
		done = true
		return nil
	})
	if sqlState(err) == "55P03" || err != nil && strings.Contains(err.Error(), "lock timeout") {
		return false, nil // something reads or writes there: the next time
	}
	return done, err
}
