package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

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
