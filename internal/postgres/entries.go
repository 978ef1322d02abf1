package postgres

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// AppendEntry keeps what a person entered, numbers it and wakes the worker.
// It gives the entry as it is kept. Pressed twice it is kept once: the same
// entry by the same person within two seconds, or under the same ID, gives the
// first. An entry of a run wants that run; one that takes another back wants
// that other, and takes its unit and run over.
//
// What is entered of a run of imported history belongs to that history: the
// worker is not told. It needs no term: people may enter things through any
// wetside.
func (s *Store) AppendEntry(ctx context.Context, e lab.Entry) (_ lab.Entry, err error) {
	defer s.wrap(&err, s.web, "keep what was entered")
	e.Imported = false
	var kept lab.Entry
	err = pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		kept, err = s.enter(ctx, tx, e)
		return err
	})
	if err != nil {
		return lab.Entry{}, err
	}
	s.tail.other(kept.Arrival)
	s.appended()
	return kept, nil
}

func (s *Store) enter(ctx context.Context, tx pgx.Tx, e lab.Entry) (lab.Entry, error) {
	// The counter's row stays locked until the commit: numbers rise in the
	// order of commits, and nobody else can enter the same meanwhile.
	var last int64
	if err := tx.QueryRow(ctx, `SELECT last FROM arrival_counter FOR UPDATE`).Scan(&last); err != nil {
		return e, err
	}
	e.Arrival, e.Entered = last+1, s.clock.Now().UTC().Truncate(time.Millisecond)
	stated := !e.At.IsZero()
	if e.At = e.At.UTC().Truncate(time.Millisecond); !stated {
		e.At = e.Entered
	}
	if e.What == lab.EntryTakesBack {
		target, back, err := target(ctx, tx, e.Target())
		if err != nil || back != nil {
			return orZero(back), err
		}
		e.Unit, e.RunID, e.Imported = target.Unit, target.RunID, target.Imported
	}
	if err := e.Check(); err != nil {
		return e, err
	}
	if err := lockRun(ctx, tx, &e); err != nil {
		return e, err
	}
	if first, err := sameBefore(ctx, tx, e, stated); err != nil || first != nil {
		return orZero(first), err
	}
	if e.ID == "" {
		e.ID = strings.ToLower(rand.Text()[:16])
	}
	if _, err := tx.Exec(ctx, `UPDATE arrival_counter SET last = $1`, e.Arrival); err != nil {
		return e, err
	}
	if _, err := insertEntry(ctx, tx, e, ""); err != nil {
		return e, err
	}
	if !e.Imported {
		if err := s.learnRolls(ctx, tx, e); err != nil {
			return e, err
		}
	}
	return e, refreshRun(ctx, tx, e.RunID)
}

func orZero(e *lab.Entry) lab.Entry {
	if e == nil {
		return lab.Entry{}
	}
	return *e
}

// target finds the entry that is to be taken back, and what took it back
// before.
func target(ctx context.Context, tx pgx.Tx, id string) (of lab.Entry, back *lab.Entry, err error) {
	rows, err := tx.Query(ctx, `SELECT `+entryColumns+` FROM entries e
		WHERE id = $1 OR what = 'takes-back' AND body ->> 'id' = $1 ORDER BY arrival`, storable(id))
	if err != nil {
		return of, nil, err
	}
	found, err := pgx.CollectRows(rows, scanEntry)
	switch {
	case err != nil:
		return of, nil, err
	case len(found) == 0 || found[0].ID != id:
		return of, nil, lab.Errorf(lab.KindNotFound, "there is no entry %q to undo", id)
	case found[0].What == lab.EntryTakesBack:
		return of, nil, lab.Errorf(lab.KindConflict, "entry %q takes another back; enter that other again instead", id)
	case len(found) > 1:
		return found[0], &found[1], nil
	}
	return found[0], nil, nil
}

// sameBefore finds the entry that e only repeats.
func sameBefore(ctx context.Context, tx pgx.Tx, e lab.Entry, stated bool) (*lab.Entry, error) {
	var rows pgx.Rows
	var err error
	if e.ID != "" {
		rows, err = tx.Query(ctx, `SELECT `+entryColumns+` FROM entries e WHERE id = $1`, e.ID)
	} else {
		rows, err = tx.Query(ctx, `SELECT `+entryColumns+` FROM entries e
			WHERE unit = $1 AND run = $2 AND what = $3 AND by = $4 AND entered > $5
			  AND NOT EXISTS (SELECT FROM entries b WHERE b.what = 'takes-back' AND b.body ->> 'id' = e.id)
			ORDER BY arrival DESC`, e.Unit.String(), e.RunID, e.What, e.By, e.Entered.Add(-lab.PressedTwice))
	}
	if err != nil {
		return nil, err
	}
	found, err := pgx.CollectRows(rows, scanEntry)
	if err != nil {
		return nil, err
	}
	for _, f := range found {
		if e.Repeats(f, stated) {
			return &f, nil
		}
		if e.ID != "" {
			return nil, lab.Errorf(lab.KindConflict, "entry %q was made before with other content; use a new key for each request", e.ID)
		}
	}
	return nil, nil
}

// insertEntry writes one row; more is put behind the statement.
func insertEntry(ctx context.Context, tx pgx.Tx, e lab.Entry, more string) (fresh bool, err error) {
	tag, err := tx.Exec(ctx, `
		INSERT INTO entries (id, arrival, unit, run, what, at, entered, by, body, imported)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10) `+more,
		e.ID, e.Arrival, e.Unit.String(), e.RunID, e.What, e.At.UTC(), e.Entered.UTC(), e.By, jsonOrNull(e.Body), e.Imported)
	return tag.RowsAffected() == 1, err
}

func jsonOrNull(b json.RawMessage) *string {
	if len(b) == 0 {
		return nil
	}
	s := string(b)
	return &s
}

const entryColumns = `e.id, e.arrival, e.unit, e.run, e.what, e.at, e.entered, e.by, e.body, e.imported`

func scanEntry(row pgx.CollectableRow) (e lab.Entry, err error) {
	var unit string
	var body *string
	err = row.Scan(&e.ID, &e.Arrival, &unit, &e.RunID, &e.What, &e.At, &e.Entered, &e.By, &body, &e.Imported)
	if err != nil {
		return e, err
	}
	e.At, e.Entered = e.At.UTC(), e.Entered.UTC()
	if body != nil {
		e.Body = json.RawMessage(*body)
	}
	e.Unit, err = lab.ParseUnitID(unit)
	return e, err
}

// Entries gives what people entered, in the order of arrival; of more than
// f.Limit the newest. Without a limit it gives all.
func (s *Store) Entries(ctx context.Context, f lab.EntryFilter) (_ []lab.Entry, err error) {
	defer s.wrap(&err, s.web, "read what was entered")
	var limit *int
	if f.Limit > 0 {
		limit = &f.Limit
	}
	rows, err := s.web.Query(ctx, `
		SELECT * FROM (
			SELECT `+entryColumns+` FROM entries e
			WHERE ($1 = '' OR unit = $1)
			  AND ($2 = '' OR run = $2 AND run <> '')
			  AND ($3::text[] IS NULL OR what = ANY($3)
			       OR what = 'takes-back' AND EXISTS (SELECT FROM entries t WHERE t.id = e.body ->> 'id' AND t.what = ANY($3)))
			  AND ($4::timestamptz IS NULL OR entered >= $4)
			ORDER BY arrival DESC LIMIT $5) newest
		ORDER BY arrival`, f.Unit, f.RunID, f.What, orNull(f.Since), limit)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanEntry)
}

// Entry gives one entry.
func (s *Store) Entry(ctx context.Context, id string) (_ lab.Entry, err error) {
	defer s.wrap(&err, s.web, "entry "+id)
	rows, err := s.web.Query(ctx, `SELECT `+entryColumns+` FROM entries e WHERE id = $1`, storable(id))
	if err != nil {
		return lab.Entry{}, err
	}
	return pgx.CollectExactlyOneRow(rows, scanEntry)
}

// UnitEntries gives every entry of a unit from an arrival number on, in
// arrival order, as UnitMessages does with telemetry.
func (s *Store) UnitEntries(ctx context.Context, unit lab.UnitID, floor int64) (_ []lab.Entry, err error) {
	defer s.wrap(&err, s.control, "read what was entered of "+unit.String())
	rows, err := s.control.Query(ctx, `SELECT `+entryColumns+` FROM entries e
		WHERE unit = $1 AND arrival >= $2 AND NOT imported ORDER BY arrival`, unit.String(), floor)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanEntry)
}

// ImportEntries keeps entries of history that was read in from a capture:
// those not known yet, under new arrival numbers. The worker is not told.
func (s *Store) ImportEntries(ctx context.Context, entries []lab.Entry) (fresh int, err error) {
	if len(entries) == 0 {
		return 0, nil
	}
	defer s.wrap(&err, s.web, "import what was entered")
	err = pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		fresh = 0
		for i := range entries {
			e := &entries[i]
			if err := e.Check(); err != nil {
				return err
			}
			if e.ID == "" || e.Entered.IsZero() {
				return lab.Errorf(lab.KindInvalid, "an imported entry must have id and entered")
			}
			e.Imported = true
			err := tx.QueryRow(ctx, `UPDATE arrival_counter SET last = last + 1 RETURNING last`).Scan(&e.Arrival)
			if err != nil {
				return err
			}
			isNew, err := insertEntry(ctx, tx, *e, "ON CONFLICT DO NOTHING")
			if err != nil {
				return err
			}
			if !isNew {
				continue
			}
			fresh++
			if err := refreshRun(ctx, tx, e.RunID); err != nil {
				return err
			}
		}
		return nil
	})
	return fresh, err
}
