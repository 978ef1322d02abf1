package postgres

import (
	"context"
	"crypto/sha256"
	"errors"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// insertQuarantine keeps refused messages. Texts are made storable first, so
// that quarantine itself refuses nothing. What is there already is counted,
// not kept again: a broker sends what it got no acknowledgement for once more.
func insertQuarantine(ctx context.Context, tx pgx.Tx, lists ...[]lab.Quarantined) error {
	for _, list := range lists {
		for i := range list {
			if err := insertRefused(ctx, tx, &list[i]); err != nil {
				return err
			}
		}
	}
	return nil
}

func insertRefused(ctx context.Context, tx pgx.Tx, q *lab.Quarantined) error {
	topic, payload, received := storable(q.Topic), notNil(q.Payload), q.Received.UTC().Truncate(tick)
	sum := sha256.Sum256(slices.Concat([]byte(topic), []byte{0}, payload))
	keyed := q.Keyed()
	var first int64
	var last time.Time
	err := tx.QueryRow(ctx, `
		SELECT arrival, last_at FROM quarantine
		WHERE content = $1 AND imported = $2 AND (keyed AND $3 OR last_at > $4 AND split_part(reason, ':', 1) = split_part($5, ':', 1))
		ORDER BY arrival LIMIT 1`,
		sum[:], q.Imported, keyed, received.Add(-lab.SameRefusalWithin), reasonOf(*q)).Scan(&first, &last)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		_, err = tx.Exec(ctx, `
			INSERT INTO quarantine (arrival, received_at, topic, unit, reason, payload, imported, content, keyed, last_at)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $2) ON CONFLICT DO NOTHING`,
			q.Arrival, received, topic, unitOrNull(q.Unit), reasonOf(*q), payload, q.Imported, sum[:], keyed)
		return err
	case err != nil:
		return err
	case !received.After(last):
		return nil // a batch that is written again: the reply to COMMIT was lost
	}
	if _, err := tx.Exec(ctx, `UPDATE quarantine SET times = times + 1, last_at = $2 WHERE arrival = $1`, first, received); err != nil || keyed {
		return err
	}
	_, err = tx.Exec(ctx, `INSERT INTO quarantine_again (arrival, first, received_at) VALUES ($1, $2, $3)`, q.Arrival, first, received)
	return err
}

func reasonOf(q lab.Quarantined) string {
	if r := storable(q.Reason); r != "" {
		return r
	}
	return lab.RefusedField + ": no reason was given"
}

func unitOrNull(u lab.UnitID) *string {
	if !u.Valid() {
		return nil
	}
	s := u.String()
	return &s
}

// Quarantine gives the refused messages, newest first.
func (s *Store) Quarantine(ctx context.Context, limit int) (_ []lab.Quarantined, err error) {
	defer s.wrap(&err, s.web, "read quarantine")
	rows, err := s.web.Query(ctx, `
		SELECT arrival, received_at, topic, unit, reason, payload
		FROM quarantine ORDER BY arrival DESC LIMIT $1`, capped(limit))
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanQuarantined)
}

func scanQuarantined(row pgx.CollectableRow) (q lab.Quarantined, err error) {
	var unit *string
	if err = row.Scan(&q.Arrival, &q.Received, &q.Topic, &unit, &q.Reason, &q.Payload); err != nil {
		return q, err
	}
	q.Received = q.Received.UTC()
	if unit != nil {
		q.Unit, err = lab.ParseUnitID(*unit)
	}
	return q, err
}

// Limits of the lists that the API gives.
const (
	defaultLimit = 100
	maxLimit     = 10_000
)

func capped(limit int) int {
	if limit <= 0 {
		return defaultLimit
	}
	return min(limit, maxLimit)
}

// TrimQuarantine drops the oldest refused messages beyond what is kept, and
// gives how many. A unit that has many does not push out another one's few
// before all of them together are too many.
func (s *Store) TrimQuarantine(ctx context.Context, ofUnit, ofAll int) (dropped int64, err error) {
	defer s.wrap(&err, s.control, "trim quarantine")
	tag, err := s.control.Exec(ctx, `
		DELETE FROM quarantine WHERE arrival IN (
			SELECT arrival FROM (
				SELECT arrival, row_number() OVER (PARTITION BY unit ORDER BY arrival DESC) AS of_unit,
				       row_number() OVER (ORDER BY arrival DESC) AS of_all
				FROM quarantine) AS q
			WHERE of_unit > $1 OR of_all > $2)`, ofUnit, ofAll)
	if err != nil {
		return 0, err
	}
	_, err = s.control.Exec(ctx, `DELETE FROM quarantine_again a WHERE NOT EXISTS (SELECT FROM quarantine q WHERE q.arrival = a.first)`)
	return tag.RowsAffected(), err
}

const (
	// mostRefusals of a unit are kept, the newest.
	mostRefusals = 20
	// refusedShown is how many refused messages a unit's page shows.
	refusedShown = 20
	maxReason    = 500
)

// AddRefusals keeps what the broker did not let in. Alike ones are counted in
// one row.
func (s *Store) AddRefusals(ctx context.Context, list []lab.Refusal) (err error) {
	defer s.wrap(&err, s.web, "keep refusals")
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		for _, r := range list {
			reason := storable(r.Reason)
			if len(reason) > maxReason {
				reason = storable(reason[:maxReason])
			}
			if _, err := tx.Exec(ctx, `
				INSERT INTO unit_refusals (unit, what, reason, source, first_at, last_at, count) VALUES ($1, $2, $3, $4, $5, $6, $7)
				ON CONFLICT (unit, what, reason, source) DO UPDATE
				SET last_at = greatest(unit_refusals.last_at, excluded.last_at), count = unit_refusals.count + excluded.count`,
				r.Unit.String(), r.What, reason, storable(r.From), r.FirstAt.Time, r.LastAt.Time, r.Count); err != nil {
				return err
			}
			if _, err := tx.Exec(ctx, `
				DELETE FROM unit_refusals WHERE unit = $1 AND (what, reason, source) NOT IN (
					SELECT what, reason, source FROM unit_refusals WHERE unit = $1 ORDER BY last_at DESC, reason LIMIT $2)`,
				r.Unit.String(), mostRefusals); err != nil {
				return err
			}
		}
		return nil
	})
}

// Refusals gives what was not let in from a unit, the newest first, and its
// newest messages in quarantine.
func (s *Store) Refusals(ctx context.Context, unit lab.UnitID) (_ []lab.Refusal, _ []lab.Quarantined, err error) {
	defer s.wrap(&err, s.web, "read refusals of "+unit.String())
	rows, err := s.web.Query(ctx, `
		SELECT what, reason, source, first_at, last_at, count FROM unit_refusals
		WHERE unit = $1 ORDER BY last_at DESC, reason LIMIT $2`, unit.String(), mostRefusals)
	if err != nil {
		return nil, nil, err
	}
	refusals, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (lab.Refusal, error) {
		r := lab.Refusal{Unit: unit}
		err := row.Scan(&r.What, &r.Reason, &r.From, &r.FirstAt.Time, &r.LastAt.Time, &r.Count)
		return r, err
	})
	if err != nil {
		return nil, nil, err
	}
	if rows, err = s.web.Query(ctx, `
		SELECT arrival, received_at, topic, unit, reason, payload FROM quarantine
		WHERE unit = $1 AND NOT imported ORDER BY arrival DESC LIMIT $2`, unit.String(), refusedShown); err != nil {
		return nil, nil, err
	}
	refused, err := pgx.CollectRows(rows, scanQuarantined)
	return refusals, refused, err
}
