package postgres

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// Export calls each with every stored message of the filter as it was
// received, as of one moment: imported history by the time of its arrival,
// then what was heard live in arrival order. From is included, To is not;
// both are on the unit's time that counts. An error of each ends it.
//
// With f.Entries also what people entered, each at its place in that order:
// what is of the time or of a run begun in it, what set the figures that runs
// are judged by until To, and what takes such an entry back.
func (s *Store) Export(ctx context.Context, f lab.ExportFilter, each func(lab.Raw) error) (err error) {
	defer s.wrap(&err, s.web, "export telemetry")
	return pgx.BeginTxFunc(ctx, s.web, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		var entries []lab.Entry
		if f.Entries {
			if entries, err = exportedEntries(ctx, tx, f); err != nil {
				return err
			}
		}
		return exportTelemetry(ctx, tx, f, entries, each)
	})
}

func exportTelemetry(ctx context.Context, tx pgx.Tx, f lab.ExportFilter, entries []lab.Entry, each func(lab.Raw) error) error {
	rows, err := tx.Query(ctx, `
		SELECT unit, channel, received_at, retained, payload, imported, arrival
		FROM telemetry
		WHERE ($1 = '' OR unit = $1)
		  AND ($2::timestamptz IS NULL OR at >= $2)
		  AND ($3::timestamptz IS NULL OR at < $3)
		ORDER BY NOT imported, CASE WHEN imported THEN received_at END, arrival`, f.Unit, orNull(f.From), orNull(f.To))
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var unit, channel string
		var raw lab.Raw
		var imported bool
		var arrival int64
		if err := rows.Scan(&unit, &channel, &raw.Received, &raw.Retained, &raw.Payload, &imported, &arrival); err != nil {
			return err
		}
		raw.Topic = lab.TopicPrefix + unit + "/" + channel
		raw.Received = raw.Received.UTC()
		n := 0
		for n < len(entries) && goesFirst(entries[n], raw.Received, arrival, imported) {
			n++
		}
		if err := eachEntry(entries[:n], each); err != nil {
			return err
		}
		entries = entries[n:]
		if err := each(raw); err != nil {
			return err
		}
	}
	if err := rows.Err(); err != nil {
		return err
	}
	return eachEntry(entries, each)
}

// goesFirst tells whether an entry stands before a message in an export.
func goesFirst(e lab.Entry, received time.Time, arrival int64, imported bool) bool {
	switch {
	case e.Imported != imported:
		return e.Imported
	case imported:
		return e.Entered.Before(received)
	}
	return e.Arrival < arrival
}

func eachEntry(entries []lab.Entry, each func(lab.Raw) error) error {
	for _, e := range entries {
		raw, err := e.Raw()
		if err != nil {
			return lab.Errorf(lab.KindInternal, "entry %s: %w", e.ID, err)
		}
		if err := each(raw); err != nil {
			return err
		}
	}
	return nil
}

// exportedEntries gives the entries of an export in its order.
func exportedEntries(ctx context.Context, tx pgx.Tx, f lab.ExportFilter) ([]lab.Entry, error) {
	rows, err := tx.Query(ctx, `
		WITH chosen AS (
			SELECT id FROM entries
			WHERE ($1 = '' OR unit = $1) AND what <> 'takes-back'
			  AND ($2::timestamptz IS NULL OR at >= $2 OR what IN ('probe', 'house-aim', 'developer')
			       OR run IN (SELECT r.id FROM runs r WHERE r.started_at >= $2 AND r.unit = entries.unit))
			  AND ($3::timestamptz IS NULL OR at < $3
			       OR run IN (SELECT r.id FROM runs r WHERE r.started_at < $3 AND r.started_at >= coalesce($2, r.started_at) AND r.unit = entries.unit)))
		SELECT `+entryColumns+` FROM entries e
		WHERE id IN (SELECT id FROM chosen) OR what = 'takes-back' AND body ->> 'id' IN (SELECT id FROM chosen)
		ORDER BY NOT imported, CASE WHEN imported THEN entered END, arrival`, f.Unit, orNull(f.From), orNull(f.To))
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanEntry)
}

// orNull is null for the zero time.
func orNull(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	t = t.UTC()
	return &t
}
