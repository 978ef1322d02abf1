package postgres

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// How much of a unit's telemetry goes with a run, in messages: what went
// before shows how it began, what came after how it ended.
const (
	runLead       = 900
	runTrail      = 300
	runPage       = 5_000          // messages in memory at once
	runClockSlack = 26 * time.Hour // the unit's clock may be wrong by a day
)

// RunMessages gives each the telemetry of a run in arrival order: from its
// first message to its last, with some of what the unit sent before and after,
// a page at a time, however much that is. It is found by boot and seq,
// whatever the unit's clock said. What arrives meanwhile is not in it. It ends
// at the first error of each.
func (s *Store) RunMessages(ctx context.Context, r lab.RunRow, each func(lab.Message) error) (err error) {
	defer s.wrap(&err, s.web, "read the telemetry of run "+r.ID)
	q := runQuery{s: s, r: r, names: []string{r.Run.Run}, from: r.StartedAt.Add(-runClockSlack), to: r.StartedAt.Add(runClockSlack)}
	if r.EndedAt != nil && r.EndedAt.After(r.StartedAt.Time) {
		q.to = r.EndedAt.Add(runClockSlack)
	}
	for _, x := range r.FilmAfter() { // one film over several runs is judged by all of them
		q.names = append(q.names, x.Run)
		if x.EndedAt != nil && x.EndedAt.Add(runClockSlack).After(q.to) {
			q.to = x.EndedAt.Add(runClockSlack)
		}
	}
	if err := q.find(ctx); err != nil || len(q.boots) == 0 {
		return err
	}
	for after := q.low - 1; after < q.end; {
		page, err := q.page(ctx, after)
		if err != nil || len(page) == 0 {
			return err
		}
		for _, a := range page {
			after = a.Number()
			if a.Message == nil {
				continue
			}
			a.Message.Imported = q.r.Imported
			if err := each(*a.Message); err != nil {
				return err
			}
		}
	}
	return nil
}

type runQuery struct {
	s        *Store
	r        lab.RunRow
	names    []string  // of the run and of those that went on with its film
	from, to time.Time // of sent_at, wide: only to leave out other days

	boots       []string // of the run, in the order of their arrival
	lows, highs []int64  // what the run has of each, in seq
	first, last int64    // arrival numbers of its own step messages
	trail       int64    // and of the last message behind them that goes with it
	low, end    int64    // of all that goes with it
}

// bootSpan is what the run has of one boot.
type bootSpan struct {
	Boot        string
	Low, High   int64 // seq
	First, Last int64 // arrival
}

// find finds out where the messages of the run are, as of one moment.
func (q *runQuery) find(ctx context.Context) error {
	return pgx.BeginTxFunc(ctx, q.s.web, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, q.sql(`boot, min(seq), max(seq), min(arrival), max(arrival)`,
			`channel = 'step' AND run = ANY($5)`, `GROUP BY boot ORDER BY min(arrival)`), q.args(q.names)...)
		if err != nil {
			return err
		}
		spans, err := pgx.CollectRows(rows, pgx.RowToStructByPos[bootSpan])
		if err != nil || len(spans) == 0 {
			return err
		}
		q.first = spans[0].First
		for i, b := range spans {
			low := int64(1)
			if i == 0 {
				low = b.Low - runLead
			}
			q.boots, q.lows, q.highs = append(q.boots, b.Boot), append(q.lows, low), append(q.highs, b.High)
			q.last = max(q.last, b.Last)
		}
		err = tx.QueryRow(ctx, `SELECT coalesce(min(arrival), $8), coalesce(max(arrival), $9) FROM `+inSpans,
			q.args(q.boots, q.lows, q.highs, q.first, q.last)...).Scan(&q.low, &q.end)
		if err != nil {
			return err
		}
		q.low = min(q.low, q.first)
		trail := `SELECT coalesce(max(arrival), $5) FROM (` + q.sql(`arrival`, `arrival > $5`, `ORDER BY arrival LIMIT $6`) + `) trail`
		if err := tx.QueryRow(ctx, trail, q.args(q.last, runTrail)...).Scan(&q.trail); err != nil {
			return err
		}
		q.end = max(q.end, q.trail)
		return nil
	})
}

// inSpans are the messages of the run's boots, found by the key of telemetry.
const inSpans = `unnest($5::text[], $6::bigint[], $7::bigint[]) b (of_boot, low, high) CROSS JOIN LATERAL (
		SELECT * FROM telemetry WHERE unit = $1 AND imported = $2 AND NOT at_replaced AND sent_at >= $3 AND sent_at < $4
			AND boot = of_boot AND seq BETWEEN low AND high
		UNION ALL
		SELECT * FROM telemetry WHERE unit = $1 AND imported = $2 AND at_replaced AND at >= $3 AND at < $4
			AND boot = of_boot AND seq BETWEEN low AND high
	) spans`

// page gives what comes next behind an arrival number.
func (q *runQuery) page(ctx context.Context, after int64) ([]lab.Arrival, error) {
	rows, err := q.s.web.Query(ctx, `
		SELECT DISTINCT ON (arrival) `+messageColumns+` FROM (
			SELECT `+messageColumns+` FROM `+inSpans+` WHERE arrival > $8 AND arrival <= $9
			UNION ALL`+
		q.sql(messageColumns, `(will AND arrival BETWEEN $10 AND $11 OR arrival > $11 AND arrival <= $12) AND arrival > $8`, ``)+`
		) page ORDER BY arrival LIMIT $13`,
		q.args(q.boots, q.lows, q.highs, after, q.end, q.first, q.last, q.trail, runPage)...)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, q.s.scanArrival)
}

const messageColumns = `arrival, unit, channel, at, at_replaced, received_at, retained, payload`

// sql selects of the unit's telemetry around the run. Where its clock was
// right the partition follows from the time; the few others have an index of
// their own.
func (q *runQuery) sql(what, where, tail string) string {
	return `
		SELECT ` + what + ` FROM (
			SELECT * FROM telemetry WHERE unit = $1 AND imported = $2 AND NOT at_replaced AND sent_at >= $3 AND sent_at < $4 AND ` + where + `
			UNION ALL
			SELECT * FROM telemetry WHERE unit = $1 AND imported = $2 AND at_replaced AND at >= $3 AND at < $4 AND ` + where + `
		) t ` + tail
}

func (q *runQuery) args(args ...any) []any {
	return append([]any{q.r.Unit, q.r.Imported, q.from.UTC(), q.to.UTC()}, args...)
}
