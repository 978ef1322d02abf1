package postgres

import (
	"cmp"
	"context"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// How much of a unit's telemetry goes with a run, in messages: what went
// before shows how it began, what came after how it ended.
const (
	runLead       = 900
	runTrail      = 300
	runMessages   = 50_000
	runClockSlack = 26 * time.Hour // the unit's clock may be wrong by a day
)

// RunMessages gives the telemetry of a run in arrival order: from its first
// message to its last, with some of what the unit sent before and after. It is
// found by boot and seq, whatever the unit's clock said. ok is false where
// that is too much.
func (s *Store) RunMessages(ctx context.Context, r lab.RunRow) (_ []lab.Message, ok bool, err error) {
	defer s.wrap(&err, s.web, "read the telemetry of run "+r.ID)
	q := runQuery{s, r, r.StartedAt.Add(-runClockSlack), r.StartedAt.Add(runClockSlack)}
	if r.EndedAt != nil && r.EndedAt.After(r.StartedAt.Time) {
		q.to = r.EndedAt.Add(runClockSlack)
	}
	var all []lab.Message
	err = pgx.BeginTxFunc(ctx, s.web, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		all, ok, err = q.read(ctx, tx)
		return err
	})
	if err != nil || !ok {
		return nil, false, err
	}
	slices.SortFunc(all, func(a, b lab.Message) int { return cmp.Compare(a.Arrival, b.Arrival) })
	return slices.CompactFunc(all, func(a, b lab.Message) bool { return a.Arrival == b.Arrival }), true, nil
}

type runQuery struct {
	s        *Store
	r        lab.RunRow
	from, to time.Time // of sent_at, wide: only to leave out other days
}

// bootSpan is what the run has of one boot.
type bootSpan struct {
	Boot        string
	Low, High   int64 // seq
	First, Last int64 // arrival
}

func (q runQuery) read(ctx context.Context, tx pgx.Tx) (all []lab.Message, ok bool, err error) {
	rows, err := q.rows(ctx, tx, `boot, min(seq), max(seq), min(arrival), max(arrival)`,
		`channel = 'step' AND run = $5`, `GROUP BY boot ORDER BY min(arrival)`, q.r.Run.Run)
	if err != nil {
		return nil, false, err
	}
	spans, err := pgx.CollectRows(rows, pgx.RowToStructByPos[bootSpan])
	if err != nil || len(spans) == 0 {
		return nil, true, err
	}
	first, last := spans[0].First, int64(0)
	for _, b := range spans {
		last = max(last, b.Last)
	}
	add := func(where, tail string, args ...any) error {
		rows, err := q.rows(ctx, tx, messageColumns, where, tail, args...)
		if err != nil {
			return err
		}
		got, err := pgx.CollectRows(rows, q.s.scanArrival)
		for _, a := range got {
			if a.Message != nil {
				a.Message.Imported = q.r.Imported
				all = append(all, *a.Message)
			}
		}
		return err
	}
	for i, b := range spans {
		low := int64(1)
		if i == 0 {
			low = b.Low - runLead
		}
		if err := add(`boot = $5 AND seq BETWEEN $6 AND $7`, `LIMIT $8`, b.Boot, low, b.High, runMessages); err != nil {
			return nil, false, err
		}
	}
	if err := add(`will AND arrival BETWEEN $5 AND $6`, ``, first, last); err != nil {
		return nil, false, err
	}
	if err := add(`arrival > $5`, `ORDER BY arrival LIMIT $6`, last, runTrail); err != nil {
		return nil, false, err
	}
	return all, len(all) < runMessages, nil
}

const messageColumns = `arrival, unit, channel, at, at_replaced, received_at, retained, payload`

// rows selects the unit's telemetry around the run. Where its clock was right
// the partition follows from the time; the few others have an index of their own.
func (q runQuery) rows(ctx context.Context, tx pgx.Tx, what, where, tail string, args ...any) (pgx.Rows, error) {
	return tx.Query(ctx, `
		SELECT `+what+` FROM (
			SELECT * FROM telemetry WHERE unit = $1 AND imported = $2 AND NOT at_replaced AND sent_at >= $3 AND sent_at < $4 AND `+where+`
			UNION ALL
			SELECT * FROM telemetry WHERE unit = $1 AND imported = $2 AND at_replaced AND at >= $3 AND at < $4 AND `+where+`
		) t `+tail, append([]any{q.r.Unit, q.r.Imported, q.from.UTC(), q.to.UTC()}, args...)...)
}
