package postgres

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// Days around today that have partitions: yesterday for what is still under
// way, a week ahead so that a monitor cut off from its database owner has time.
const (
	partitionDaysBack  = 1
	partitionDaysAhead = 7
	partitionCheck     = time.Hour
	partitionWithin    = 10 * time.Minute // rows of the default partition may have to move
	maxPartitionDays   = 1000             // a lost clock in a capture must not make a table for each day since 1970
)

func (s *Store) partitionsAhead(ctx context.Context) error {
	now := s.clock.Now()
	return s.EnsurePartitions(ctx, now.AddDate(0, 0, -partitionDaysBack), now.AddDate(0, 0, partitionDaysAhead))
}

// partitionDaily looks every hour: a day's partition is there a week before
// it is needed, so a failure is only logged.
func (s *Store) partitionDaily() {
	tick := time.NewTicker(partitionCheck)
	defer tick.Stop()
	for {
		select {
		case <-s.life.Done():
			return
		case <-tick.C:
			ctx, cancel := context.WithTimeout(s.life, partitionWithin)
			err := s.partitionsAhead(ctx)
			cancel()
			if err != nil && s.life.Err() == nil {
				s.log.Error("telemetry partitions could not be made; the default partition takes what comes", "error", err)
			}
		}
	}
}

// EnsurePartitions makes a partition for each UTC day from the day of from to
// the day of to, both included, and moves what the default partition holds of
// them. Import calls it for the days of a capture before it writes; nothing
// else in the way of telemetry does.
func (s *Store) EnsurePartitions(ctx context.Context, from, to time.Time) (err error) {
	defer s.wrap(&err, s.control, "make telemetry partitions")
	if to.Sub(from) > maxPartitionDays*24*time.Hour {
		return lab.Errorf(lab.KindInvalid, "%s to %s is more than %d days of partitions at once; leave days without telemetry to the default partition",
			from.Format(time.DateOnly), to.Format(time.DateOnly), maxPartitionDays)
	}
	have, err := s.partitionNames(ctx)
	if err != nil {
		return err
	}
	from = from.UTC().Truncate(24 * time.Hour)
	for day := from; !day.After(to.UTC()); day = day.AddDate(0, 0, 1) {
		if have[partitionName(day)] {
			continue
		}
		if err := s.makePartition(ctx, day); err != nil {
			return fmt.Errorf("day %s: %w", day.Format(time.DateOnly), err)
		}
	}
	return nil
}

func partitionName(day time.Time) string { return day.UTC().Format("telemetry_2006_01_02") }

func (s *Store) partitionNames(ctx context.Context) (map[string]bool, error) {
	rows, err := s.control.Query(ctx, `
		SELECT c.relname FROM pg_inherits i JOIN pg_class c ON c.oid = i.inhrelid
		WHERE i.inhparent = 'telemetry'::regclass`)
	if err != nil {
		return nil, err
	}
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	have := map[string]bool{}
	for _, n := range names {
		have[n] = true
	}
	return have, err
}

// makePartition builds the day's table apart and attaches it: that takes no
// lock that would stop an insert into another day. Rows that the default
// partition already holds of that day move over; it is locked meanwhile.
func (s *Store) makePartition(ctx context.Context, day time.Time) error {
	name := pgx.Identifier{partitionName(day)}.Sanitize()
	lo, hi := day.Format(time.DateOnly)+" 00:00:00+00", day.AddDate(0, 0, 1).Format(time.DateOnly)+" 00:00:00+00"
	return pgx.BeginFunc(ctx, s.control, func(tx pgx.Tx) error {
		for _, sql := range []string{
			`SET LOCAL lock_timeout = '5s'`,
			// programs that start at once take turns
			`SELECT pg_advisory_xact_lock(` + fmt.Sprint(partitionLock) + `)`,
		} {
			if _, err := tx.Exec(ctx, sql); err != nil {
				return err
			}
		}
		var there bool
		if err := tx.QueryRow(ctx, `SELECT to_regclass($1) IS NOT NULL`, name).Scan(&there); err != nil || there {
			return err
		}
		for _, sql := range []string{
			`LOCK TABLE telemetry_default IN ACCESS EXCLUSIVE MODE`,
			`CREATE TABLE ` + name + ` (LIKE telemetry INCLUDING DEFAULTS INCLUDING CONSTRAINTS INCLUDING INDEXES)`,
			`WITH moved AS (DELETE FROM telemetry_default WHERE sent_at >= '` + lo + `' AND sent_at < '` + hi + `' RETURNING *)
			 INSERT INTO ` + name + ` SELECT * FROM moved`,
			`ALTER TABLE telemetry ATTACH PARTITION ` + name + ` FOR VALUES FROM ('` + lo + `') TO ('` + hi + `')`,
		} {
			if _, err := tx.Exec(ctx, sql); err != nil {
				return err
			}
		}
		return nil
	})
}
