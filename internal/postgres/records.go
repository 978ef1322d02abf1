package postgres

import (
	"context"
	"encoding/json"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// RecordsDue gives runs whose record is to be made now, those that ended
// first before the others.
func (s *Store) RecordsDue(ctx context.Context, now time.Time, w lab.RecordWaits, limit int) (_ []lab.RecordDue, err error) {
	defer s.wrap(&err, s.web, "read what is to be sealed")
	rows, err := s.web.Query(ctx, `
		SELECT run, changes, coalesce(before_version, 0), before_state, failures FROM record_queue
		WHERE changed_at <= $1 AND ended_at <= CASE WHEN open_gap THEN $2::timestamptz ELSE $3 END
		  AND (put_off IS NULL OR put_off <= $4)
		ORDER BY ended_at, run LIMIT $5`,
		now.Add(-w.Settled), now.Add(-w.Gap), now.Add(-w.Whole), now, limit)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanDue)
}

// RecordsWithoutBefore gives runs of which nobody has looked yet for the
// state of the fold before them.
func (s *Store) RecordsWithoutBefore(ctx context.Context, limit int) (_ []lab.RecordDue, err error) {
	defer s.wrap(&err, s.web, "read what is to be sealed")
	rows, err := s.web.Query(ctx, `
		SELECT run, changes, 0, NULL::bytea, failures FROM record_queue WHERE NOT before_tried ORDER BY changed_at, run LIMIT $1`, limit)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanDue)
}

func scanDue(row pgx.CollectableRow) (d lab.RecordDue, err error) {
	err = row.Scan(&d.RunID, &d.Changes, &d.BeforeVersion, &d.BeforeState, &d.Failures)
	return d, err
}

// KeepBefore keeps the state of the fold before a run that waits for its
// record; a nil state says that the fold has none.
func (s *Store) KeepBefore(ctx context.Context, d lab.RecordDue) (err error) {
	defer s.wrap(&err, s.web, "keep the state before run "+d.RunID)
	_, err = s.web.Exec(ctx, `
		UPDATE record_queue SET before_tried = true,
			before_version = CASE WHEN $4::bytea IS NULL THEN before_version ELSE $3 END, before_state = coalesce($4, before_state)
		WHERE run = $1 AND changes = $2`, d.RunID, d.Changes, d.BeforeVersion, d.BeforeState)
	return err
}

// PutOffRecord lets a run whose record cannot be made wait; why, where it is
// not "", counts as a failure.
func (s *Store) PutOffRecord(ctx context.Context, d lab.RecordDue, until time.Time, why string) (err error) {
	defer s.wrap(&err, s.web, "put off the record of run "+d.RunID)
	_, err = s.web.Exec(ctx, `
		UPDATE record_queue SET put_off = $3, failed_why = $4,
			failures = CASE WHEN $4 = '' THEN failures ELSE failures + 1 END,
			failed_at = CASE WHEN $4 = '' THEN failed_at ELSE coalesce(failed_at, $5) END
		WHERE run = $1 AND changes = $2`, d.RunID, d.Changes, until.UTC(), storable(why), s.clock.Now().UTC())
	return err
}

// RecordsFailing gives the runs whose record could not be made, those that
// fail longest before the others.
func (s *Store) RecordsFailing(ctx context.Context, limit int) (_ []lab.RecordFailing, err error) {
	defer s.wrap(&err, s.web, "read which records cannot be made")
	rows, err := s.web.Query(ctx, `
		SELECT q.run, coalesce(r.unit, ''), coalesce(r.run, ''), failures, failed_at, coalesce(put_off, failed_at), failed_why
		FROM record_queue q LEFT JOIN runs r ON r.id = q.run
		WHERE failures > 0 AND failed_at IS NOT NULL ORDER BY failed_at, q.run LIMIT $1`, limit)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (f lab.RecordFailing, err error) {
		err = row.Scan(&f.RunID, &f.Unit, &f.Run, &f.Failures, &f.Since, &f.Next, &f.Why)
		f.Since, f.Next = f.Since.UTC(), f.Next.UTC()
		return f, err
	})
}

// RecordNotNeeded ends the wait of a run that needs no new record.
func (s *Store) RecordNotNeeded(ctx context.Context, d lab.RecordDue) (err error) {
	defer s.wrap(&err, s.web, "end the wait of run "+d.RunID)
	_, err = s.web.Exec(ctx, `DELETE FROM record_queue WHERE run = $1 AND changes = $2`, d.RunID, d.Changes)
	return err
}

// RunRow gives a run with what the fold says of it.
func (s *Store) RunRow(ctx context.Context, id string) (_ lab.RunRow, err error) {
	defer s.wrap(&err, s.web, "run "+id)
	rows, err := s.web.Query(ctx, `SELECT `+runColumns+`, loaded, folded_kind, imported FROM runs WHERE id = $1`, storable(id))
	if err != nil {
		return lab.RunRow{}, err
	}
	return pgx.CollectExactlyOneRow(rows, func(row pgx.CollectableRow) (r lab.RunRow, err error) {
		var body, loaded []byte
		var alerts []string
		if err = row.Scan(&body, &alerts, &loaded, &r.FoldedKind, &r.Imported); err != nil {
			return r, err
		}
		if err = json.Unmarshal(body, &r.Run); err != nil {
			return r, err
		}
		r.Alerts = alerts
		return r, json.Unmarshal(loaded, &r.Loaded)
	})
}

// UnitState gives the stored state of one unit, KindNotFound where there is none.
func (s *Store) UnitState(ctx context.Context, unit lab.UnitID) (st lab.UnitState, err error) {
	defer s.wrap(&err, s.web, "state of "+unit.String())
	st.Unit = unit
	err = s.web.QueryRow(ctx, `SELECT arrival, version, blob FROM unit_states WHERE unit = $1`, unit.String()).
		Scan(&st.Arrival, &st.Version, &st.Blob)
	return st, err
}

// RunAlerts gives the alerts of a run as they stand, oldest first.
func (s *Store) RunAlerts(ctx context.Context, run string) (_ []lab.Alert, err error) {
	defer s.wrap(&err, s.web, "alerts of run "+run)
	rows, err := s.web.Query(ctx, `SELECT `+alertColumns+` FROM alerts WHERE run = $1 AND run <> '' ORDER BY raised_at, id`, storable(run))
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (lab.Alert, error) {
		a, err := scanAlert(row)
		return a.Alert, err
	})
}

// RecordEntries gives what was entered that may concern a run, in arrival
// order: all of the run; of its unit the probe, the house aims and the
// developer, and what was loaded and done since a moment. None of the unit's
// has a number above to.
func (s *Store) RecordEntries(ctx context.Context, r lab.RunRow, since time.Time, to int64) (_ []lab.Entry, err error) {
	defer s.wrap(&err, s.web, "read what was entered of run "+r.ID)
	rows, err := s.web.Query(ctx, `
		WITH meant AS (
			SELECT id FROM entries WHERE run = ANY($1) AND run <> ''
			UNION
			SELECT id FROM entries
			WHERE unit = $2 AND imported = $3 AND arrival <= $5
			  AND (what = ANY($6) OR run = '' AND what = ANY($7) AND entered >= $4)
		), taken AS (
			SELECT id FROM entries
			WHERE what = 'takes-back' AND body ->> 'id' IN (SELECT id FROM meant) AND (run <> '' OR arrival <= $5)
		)
		SELECT `+entryColumns+` FROM entries e WHERE id IN (SELECT id FROM meant UNION SELECT id FROM taken)
		ORDER BY arrival`,
		filmRunIDs(r.Run), r.Unit, r.Imported, since.UTC(), to,
		lab.FigureEntries, lab.UnitEntries)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanEntry)
}

// filmRunIDs are the run and those that went on with its film.
func filmRunIDs(r lab.Run) []string {
	ids := []string{storable(r.ID)}
	for _, x := range r.FilmAfter() {
		ids = append(ids, storable(x.ID))
	}
	return ids
}
