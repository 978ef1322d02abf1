package postgres

import (
	"context"
	"encoding/json"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// Trace gives a unit's temperature readings, from included, to not, in the
// order of the time that counts.
func (s *Store) Trace(ctx context.Context, unit lab.UnitID, from, to time.Time) (_ []lab.TracePoint, err error) {
	defer s.wrap(&err, s.web, "read the trace of "+unit.String())
	// Where the unit's clock was right the partition follows from the time;
	// the few others have an index of their own.
	rows, err := s.web.Query(ctx, `
		SELECT at, bath_c, preheat_c, wash_c, dryer_c, room_c, arrival
		FROM telemetry
		WHERE unit = $1 AND channel = 'temp' AND NOT at_replaced AND sent_at >= $2 AND sent_at < $3
		UNION ALL
		SELECT at, bath_c, preheat_c, wash_c, dryer_c, room_c, arrival
		FROM telemetry
		WHERE unit = $1 AND channel = 'temp' AND at_replaced AND at >= $2 AND at < $3
		ORDER BY at, arrival`, unit.String(), from.UTC(), to.UTC())
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (p lab.TracePoint, err error) {
		var arrival int64
		err = row.Scan(&p.At.Time, &p.BathC, &p.PreheatC, &p.WashC, &p.DryerC, &p.RoomC, &arrival)
		p.At = lab.At(p.At.Time)
		return p, err
	})
}

// Levels gives the levels of a unit's containers, from included, to not, by
// the time that counts: the last of each stretch of time, so that there are
// most of them at the most.
func (s *Store) Levels(ctx context.Context, unit lab.UnitID, from, to time.Time, most int) (_ []lab.LevelPoint, err error) {
	defer s.wrap(&err, s.web, "read the levels of "+unit.String())
	stretch := max(to.Sub(from)/time.Duration(max(most, 1)), time.Second)
	rows, err := s.web.Query(ctx, `
		SELECT DISTINCT ON (bucket) at, levels_l, floor(extract(epoch FROM at - $2) / $4) AS bucket
		FROM (
			SELECT at, levels_l, arrival FROM telemetry
			WHERE unit = $1 AND channel = 'tank' AND NOT at_replaced AND sent_at >= $2 AND sent_at < $3
			UNION ALL
			SELECT at, levels_l, arrival FROM telemetry
			WHERE unit = $1 AND channel = 'tank' AND at_replaced AND at >= $2 AND at < $3) AS heard
		WHERE levels_l IS NOT NULL
		ORDER BY bucket, at DESC, arrival DESC`, unit.String(), from.UTC(), to.UTC(), stretch.Seconds())
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (p lab.LevelPoint, err error) {
		var levels []byte
		var bucket float64
		if err := row.Scan(&p.At.Time, &levels, &bucket); err != nil {
			return p, err
		}
		p.At = lab.At(p.At.Time)
		return p, json.Unmarshal(levels, &p.LevelsL)
	})
}
