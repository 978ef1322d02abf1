package postgres

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// sameWithin is for how long the same content without boot and seq counts as
// the same message: it may be a copy, or a unit that says it again and again.
const sameWithin = 10 * time.Minute

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
	keyed := hasKey(payload)
	var first int64
	var last time.Time
	err := tx.QueryRow(ctx, `
		SELECT arrival, last_at FROM quarantine
		WHERE content = $1 AND imported = $2 AND (keyed AND $3 OR last_at > $4 AND split_part(reason, ':', 1) = split_part($5, ':', 1))
		ORDER BY arrival LIMIT 1`,
		sum[:], q.Imported, keyed, received.Add(-sameWithin), reasonOf(*q)).Scan(&first, &last)
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

// hasKey tells whether boot and seq can be read in a payload: it then is the
// same message whenever it comes.
func hasKey(payload []byte) bool {
	var k struct {
		Boot string `json:"boot"`
		Seq  int64  `json:"seq"`
	}
	return json.Unmarshal(payload, &k) == nil && k.Boot != "" && k.Seq >= 1
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
