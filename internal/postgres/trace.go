package postgres

import (
	"context"
	"encoding/json"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// clockAhead is how far a unit's clock may be ahead before its time is replaced
// by that of arrival (contract, section 1, Clocks); so is one before 2020.
const clockAhead = 24 * time.Hour

// spanOf selects what a unit said on a channel, by the time that counts: $1 the
// unit, from $2 to $3, $4 being clockAhead behind $2. Where the unit's clock was
// right the day's partition follows from the time. The few others have an index
// of their own, and what their clock said lies where it may not be: a year of
// days has not to be asked for them.
func spanOf(columns string, channel lab.Channel) string {
	each := `SELECT ` + columns + ` FROM telemetry WHERE unit = $1 AND channel = '` + string(channel) + `' AND `
	return each + `NOT at_replaced AND sent_at >= $2 AND sent_at < $3
		UNION ALL ` + each + `at_replaced AND at >= $2 AND at < $3 AND sent_at < '2020-01-01 00:00:00+00'
		UNION ALL ` + each + `at_replaced AND at >= $2 AND at < $3 AND sent_at > $4`
}

// Trace gives a unit's temperature readings, from included, to not, in the
// order of the time that counts.
func (s *Store) Trace(ctx context.Context, unit lab.UnitID, from, to time.Time) (_ []lab.TracePoint, err error) {
	defer s.wrap(&err, s.web, "read the trace of "+unit.String())
	rows, err := s.web.Query(ctx, spanOf(`at, bath_c, preheat_c, wash_c, dryer_c, room_c, arrival`, lab.ChannelTemp)+`
		ORDER BY at, arrival`, unit.String(), from.UTC(), to.UTC(), from.Add(clockAhead).UTC())
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
		SELECT DISTINCT ON (bucket) at, levels_l, floor(extract(epoch FROM at - $2) / $5) AS bucket
		FROM (`+spanOf(`at, levels_l, arrival`, lab.ChannelTank)+`) AS heard
		WHERE levels_l IS NOT NULL
		ORDER BY bucket, at DESC, arrival DESC`, unit.String(), from.UTC(), to.UTC(), from.Add(clockAhead).UTC(), stretch.Seconds())
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
