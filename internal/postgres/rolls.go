package postgres

import (
	"cmp"
	"context"
	"encoding/json"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// rollsLock is taken by whoever writes the register, until the commit.
const rollsLock = `SELECT pg_advisory_xact_lock(hashtext('wetside rolls'))`

const rollColumns = `twin_check, process, push, film, format, order_name, due_at, note, stop, entered_at, entered_by, changed_at, changed_by`

func scanKnownRoll(row pgx.CollectableRow) (k lab.KnownRoll, err error) {
	var due *time.Time
	err = row.Scan(&k.TwinCheck, &k.Process, &k.Push, &k.Film, &k.Format, &k.Order, &due, &k.Note, &k.Stop,
		&k.EnteredAt.Time, &k.EnteredBy, &k.ChangedAt.Time, &k.ChangedBy)
	if due != nil {
		k.DueAt = lab.AtPtr(*due)
	}
	k.EnteredAt, k.ChangedAt = lab.At(k.EnteredAt.Time), lab.At(k.ChangedAt.Time)
	return k, err
}

// PutRolls takes a list of rolls: what it says stands in the place of what was
// known. It gives what became of each; sent again it changes nothing.
func (s *Store) PutRolls(ctx context.Context, rolls []lab.KnownRoll, by string) (became []string, err error) {
	defer s.wrap(&err, s.web, "save rolls")
	for _, k := range rolls {
		if err := k.Check(); err != nil {
			return nil, lab.Errorf(lab.KindInvalid, "roll %s: %w", k.TwinCheck, err)
		}
	}
	err = pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		became, err = s.registerRolls(ctx, tx, rolls, by, lab.RollByList)
		return err
	})
	return became, err
}

// learnRolls saves what an entry says of rolls, as far as it was not known.
func (s *Store) learnRolls(ctx context.Context, tx pgx.Tx, e lab.Entry) error {
	how := lab.RollByLoad
	if e.What == lab.EntryRolls {
		how = lab.RollByRun
	}
	var list []lab.KnownRoll
	for _, r := range e.RollsNamed() {
		check, err := lab.TwinCheck(r.TwinCheck)
		if err != nil {
			return err
		}
		r.TwinCheck = check
		if k := lab.KnownOf(r); k.Check() == nil { // a load may say more than the register keeps
			list = append(list, k)
		}
	}
	if len(list) == 0 {
		return nil
	}
	_, err := s.registerRolls(ctx, tx, list, e.By, how)
	return err
}

// registerRolls writes what is new of rolls, and gives what became of each.
func (s *Store) registerRolls(ctx context.Context, tx pgx.Tx, rolls []lab.KnownRoll, by string, how lab.RollSource) ([]string, error) {
	if _, err := tx.Exec(ctx, rollsLock); err != nil {
		return nil, err
	}
	known, err := knownRolls(ctx, tx, checksOf(rolls))
	if err != nil {
		return nil, err
	}
	now := lab.At(s.clock.Now())
	became := make([]string, len(rolls))
	var trip pgx.Batch
	for i, said := range rolls {
		var old *lab.KnownRoll
		if k, there := known[said.TwinCheck]; there {
			old = &k
		}
		var row lab.KnownRoll
		if row, became[i] = said.Register(old, how, by, now); became[i] == lab.RollSame {
			continue
		}
		known[row.TwinCheck] = row
		if err := queueRoll(&trip, row, how); err != nil {
			return nil, err
		}
	}
	return became, tx.SendBatch(ctx, &trip).Close()
}

func checksOf(rolls []lab.KnownRoll) []string {
	checks := make([]string, len(rolls))
	for i, k := range rolls {
		checks[i] = k.TwinCheck
	}
	return checks
}

// queueRoll writes a roll's row, and that it was written.
func queueRoll(trip *pgx.Batch, k lab.KnownRoll, how lab.RollSource) error {
	trip.Queue(`
		INSERT INTO rolls (`+rollColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)
		ON CONFLICT (twin_check) DO UPDATE SET process = excluded.process, push = excluded.push, film = excluded.film,
			format = excluded.format, order_name = excluded.order_name, due_at = excluded.due_at, note = excluded.note,
			stop = excluded.stop, entered_at = excluded.entered_at, entered_by = excluded.entered_by,
			changed_at = excluded.changed_at, changed_by = excluded.changed_by`,
		k.TwinCheck, k.Process, k.Push, k.Film, k.Format, k.Order, timeOrNull(k.DueAt), k.Note, k.Stop,
		k.EnteredAt.UTC(), k.EnteredBy, k.ChangedAt.UTC(), k.ChangedBy)
	return logRoll(trip, k, how)
}

func logRoll(trip *pgx.Batch, k lab.KnownRoll, how lab.RollSource) error {
	body, err := json.Marshal(k)
	if err != nil {
		return lab.Errorf(lab.KindInternal, "roll %s: %w", k.TwinCheck, err)
	}
	trip.Queue(`INSERT INTO roll_changes (twin_check, at, by, how, body) VALUES ($1, $2, $3, $4, $5)`,
		k.TwinCheck, k.ChangedAt.UTC(), k.ChangedBy, how, body)
	return nil
}

func knownRolls(ctx context.Context, tx pgx.Tx, checks []string) (map[string]lab.KnownRoll, error) {
	rows, err := tx.Query(ctx, `SELECT `+rollColumns+` FROM rolls WHERE twin_check = ANY($1)`, checks)
	if err != nil {
		return nil, err
	}
	list, err := pgx.CollectRows(rows, scanKnownRoll)
	known := make(map[string]lab.KnownRoll, len(list))
	for _, k := range list {
		known[k.TwinCheck] = k
	}
	return known, err
}

// KnownRolls gives what is known of rolls by their twin checks; those of which
// nothing is known, or not lately, are left out.
func (s *Store) KnownRolls(ctx context.Context, checks []string) (_ []lab.KnownRoll, err error) {
	defer s.wrap(&err, s.web, "read rolls")
	rows, err := s.web.Query(ctx, `SELECT `+rollColumns+` FROM rolls WHERE twin_check = ANY($1) AND changed_at > $2 ORDER BY twin_check`,
		storableAll(checks), s.clock.Now().Add(-lab.RollMemory).UTC())
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanKnownRoll)
}

// WaitingRolls gives the rolls that wait to be processed: known, and in no run
// of the last 60 days, or to be processed again. Those promised first come
// first, then those known longest; what must not be run is among them and says
// so. Which of them are loaded the units know.
func (s *Store) WaitingRolls(ctx context.Context, limit int) (_ []lab.KnownRoll, err error) {
	defer s.wrap(&err, s.web, "read the rolls that wait")
	rows, err := s.web.Query(ctx, `SELECT `+rollColumns+` FROM rolls k
		WHERE changed_at > $1 AND NOT EXISTS (
			SELECT FROM runs r WHERE r.rolls @> ARRAY[k.twin_check] AND r.started_at > $1 AND NOT r.rolls_again @> ARRAY[k.twin_check])
		ORDER BY due_at NULLS LAST, entered_at, twin_check LIMIT $2`, s.clock.Now().Add(-lab.RollMemory).UTC(), capped(limit))
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanKnownRoll)
}

// StopRoll marks a roll as one that must not be run, for a reason; "" takes the
// mark off. A roll that nobody has told of is told of with it.
func (s *Store) StopRoll(ctx context.Context, check, why, by string) (k lab.KnownRoll, err error) {
	defer s.wrap(&err, s.web, "mark roll "+check)
	err = s.changeRoll(ctx, check, by, func(old *lab.KnownRoll, trip *pgx.Batch) error {
		if old.Stop == why {
			k = *old
			return nil
		}
		k = *old
		k.Stop = why
		if err := k.Check(); err != nil {
			return lab.Errorf(lab.KindInvalid, "roll %s: %w", check, err)
		}
		k.ChangedAt, k.ChangedBy = lab.At(s.clock.Now()), by
		return queueRoll(trip, k, lab.RollByStop)
	})
	return k, err
}

// RemoveRoll takes a roll off the list: it will not come. What was said of it
// stays in roll_changes.
func (s *Store) RemoveRoll(ctx context.Context, check, by string) (err error) {
	defer s.wrap(&err, s.web, "remove roll "+check)
	return s.changeRoll(ctx, check, by, func(old *lab.KnownRoll, trip *pgx.Batch) error {
		if old.ChangedBy == "" {
			return lab.Errorf(lab.KindNotFound, "roll %s is not on the list", check)
		}
		trip.Queue(`DELETE FROM rolls WHERE twin_check = $1`, check)
		old.ChangedAt, old.ChangedBy = lab.At(s.clock.Now()), by
		return logRoll(trip, *old, lab.RollRemoved)
	})
}

// changeRoll hands in a roll as it is known, with nobody's name where it is not.
func (s *Store) changeRoll(ctx context.Context, check, by string, change func(*lab.KnownRoll, *pgx.Batch) error) error {
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, rollsLock); err != nil {
			return err
		}
		known, err := knownRolls(ctx, tx, []string{check})
		if err != nil {
			return err
		}
		old, there := known[check]
		if now := s.clock.Now(); !there || old.Lapsed(now) {
			old = lab.KnownRoll{TwinCheck: check, EnteredAt: lab.At(now), EnteredBy: by}
		}
		var trip pgx.Batch
		if err := change(&old, &trip); err != nil {
			return err
		}
		return tx.SendBatch(ctx, &trip).Close()
	})
}

func storableAll(list []string) []string {
	out := make([]string, 0, len(list))
	for _, v := range list {
		out = append(out, storable(v))
	}
	slices.SortFunc(out, cmp.Compare[string])
	return out
}
