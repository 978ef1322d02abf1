package postgres

import (
	"context"
	"encoding/json"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// DutyState gives everything that decides who is called, as it stands.
func (s *Store) DutyState(ctx context.Context) (st lab.DutyState, err error) {
	defer s.wrap(&err, s.paging, "read who is on call")
	now := s.clock.Now().UTC()
	err = pgx.BeginTxFunc(ctx, s.paging, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		if err := readPlan(ctx, tx, &st); err != nil {
			return err
		}
		if st.Swaps, err = readSwaps(ctx, tx, now.Add(-48*time.Hour)); err != nil {
			return err
		}
		rows, err := tx.Query(ctx, `SELECT person, until FROM duty_dark WHERE until > $1 ORDER BY person`, now)
		if err != nil {
			return err
		}
		if st.Dark, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (d lab.DutyDark, err error) {
			err = row.Scan(&d.Person, &d.Until.Time)
			d.Until = lab.At(d.Until.Time)
			return d, err
		}); err != nil {
			return err
		}
		if st.Contacts, err = readContacts(ctx, tx, ""); err != nil {
			return err
		}
		var last *time.Time
		err = tx.QueryRow(ctx, `SELECT max(at) FROM duty_log WHERE what = 'weekly-test'`).Scan(&last)
		if last != nil {
			st.LastWeekly = last.UTC()
		}
		return err
	})
	return st, err
}

func readPlan(ctx context.Context, tx pgx.Tx, st *lab.DutyState) error {
	var body []byte
	err := tx.QueryRow(ctx, `SELECT version, body, changed_by, changed_at FROM duty_plans ORDER BY version DESC LIMIT 1`).
		Scan(&st.Version, &body, &st.ChangedBy, &st.ChangedAt)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil
	}
	if err != nil {
		return err
	}
	st.ChangedAt = st.ChangedAt.UTC()
	st.Plan = &lab.DutyPlan{}
	return json.Unmarshal(body, st.Plan)
}

const swapColumns = `id, to_char(day, 'YYYY-MM-DD'), off, on_duty, note, by, at`

func scanSwap(row pgx.CollectableRow) (w lab.DutySwap, err error) {
	err = row.Scan(&w.ID, &w.Day, &w.Off, &w.On, &w.Note, &w.By, &w.At.Time)
	w.At = lab.At(w.At.Time)
	return w, err
}

func readSwaps(ctx context.Context, tx pgx.Tx, since time.Time) ([]lab.DutySwap, error) {
	rows, err := tx.Query(ctx, `SELECT `+swapColumns+` FROM duty_swaps WHERE ended_at IS NULL AND day >= $1::date ORDER BY day, id`, since)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanSwap)
}

// SetDutyPlan stores a new version of the plan. version is the one it was
// made from; another one in force meanwhile is a KindConflict.
func (s *Store) SetDutyPlan(ctx context.Context, p lab.DutyPlan, version int, by string) (err error) {
	defer s.wrap(&err, s.web, "set the on-call plan")
	body, err := json.Marshal(p)
	if err != nil {
		return err
	}
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		var now int
		if err := tx.QueryRow(ctx, `SELECT coalesce(max(version), 0) FROM duty_plans`).Scan(&now); err != nil {
			return err
		}
		if now != version {
			return planConflict(now, version)
		}
		_, err := tx.Exec(ctx, `INSERT INTO duty_plans (version, body, changed_by, changed_at) VALUES ($1, $2, $3, $4)`,
			version+1, body, by, s.clock.Now().UTC())
		if violatesUnique(err) {
			return planConflict(version+1, version)
		}
		if err != nil {
			return err
		}
		return s.logDuty(ctx, tx, by, "plan", "", map[string]any{"version": version + 1, "plan": p})
	})
}

func planConflict(now, was int) error {
	return lab.Errorf(lab.KindConflict, "the on-call plan was changed meanwhile: version %d is in force, this one was made from %d; read it again", now, was)
}

// AddDutySwap puts one person in place of another for a day.
func (s *Store) AddDutySwap(ctx context.Context, w lab.DutySwap, by string) (_ lab.DutySwap, err error) {
	defer s.wrap(&err, s.web, "swap duty")
	err = pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, `
			INSERT INTO duty_swaps (day, off, on_duty, note, by, at) VALUES ($1::text::date, $2, $3, $4, $5, $6)
			RETURNING `+swapColumns, w.Day, w.Off, w.On, storable(w.Note), by, s.clock.Now().UTC())
		if err != nil {
			return err
		}
		if w, err = pgx.CollectExactlyOneRow(rows, scanSwap); err != nil {
			return err
		}
		return s.logDuty(ctx, tx, by, "swap", w.Off, map[string]any{"id": w.ID, "day": w.Day, "off": w.Off, "on": w.On, "note": w.Note})
	})
	return w, err
}

// EndDutySwap takes a swap back.
func (s *Store) EndDutySwap(ctx context.Context, id int64, by string) (err error) {
	defer s.wrap(&err, s.web, "undo a swap")
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		var off string
		err := tx.QueryRow(ctx, `UPDATE duty_swaps SET ended_by = $2, ended_at = $3 WHERE id = $1 AND ended_at IS NULL RETURNING off`,
			id, by, s.clock.Now().UTC()).Scan(&off)
		if errors.Is(err, pgx.ErrNoRows) {
			return lab.Errorf(lab.KindNotFound, "there is no swap %d, or it was undone", id)
		}
		if err != nil {
			return err
		}
		return s.logDuty(ctx, tx, by, "swap-ended", off, map[string]any{"id": id})
	})
}

// SetDutyDark says until when a person's phone must stay dark; a zero until
// ends that.
func (s *Store) SetDutyDark(ctx context.Context, person string, until time.Time, by string) (err error) {
	defer s.wrap(&err, s.web, "keep a phone dark")
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		detail := map[string]any{}
		if until.IsZero() {
			detail["ended"] = true
			_, err = tx.Exec(ctx, `DELETE FROM duty_dark WHERE person = $1`, person)
		} else {
			detail["until"] = lab.At(until)
			_, err = tx.Exec(ctx, `INSERT INTO duty_dark (person, until) VALUES ($1, $2)
				ON CONFLICT (person) DO UPDATE SET until = excluded.until`, person, until.UTC())
		}
		if err != nil {
			return err
		}
		return s.logDuty(ctx, tx, by, "dark", person, detail)
	})
}

func (s *Store) logDuty(ctx context.Context, tx pgx.Tx, by, what, person string, detail map[string]any) error {
	if detail == nil {
		detail = map[string]any{}
	}
	b, err := json.Marshal(detail)
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `INSERT INTO duty_log (at, by, what, person, detail) VALUES ($1, $2, $3, $4, $5)`,
		s.clock.Now().UTC(), by, what, person, b)
	return err
}

// LogDuty adds a line to the record of duty.
func (s *Store) LogDuty(ctx context.Context, by, what, person string, detail map[string]any) (err error) {
	defer s.wrap(&err, s.paging, "write the on-call record")
	return pgx.BeginFunc(ctx, s.paging, func(tx pgx.Tx) error { return s.logDuty(ctx, tx, by, what, person, detail) })
}

// DutyLog gives the record of who changed what, newest first.
func (s *Store) DutyLog(ctx context.Context, limit int) (_ []lab.DutyEntry, err error) {
	defer s.wrap(&err, s.web, "read the on-call record")
	rows, err := s.web.Query(ctx, `SELECT id, at, by, what, person, detail FROM duty_log ORDER BY id DESC LIMIT $1`, capped(limit))
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (e lab.DutyEntry, err error) {
		var detail []byte
		if err = row.Scan(&e.ID, &e.At.Time, &e.By, &e.What, &e.Person, &detail); err != nil {
			return e, err
		}
		e.At = lab.At(e.At.Time)
		return e, json.Unmarshal(detail, &e.Detail)
	})
}
