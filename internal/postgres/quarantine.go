package postgres

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// insertQuarantine keeps refused messages. Texts are made storable first, so
// that quarantine itself refuses nothing.
func insertQuarantine(ctx context.Context, tx pgx.Tx, lists ...[]lab.Quarantined) error {
	var (
		arrivals       []int64
		received       []time.Time
		topics, reason []string
		units          []*string
		payloads       [][]byte
		imported       []bool
	)
	for _, list := range lists {
		for _, q := range list {
			arrivals = append(arrivals, q.Arrival)
			received = append(received, q.Received.UTC().Truncate(tick))
			topics = append(topics, storable(q.Topic))
			reason = append(reason, reasonOf(q))
			units = append(units, unitOrNull(q.Unit))
			payloads = append(payloads, notNil(q.Payload))
			imported = append(imported, q.Imported)
		}
	}
	if len(arrivals) == 0 {
		return nil
	}
	_, err := tx.Exec(ctx, `
		INSERT INTO quarantine (arrival, received_at, topic, unit, reason, payload, imported)
		SELECT * FROM unnest($1::bigint[], $2::timestamptz[], $3::text[], $4::text[], $5::text[], $6::bytea[], $7::boolean[])
		ON CONFLICT DO NOTHING`, arrivals, received, topics, units, reason, payloads, imported)
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
