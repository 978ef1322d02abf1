package postgres

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// upsertRuns writes runs as the worker sees them, with what people entered laid
// over them.
func upsertRuns(ctx context.Context, tx pgx.Tx, runs []lab.Run, imported bool) error {
	if len(runs) == 0 {
		return nil
	}
	known, err := lockRuns(ctx, tx, idsOf(runs))
	if err != nil {
		return err
	}
	entries, err := entriesOfRuns(ctx, tx, idsOf(runs))
	if err != nil {
		return err
	}
	var trip pgx.Batch
	for _, r := range runs {
		row, writes := lab.Refolded(r, known[r.ID], entries[r.ID], imported)
		if !writes {
			continue
		}
		if err := queueRun(&trip, row, entries[r.ID]); err != nil {
			return err
		}
	}
	return tx.SendBatch(ctx, &trip).Close()
}

// queueRun writes a run as people see it, with what the fold says of it beside.
func queueRun(trip *pgx.Batch, row lab.RunRow, entries []lab.Entry) error {
	r := row.Stated(entries)
	body, err := json.Marshal(r)
	if err != nil {
		return lab.Errorf(lab.KindInternal, "run %s: %w", r.ID, err)
	}
	loaded, err := json.Marshal(slices.Concat([]lab.Roll{}, row.Loaded))
	if err != nil {
		return lab.Errorf(lab.KindInternal, "run %s: %w", r.ID, err)
	}
	var decision *string
	if r.Decision != nil {
		decision = &r.Decision.Decision
	}
	trip.Queue(`
		INSERT INTO runs AS r (id, unit, run, process, push, kind, started_at, ended_at, outcome, verdict,
			rolls, orders, decision, loaded, folded_kind, body, imported, decided, roll_decisions, rolls_again)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20)
		ON CONFLICT (id) DO UPDATE SET
			unit = excluded.unit, run = excluded.run, process = excluded.process, push = excluded.push,
			kind = excluded.kind, started_at = excluded.started_at, ended_at = excluded.ended_at,
			outcome = excluded.outcome, verdict = excluded.verdict, rolls = excluded.rolls,
			orders = excluded.orders, decision = excluded.decision, loaded = excluded.loaded,
			folded_kind = excluded.folded_kind, body = excluded.body, imported = excluded.imported,
			decided = excluded.decided, roll_decisions = excluded.roll_decisions, rolls_again = excluded.rolls_again
		WHERE r.imported OR NOT excluded.imported`,
		r.ID, r.Unit, r.Run, r.Process, r.Push, r.Kind, r.StartedAt.UTC(), timeOrNull(r.EndedAt), r.Outcome, r.Verdict,
		namesOf(r.Rolls, twinCheck), namesOf(r.Rolls, func(o lab.Roll) string { return o.Order }),
		decision, loaded, row.FoldedKind, body, row.Imported, r.Decided(), r.Decisions(), namesOf(r.RollsAgain(), twinCheck))
	return nil
}

func twinCheck(r lab.Roll) string { return r.TwinCheck }

// namesOf gives what rolls are searched by, in capitals.
func namesOf(rolls []lab.Roll, get func(lab.Roll) string) []string {
	names := []string{}
	for _, r := range rolls {
		if n := searchable(get(r)); n != "" && !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	return names
}

func searchable(s string) string { return strings.ToUpper(strings.TrimSpace(storable(s))) }

func idsOf(runs []lab.Run) []string {
	ids := make([]string, len(runs))
	for i, r := range runs {
		ids[i] = r.ID
	}
	return ids
}

// lockRuns reads runs so that until the commit nobody enters anything of them.
func lockRuns(ctx context.Context, tx pgx.Tx, ids []string) (map[string]*lab.RunRow, error) {
	rows, err := tx.Query(ctx, `
		SELECT body, loaded, folded_kind, imported FROM runs WHERE id = ANY($1) ORDER BY id FOR UPDATE`, ids)
	if err != nil {
		return nil, err
	}
	list, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (r *lab.RunRow, err error) {
		r = &lab.RunRow{}
		var body, loaded []byte
		if err = row.Scan(&body, &loaded, &r.FoldedKind, &r.Imported); err != nil {
			return r, err
		}
		if err = json.Unmarshal(body, &r.Run); err != nil {
			return r, err
		}
		return r, json.Unmarshal(loaded, &r.Loaded)
	})
	byID := make(map[string]*lab.RunRow, len(list))
	for _, r := range list {
		byID[r.ID] = r
	}
	return byID, err
}

// lockRun makes sure that the run of an entry is there and is the unit's.
func lockRun(ctx context.Context, tx pgx.Tx, e *lab.Entry) error {
	if e.RunID == "" {
		return nil
	}
	var unit string
	err := tx.QueryRow(ctx, `SELECT unit, imported FROM runs WHERE id = $1 FOR UPDATE`, e.RunID).Scan(&unit, &e.Imported)
	switch {
	case err == pgx.ErrNoRows:
		return lab.Errorf(lab.KindNotFound, "there is no run %q", e.RunID)
	case err == nil && unit != e.Unit.String():
		return lab.Errorf(lab.KindInvalid, "run %q is of unit %s, not of %s", e.RunID, unit, e.Unit)
	}
	return err
}

// refreshRun brings a run's row in step with what was entered of it.
func refreshRun(ctx context.Context, tx pgx.Tx, id string) error {
	if id == "" {
		return nil
	}
	rows, err := lockRuns(ctx, tx, []string{id})
	if err != nil {
		return err
	}
	row, ok := rows[id]
	if !ok {
		return nil // history: the run is written later
	}
	entries, err := entriesOfRuns(ctx, tx, []string{id})
	if err != nil {
		return err
	}
	row.Decision = nil // it came from entries only, or is among them still
	var trip pgx.Batch
	if err := queueRun(&trip, *row, entries[id]); err != nil {
		return err
	}
	return tx.SendBatch(ctx, &trip).Close()
}

// entriesOfRuns gives what was entered of runs, by run, in arrival order.
func entriesOfRuns(ctx context.Context, tx pgx.Tx, ids []string) (map[string][]lab.Entry, error) {
	rows, err := tx.Query(ctx, `SELECT `+entryColumns+` FROM entries e WHERE run = ANY($1) AND run <> '' ORDER BY arrival`, ids)
	if err != nil {
		return nil, err
	}
	list, err := pgx.CollectRows(rows, scanEntry)
	of := map[string][]lab.Entry{}
	for _, e := range list {
		of[e.RunID] = append(of[e.RunID], e)
	}
	return of, err
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
// both are of the run's start. Rolls and orders are found whatever their case.
func (s *Store) Runs(ctx context.Context, f lab.RunFilter) (_ []lab.Run, err error) {
	defer s.wrap(&err, s.web, "read runs")
	where, args := runConditions(f)
	order := "started_at DESC, id"
	if f.OldestFirst {
		order = "started_at, id"
	}
	args = append(args, capped(f.Limit))
	rows, err := s.web.Query(ctx, fmt.Sprintf(`SELECT %s FROM runs %s ORDER BY %s LIMIT $%d`, runColumns, where, order, len(args)), args...)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanRun)
}

// What is found by its index first, and sorted then: a run that carries a roll
// is one of thousands, which the planner does not guess.
const (
	byRoll  = "id = ANY(ARRAY(SELECT id FROM runs WHERE rolls @> ARRAY[$$::text]))"
	byOrder = "id = ANY(ARRAY(SELECT id FROM runs WHERE orders @> ARRAY[$$::text]))"
)

// runConditions names only what is asked for, so that the right index is
// taken.
func runConditions(f lab.RunFilter) (where string, args []any) {
	var parts []string
	add := func(sql string, v any) {
		args = append(args, v)
		parts = append(parts, strings.ReplaceAll(sql, "$$", fmt.Sprintf("$%d", len(args))))
	}
	for _, c := range []struct{ v, sql string }{
		{searchable(f.Roll), byRoll},
		{searchable(f.Order), byOrder},
		{f.Unit, "unit = $$"},
		{f.Process, "process = $$"},
		{f.Verdict, "verdict = $$"},
	} {
		if c.v != "" {
			add(c.sql, storable(c.v))
		}
	}
	switch f.Decision {
	case "":
	case lab.Undecided:
		parts = append(parts, "NOT decided")
	default:
		add("roll_decisions @> ARRAY[$$::text]", storable(f.Decision))
	}
	if q := searchable(f.Query); q != "" {
		args = append(args, likeLiteral.Replace(strings.ToLower(q))+"%")
		add(fmt.Sprintf("(%s OR %s OR id = ANY(ARRAY(SELECT id FROM runs WHERE lower(run) LIKE $%d)))", byRoll, byOrder, len(args)), q)
	}
	if !f.From.IsZero() {
		add("started_at >= $$", f.From.UTC())
	}
	if !f.To.IsZero() {
		add("started_at < $$", f.To.UTC())
	}
	if len(parts) == 0 {
		return "", args
	}
	return "WHERE " + strings.Join(parts, " AND "), args
}

// likeLiteral takes the meaning from the signs of LIKE.
var likeLiteral = strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`)

// Run gives one run.
func (s *Store) Run(ctx context.Context, id string) (_ lab.Run, err error) {
	defer s.wrap(&err, s.web, "run "+id)
	rows, err := s.web.Query(ctx, `SELECT `+runColumns+` FROM runs WHERE id = $1`, storable(id))
	if err != nil {
		return lab.Run{}, err
	}
	return pgx.CollectExactlyOneRow(rows, scanRun)
}
