package postgres

import (
	"context"
	"encoding/json"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// LogView is the record log, and what it seals, as of one moment. Its methods
// are called one after the other; each goes through all there is and ends at
// the first error of each.
type LogView struct{ tx pgx.Tx }

// ReadLog calls f with the record log as of one moment.
func (s *Store) ReadLog(ctx context.Context, f func(*LogView) error) (err error) {
	defer s.wrap(&err, s.web, "read the record log")
	return pgx.BeginTxFunc(ctx, s.web, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly},
		func(tx pgx.Tx) error {
			// a year's records are judged between two rows: it holds no locks that
			// others wait for, and the connection is watched by its keepalives
			if _, err := tx.Exec(ctx, `SET LOCAL idle_in_transaction_session_timeout = 0; SET LOCAL tcp_user_timeout = 0`); err != nil {
				return err
			}
			return f(&LogView{tx})
		})
}

func through[T any](ctx context.Context, tx pgx.Tx, scan pgx.RowToFunc[T], each func(T) error, sql string, args ...any) error {
	rows, err := tx.Query(ctx, sql, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		v, err := scan(rows)
		if err != nil {
			return err
		}
		if err := each(v); err != nil {
			return err
		}
	}
	return rows.Err()
}

// Keys goes through the verifier keys that signed.
func (v *LogView) Keys(ctx context.Context, each func(string) error) error {
	return through(ctx, v.tx, pgx.RowTo[string], each, `SELECT verifier FROM log_keys ORDER BY verifier`)
}

// Checkpoints goes through the signed checkpoints by size.
func (v *LogView) Checkpoints(ctx context.Context, each func(size int64, note string) error) error {
	type row struct {
		Size int64
		Note string
	}
	return through(ctx, v.tx, pgx.RowToStructByPos[row], func(r row) error { return each(r.Size, r.Note) },
		`SELECT size, note FROM log_checkpoints ORDER BY size`)
}

// Leaves goes through the leaves in order.
func (v *LogView) Leaves(ctx context.Context, each func(lab.LogLeaf) error) error {
	return through(ctx, v.tx, pgx.RowToStructByPos[lab.LogLeaf], each, `SELECT leaf, kind, subject, hash FROM log_leaves ORDER BY leaf`)
}

// Hashes goes through the stored hashes in order.
func (v *LogView) Hashes(ctx context.Context, each func(lab.LogHash) error) error {
	return through(ctx, v.tx, pgx.RowToStructByPos[lab.LogHash], each, `SELECT index, hash FROM log_hashes ORDER BY index`)
}

// Records goes through the records in order.
func (v *LogView) Records(ctx context.Context, each func(lab.StoredRecord) error) error {
	return through(ctx, v.tx, scanRecord, each, `SELECT `+recordColumns+` FROM records ORDER BY leaf`)
}

// SealedEntries goes through the entries as the log has them, in order.
func (v *LogView) SealedEntries(ctx context.Context, each func(lab.StoredEntry) error) error {
	return through(ctx, v.tx, pgx.RowToStructByPos[lab.StoredEntry], each,
		`SELECT leaf, entry, arrival, body FROM record_entries ORDER BY leaf`)
}

// Entries goes through what people entered, in arrival order.
func (v *LogView) Entries(ctx context.Context, each func(lab.Entry) error) error {
	return through(ctx, v.tx, scanEntry, each, `SELECT `+entryColumns+` FROM entries e ORDER BY arrival`)
}

// Waiting goes through the runs that wait for a record.
func (v *LogView) Waiting(ctx context.Context, each func(run string, changed time.Time) error) error {
	type row struct {
		Run     string
		Changed time.Time
	}
	return through(ctx, v.tx, pgx.RowToStructByPos[row], func(r row) error { return each(r.Run, r.Changed.UTC()) },
		`SELECT run, changed_at FROM record_queue ORDER BY run`)
}

// Runs goes through all runs. odd names the columns of a row that do not say
// what the run in it, and what people entered of it, come to.
func (v *LogView) Runs(ctx context.Context, each func(r lab.RunRow, odd []string) error) error {
	entries := map[string][]lab.Entry{}
	err := v.Entries(ctx, func(e lab.Entry) error {
		if e.RunID != "" {
			entries[e.RunID] = append(entries[e.RunID], e)
		}
		return nil
	})
	if err != nil {
		return err
	}
	return through(ctx, v.tx, scanRunColumns, func(c runColumnsRead) error {
		odd := c.odd(entries[c.id])
		c.row.ID = c.id
		return each(c.row, odd)
	}, `
		SELECT id, unit, run, process, push, kind, started_at, ended_at, outcome, verdict, rolls, orders, decision,
		       loaded, folded_kind, imported, body, decided, roll_decisions, rolls_again FROM runs ORDER BY id`)
}

// runColumnsRead is a row of runs, column by column.
type runColumnsRead struct {
	id, unit, run, process, kind, outcome string
	push                                  float64
	started                               time.Time
	ended                                 *time.Time
	verdict, decision                     *string
	rolls, orders, decisions, again       []string
	decided                               bool
	row                                   lab.RunRow
}

func scanRunColumns(row pgx.CollectableRow) (c runColumnsRead, err error) {
	var loaded, body []byte
	err = row.Scan(&c.id, &c.unit, &c.run, &c.process, &c.push, &c.kind, &c.started, &c.ended, &c.outcome, &c.verdict,
		&c.rolls, &c.orders, &c.decision, &loaded, &c.row.FoldedKind, &c.row.Imported, &body, &c.decided, &c.decisions, &c.again)
	if err != nil {
		return c, err
	}
	if err = json.Unmarshal(body, &c.row.Run); err != nil {
		return c, err
	}
	return c, json.Unmarshal(loaded, &c.row.Loaded)
}

// odd names the columns that differ from what run and entries come to.
func (c *runColumnsRead) odd(entries []lab.Entry) (odd []string) {
	want := c.row.Stated(entries)
	check := func(name string, same bool) {
		if !same {
			odd = append(odd, name)
		}
	}
	b := c.row.Run
	for i := range min(len(b.Rolls), len(want.Rolls)) {
		if b.Rolls[i].PushErrorStops == nil { // written before rolls had their own
			want.Rolls[i].PushErrorStops = nil
		}
	}
	check("id", c.id == b.ID)
	check("unit", c.unit == b.Unit)
	check("run", c.run == b.Run)
	check("process", c.process == b.Process)
	check("push", c.push == b.Push)
	check("kind", c.kind == b.Kind && b.Kind == want.Kind)
	check("started_at", c.started.Equal(b.StartedAt.Time))
	check("ended_at", sameTime(c.ended, timeOrNull(b.EndedAt)))
	check("outcome", c.outcome == b.Outcome)
	check("verdict", sameText(c.verdict, b.Verdict))
	check("rolls", sameJSON(b.Rolls, want.Rolls) && slices.Equal(c.rolls, namesOf(b.Rolls, twinCheck)))
	check("orders", slices.Equal(c.orders, namesOf(b.Rolls, func(o lab.Roll) string { return o.Order })))
	var decided *string
	if b.Decision != nil {
		decided = &b.Decision.Decision
	}
	check("decision", sameText(c.decision, decided) && sameJSON(b.Decision, want.Decision))
	check("decided", c.decided == want.Decided())
	check("roll_decisions", slices.Equal(c.decisions, want.Decisions()))
	check("rolls_again", slices.Equal(c.again, namesOf(want.RollsAgain(), twinCheck)))
	return odd
}

func sameText(a, b *string) bool { return a == b || a != nil && b != nil && *a == *b }

func sameTime(a, b *time.Time) bool { return a == b || a != nil && b != nil && a.Equal(*b) }

func sameJSON(a, b any) bool {
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	return errX == nil && errY == nil && (string(x) == string(y) || emptyJSON(string(x)) && emptyJSON(string(y)))
}

func emptyJSON(s string) bool { return s == "null" || s == "[]" }
