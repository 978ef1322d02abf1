package postgres

import (
	"context"
	"encoding/json"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// upsertRuns writes runs as the worker sees them. Rolls, decision and seal
// come from elsewhere: a run without them does not take them back. An import
// changes no run that was watched live.
func upsertRuns(ctx context.Context, tx pgx.Tx, runs []lab.Run, imported bool) error {
	if len(runs) == 0 {
		return nil
	}
	var trip pgx.Batch
	for _, r := range runs {
		body, err := json.Marshal(r)
		if err != nil {
			return lab.Errorf(lab.KindInternal, "run %s: %w", r.ID, err)
		}
		trip.Queue(`
			INSERT INTO runs AS r (id, unit, run, process, push, kind, started_at, ended_at, outcome, verdict, rolls, body, imported)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)
			ON CONFLICT (id) DO UPDATE SET
				unit = excluded.unit, run = excluded.run, process = excluded.process, push = excluded.push,
				kind = excluded.kind, started_at = excluded.started_at, ended_at = excluded.ended_at,
				outcome = excluded.outcome, verdict = excluded.verdict, imported = excluded.imported,
				rolls = CASE WHEN excluded.rolls = '{}' THEN r.rolls ELSE excluded.rolls END,
				body = excluded.body || jsonb_build_object(
					'rolls', CASE WHEN excluded.rolls = '{}' THEN r.body -> 'rolls' ELSE excluded.body -> 'rolls' END,
					'decision', coalesce(nullif(excluded.body -> 'decision', 'null'), r.body -> 'decision'),
					'seal', coalesce(nullif(excluded.body -> 'seal', 'null'), r.body -> 'seal'))
			WHERE r.imported OR NOT excluded.imported`,
			r.ID, r.Unit, r.Run, r.Process, r.Push, r.Kind, r.StartedAt.UTC(), timeOrNull(r.EndedAt), r.Outcome,
			r.Verdict, twinChecks(r), body, imported)
	}
	return tx.SendBatch(ctx, &trip).Close()
}

func twinChecks(r lab.Run) []string {
	names := make([]string, len(r.Rolls))
	for i, roll := range r.Rolls {
		names[i] = roll.TwinCheck
	}
	return names
}

// The alerts of a run are where its id is: what the body says of them may be older.
const runColumns = `body, ARRAY(SELECT a.id FROM alerts a WHERE a.run = runs.id AND a.run <> '' ORDER BY a.raised_at, a.id)`

func scanRun(row pgx.CollectableRow) (r lab.Run, err error) {
	var body []byte
	var alerts []string
	if err = row.Scan(&body, &alerts); err != nil {
		return r, err
	}
	if err = json.Unmarshal(body, &r); err != nil {
		return r, err
	}
	r.Alerts = alerts
	return r, nil
}

// Runs gives the runs of a filter, newest first. From is included, To is not;
// both are of the run's start.
func (s *Store) Runs(ctx context.Context, f lab.RunFilter) (_ []lab.Run, err error) {
	defer s.wrap(&err, s.web, "read runs")
	rows, err := s.web.Query(ctx, `
		SELECT `+runColumns+` FROM runs
		WHERE ($1 = '' OR rolls @> ARRAY[$1])
		  AND ($2 = '' OR unit = $2)
		  AND ($3 = '' OR process = $3)
		  AND ($4 = '' OR verdict = $4)
		  AND ($5::timestamptz IS NULL OR started_at >= $5)
		  AND ($6::timestamptz IS NULL OR started_at < $6)
		ORDER BY started_at DESC, id LIMIT $7`,
		f.Roll, f.Unit, f.Process, f.Verdict, orNull(f.From), orNull(f.To), capped(f.Limit))
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanRun)
}

// Run gives one run.
func (s *Store) Run(ctx context.Context, id string) (_ lab.Run, err error) {
	defer s.wrap(&err, s.web, "run "+id)
	rows, err := s.web.Query(ctx, `SELECT `+runColumns+` FROM runs WHERE id = $1`, id)
	if err != nil {
		return lab.Run{}, err
	}
	return pgx.CollectExactlyOneRow(rows, scanRun)
}
