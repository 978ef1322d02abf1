package records_test

import (
	"crypto/rand"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"golang.org/x/mod/sumdb/tlog"

	"wetside/internal/lab"
	"wetside/internal/records"
	"wetside/internal/records/seal"
)

// sealedMorning is a morning of which everything is in the log: a run whose
// record was superseded by late evidence, another, and what people entered.
func sealedMorning(t testing.TB) *morning {
	t.Helper()
	return sealedMorningIn(t, 0)
}

// sealedMorningIn is a sealed morning in parts of so many messages; 0: as always.
func sealedMorningIn(t testing.TB, parts int) *morning {
	t.Helper()
	m := newMorning(t)
	m.parts = parts
	probe := lab.ProbeCheck{OffsetC: 0.1, Reference: "glass thermometer 7"}
	m.enter(lab.Entry{What: lab.EntryProbe, Body: asJSON(t, probe)})
	held := false
	m.work(130*tMinute, func(msg lab.Message) bool {
		late := !held && msg.Temp != nil && msg.Temp.BathC != nil && msg.At.After(nine.Add(12*tMinute))
		held = held || late
		return late
	})
	first := m.runs()[1]
	if len(m.held) != 1 || len(first.Gaps) == 0 {
		t.Fatalf("%d messages held back, gaps %v", len(m.held), first.Gaps)
	}
	m.sealAll()
	m.arrive(m.held, nine.Add(131*tMinute))
	m.enter(lab.Entry{RunID: first.ID, What: lab.EntryRolls, Body: asJSON(t, lab.RollsChange{Add: []lab.Roll{{TwinCheck: "48213", Order: "A-7"}}})})
	m.enter(lab.Entry{RunID: first.ID, What: lab.EntryDecision, Body: asJSON(t, lab.Decision{Decision: "hold", Note: "look at it on the light table"})})
	m.enter(lab.Entry{RunID: first.ID, What: lab.EntryNote, Body: asJSON(t, lab.Note{Text: "the lamp was on"})})
	m.sealAll()
	return m
}

const tMinute = 60e9

func asJSON(t testing.TB, v any) json.RawMessage {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// sealedTables are those that hold a record, a report, an entry or the log.
var sealedTables = []string{"log_leaves", "log_hashes", "log_checkpoints", "log_keys", "records", "record_entries", "entries", "runs"}

// tamper lets a test do what only somebody with all rights in the database
// can do, and undoes it.
type tamper struct {
	*morning
	t *testing.T
}

func (x tamper) exec(sql string, args ...any) int64 {
	x.t.Helper()
	tag, err := x.conn.Exec(x.t.Context(), sql, args...)
	if err != nil {
		x.t.Fatalf("%s: %v", sql, err)
	}
	return tag.RowsAffected()
}

func newTamper(t *testing.T, m *morning) tamper {
	x := tamper{m, t}
	x.exec(`SET session_replication_role = replica`) // no triggers, no foreign keys
	for _, table := range sealedTables {
		x.exec(`CREATE TEMPORARY TABLE whole_` + table + ` AS TABLE ` + table)
	}
	return x
}

func (x tamper) restore(table string) {
	x.exec(`DELETE FROM ` + table)
	x.exec(`INSERT INTO ` + table + ` SELECT * FROM whole_` + table)
}

// changes gives expressions that change a column a little, by its type; where
// the database allows few values, another of them.
func changes(table, column, typ string) []string {
	c := pgx.Identifier{column}.Sanitize()
	switch table + "." + column {
	case "runs.outcome":
		return []string{`'aborted'`}
	case "runs.verdict":
		return []string{`CASE WHEN verdict = 'inspect' THEN 'in-control' ELSE 'inspect' END`, `NULL`}
	case "runs.decision":
		return []string{`CASE WHEN decision IS NULL THEN 'release' END`, `'lost'`}
	case "runs.body":
		return []string{`jsonb_set(body, '{push_error_stops}', '0.7')`, `jsonb_set(body, '{steps,0,time_s}', '1')`,
			`jsonb_set(body, '{steps,0,step}', '"fixer"')`, `jsonb_set(body, '{reasons}', '[{"code":"dryer","text":"x"}]')`,
			`jsonb_set(body, '{verdict}', 'null')`, `body - 'seal'`, `jsonb_set(body, '{seal,index}', '77')`,
			`jsonb_set(body, '{seal,hash}', '"x"')`, `jsonb_set(body, '{seal,sealed_at}', '"2026-01-01T00:00:00Z"')`,
			`jsonb_set(body, '{rolls}', '[{"twin_check":"1"}]')`, `jsonb_set(body, '{decision}', '{"decision":"release","by":"x","at":"2026-01-01T00:00:00Z"}')`,
			`jsonb_set(body, '{kind}', '"strip"')`, `jsonb_set(body, '{gaps}', '[{"boot":"b","from_seq":1,"to_seq":2}]')`,
			`jsonb_set(body, '{ended_at}', '"2026-01-01T00:00:00Z"')`, `jsonb_set(body, '{outages}', '[{"kind":"battery"}]')`}
	case "log_leaves.kind":
		return []string{`CASE WHEN kind = 'run' THEN 'entry' ELSE 'run' END`}
	case "log_leaves.leaf", "log_checkpoints.size", "log_hashes.index", "records.leaf", "record_entries.leaf":
		return []string{c + ` + 1000`}
	case "records.supersedes":
		return []string{`CASE WHEN supersedes IS NULL THEN -5 ELSE supersedes - 1 END`}
	}
	switch typ {
	case "text":
		return []string{`CASE WHEN left(` + c + `, 1) = 'x' THEN 'y' ELSE 'x' END || coalesce(substr(` + c + `, 2), '')`}
	case "bytea":
		var out []string
		for _, at := range []string{`0`, `length(` + c + `) / 3`, `length(` + c + `) / 2`, `length(` + c + `) - 1`} {
			out = append(out, `set_byte(`+c+`, `+at+`, get_byte(`+c+`, `+at+`) # 1)`)
		}
		return out
	case "bigint", "integer", "double precision":
		return []string{`coalesce(` + c + `, 0) + 100000`}
	case "timestamp with time zone":
		return []string{`coalesce(` + c + `, now()) + interval '1 millisecond'`}
	case "boolean":
		return []string{`NOT ` + c}
	case "text[]":
		return []string{`array_append(` + c + `, 'X')`}
	case "jsonb":
		return []string{c + ` || '[{"twin_check":"9"}]'`}
	case "json":
		return []string{`json_build_object('text', 'another')`, `overlay(coalesce(` + c + `::text, '{"a":1}') placing ' ' from 2 for 0)::json`}
	}
	return nil
}

// What is done to a sealed log by somebody with all rights in the database is
// found and named.
func TestVerify(t *testing.T) {
	t.Parallel()
	m := sealedMorning(t)
	whole := m.verify(records.VerifyOptions{Again: true, Making: m.making()})
	if len(whole.Problems) > 0 || whole.Records != 3 || whole.Entries != 4 || whole.Runs != 2 || whole.Unsealed+whole.Waiting != 0 {
		t.Fatalf("verified before anything is changed: %+v", whole)
	}
	newTamper(t, m)
	t.Run("every change", func(t *testing.T) { everyChange(t, tamper{m, t}) })
	t.Run("names", func(t *testing.T) { namesWhatWasChanged(t, tamper{m, t}) })
	t.Run("one of three is left", func(t *testing.T) { oneOfThreeIsLeft(t, tamper{m, t}) })
	t.Run("cut short", func(t *testing.T) { cutShort(t, tamper{m, t}) })
	t.Run("forged", func(t *testing.T) { forged(t, tamper{m, t}) })
}

// someRows leaves out rows between the first and the last of a table.
var someRows bool

// A changed value in any column of any row of what is sealed is found, and
// so is a removed row.
func everyChange(t *testing.T, x tamper) {
	m, tried := x.morning, 0
	for _, table := range sealedTables {
		rows := one[int](t, m.conn, `SELECT count(*) FROM `+table)
		if rows == 0 {
			t.Fatalf("%s is empty: nothing would be tried", table)
		}
		row := func(n int) string {
			return fmt.Sprintf(` WHERE ctid = (SELECT ctid FROM %s ORDER BY ctid OFFSET %d LIMIT 1)`, table, n)
		}
		for _, column := range columnsOf(t, m.conn, table) {
			exprs := changes(table, column[0], column[1])
			if len(exprs) == 0 {
				t.Errorf("nothing changes %s.%s of type %s: say how", table, column[0], column[1])
			}
			for n := range rows {
				if someRows && n > 0 && n < rows-1 {
					continue
				}
				for _, expr := range exprs {
					name := pgx.Identifier{column[0]}.Sanitize()
					if x.exec(`UPDATE `+table+` SET `+name+` = `+expr+row(n)+` AND `+name+`::text IS DISTINCT FROM (`+expr+`)::text`) == 0 {
						continue
					}
					tried++
					if v := m.verify(records.VerifyOptions{}); len(v.Problems) == 0 {
						t.Errorf("%s row %d, %s = %s: not found", table, n, column[0], expr)
					}
					x.restore(table)
				}
			}
		}
		for n := range rows {
			x.exec(`DELETE FROM ` + table + row(n))
			tried++
			if v := m.verify(records.VerifyOptions{}); len(v.Problems) == 0 {
				t.Errorf("%s row %d removed: not found", table, n)
			}
			x.restore(table)
		}
	}
	if v := m.verify(records.VerifyOptions{}); len(v.Problems) > 0 {
		t.Errorf("put back as it was, still found: %v", v.Problems)
	}
	t.Logf("%d changes tried", tried)
}

func columnsOf(t *testing.T, conn *pgx.Conn, table string) [][2]string {
	t.Helper()
	rows, err := conn.Query(t.Context(), `SELECT attname::text, format_type(atttypid, NULL) FROM pg_attribute
		WHERE attrelid = $1::regclass AND attnum > 0 AND NOT attisdropped ORDER BY attnum`, table)
	if err != nil {
		t.Fatal(err)
	}
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (c [2]string, err error) {
		err = row.Scan(&c[0], &c[1])
		return c, err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// What was changed is named: the unit, the run, the place in the log, what.
func namesWhatWasChanged(t *testing.T, x tamper) {
	m := x.morning
	first, second := m.runs()[1], m.runs()[0]
	for _, c := range []struct {
		what, table, sql string
		says             []string
	}{
		{"a run's verdict", "runs", `UPDATE runs SET verdict = 'out-of-control', body = jsonb_set(body, '{verdict}', '"out-of-control"') WHERE id = '` + second.ID + `'`,
			[]string{second.ID, plover.String(), "changed after it was sealed", "verdict"}},
		{"a note", "entries", `UPDATE entries SET body = '{"text":"the lamp was off"}' WHERE what = 'note'`,
			[]string{first.ID, plover.String(), "entry", "body", "leaf"}},
		{"who noted", "entries", `UPDATE entries SET by = 'nobody' WHERE what = 'note'`, []string{first.ID, "by"}},
		{"a run put in", "runs", `INSERT INTO runs SELECT * FROM (SELECT (jsonb_populate_record(r, '{"id":"forged"}')).* FROM runs r LIMIT 1) f`,
			[]string{"forged"}},
		{"an entry put in", "entries", `INSERT INTO entries VALUES ('forged', -1, 'tern-street/plover', '', 'note', now(), now(), 'x', '{"text":"x"}')`,
			[]string{"forged", "not in the log"}},
		{"a record removed", "records", `DELETE FROM records WHERE run = '` + second.ID + `'`, []string{second.ID, "missing"}},
		{"an old record removed", "records", `DELETE FROM records WHERE run = '` + first.ID + `' AND supersedes IS NULL`, []string{first.ID, "missing"}},
	} {
		x.exec(c.sql)
		v := m.verify(records.VerifyOptions{})
		var all []string
		for _, p := range v.Problems {
			all = append(all, p.String())
		}
		text := strings.Join(all, "\n")
		for _, s := range c.says {
			if !strings.Contains(text, s) {
				t.Errorf("%s: not said: %q; found:\n%s", c.what, s, text)
			}
		}
		x.restore(c.table)
	}
}

// Where a record and its stored hash are gone the leaf alone tells the hash to
// go on with: what is missing is named, and nothing above it looks changed.
func oneOfThreeIsLeft(t *testing.T, x tamper) {
	m := x.morning
	run := m.runs()[0].ID
	leaf := one[int64](t, m.conn, `SELECT leaf FROM records WHERE run = $1`, run)
	x.exec(`DELETE FROM records WHERE run = $1`, run)
	x.exec(`DELETE FROM log_hashes WHERE index = $1`, tlog.StoredHashIndex(0, leaf))
	x.exec(`DELETE FROM record_entries WHERE leaf = (SELECT min(leaf) FROM record_entries)`)
	v := m.verify(records.VerifyOptions{})
	if !names(v, "is missing") || names(v, "was changed") || names(v, "root") {
		t.Errorf("found: %v", v.Problems)
	}
	of := map[string]string{} // the run that the place of a problem names
	for _, p := range v.Problems {
		for _, what := range []string{"the sealed record of run", "the sealed entry"} {
			if strings.HasPrefix(p.Text, what) {
				of[what] = p.Run
			}
		}
	}
	if want := map[string]string{"the sealed record of run": run, "the sealed entry": ""}; !maps.Equal(of, want) {
		t.Errorf("the runs named %v; want %v", of, want)
	}
	for _, table := range []string{"records", "record_entries", "log_hashes"} {
		x.restore(table)
	}
}

// Somebody who can write to the database and makes everything fit again is
// found out by the key, and who has a key of their own by the trusted key and
// by any checkpoint that was kept elsewhere.
func forged(t *testing.T, x tamper) {
	m := x.morning
	kept := one[string](t, m.conn, `SELECT note FROM log_checkpoints ORDER BY size DESC LIMIT 1`)
	private, err := seal.NewKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	other, err := seal.ParseKey(private)
	if err != nil {
		t.Fatal(err)
	}
	// the whole log again, with a verdict that suits the forger better
	for _, table := range []string{"records", "record_entries", "log_leaves", "log_hashes", "log_checkpoints", "log_keys"} {
		x.exec(`DELETE FROM ` + table)
	}
	x.exec(`UPDATE runs SET body = body - 'seal'`)
	x.exec(`SET session_replication_role = origin`)
	x.exec(`UPDATE runs SET verdict = 'inspect', body = jsonb_set(body, '{verdict}', '"inspect"')`)
	x.exec(`UPDATE runs SET verdict = 'in-control', body = jsonb_set(body, '{verdict}', '"in-control"')`)
	mine := m.key
	m.key = other
	m.sealAll()
	m.key = mine

	own := m.verify(records.VerifyOptions{Keys: []string{other.Verifier()}})
	if len(own.Problems) > 0 {
		t.Errorf("the forged log does not even hold by itself: %v", own.Problems)
	}
	if v := m.verify(records.VerifyOptions{}); !names(v, "not signed with the key given") {
		t.Errorf("with the lab's key: %v", v.Problems)
	}
	v := m.verify(records.VerifyOptions{Keys: []string{other.Verifier(), mine.Verifier()}, Kept: map[string]string{"the safe": kept}})
	if !names(v, "the safe") {
		t.Errorf("with a checkpoint that was kept: %v", v.Problems)
	}
}

// A log from which the end was taken, with all that speaks of it, holds by
// itself: only a checkpoint that was kept elsewhere shows it.
func cutShort(t *testing.T, x tamper) {
	m := x.morning
	kept := one[string](t, m.conn, `SELECT note FROM log_checkpoints ORDER BY size DESC LIMIT 1`)
	before := one[string](t, m.conn, `SELECT note FROM log_checkpoints ORDER BY size LIMIT 1`)
	first := one[int64](t, m.conn, `SELECT min(arrival) FROM record_entries e JOIN log_checkpoints c ON c.size > e.leaf WHERE e.leaf > 2`)
	from := one[int64](t, m.conn, `SELECT leaf FROM record_entries WHERE arrival = $1`, first)
	x.exec(`DELETE FROM entries WHERE arrival >= $1`, first)
	x.exec(`DELETE FROM record_entries WHERE leaf >= $1`, from)
	x.exec(`DELETE FROM records WHERE leaf >= $1`, from)
	x.exec(`DELETE FROM log_leaves WHERE leaf >= $1`, from)
	x.exec(`DELETE FROM log_checkpoints WHERE size > $1`, from)
	x.exec(`DELETE FROM log_hashes WHERE index >= $1`, tlog.StoredHashCount(from))
	if v := m.verify(records.VerifyOptions{Kept: map[string]string{"the safe": kept}}); !names(v, "checkpoint of the safe") || !names(v, "cut short") {
		t.Errorf("found: %v", v.Problems)
	}
	if v := m.verify(records.VerifyOptions{Kept: map[string]string{"the safe": before}}); names(v, "the safe") {
		t.Errorf("an older checkpoint still holds; found: %v", v.Problems)
	}
	for _, table := range sealedTables {
		x.restore(table)
	}
}

func names(v records.Verified, what string) bool {
	return slices.ContainsFunc(v.Problems, func(p records.Problem) bool { return strings.Contains(p.Text, what) })
}

// A record says by its hash which one it supersedes: one that names the right
// place and another record is found out.
func TestSupersededHash(t *testing.T) {
	t.Parallel()
	m := sealedMorning(t)
	first := m.runs()[1]
	rec := m.headOf(first.ID)
	if rec.Supersedes == nil {
		t.Fatal("the record of the first run supersedes none")
	}
	h := seal.LeafHash([]byte("another record"))
	rec.Supersedes.Hash = h.String()
	b, err := rec.Encode()
	if err != nil {
		t.Fatal(err)
	}
	packed := records.Pack(b)
	x := newTamper(t, m)
	x.exec(`UPDATE records SET packed = $1, packed_hash = sha256($1), size = $2 WHERE run = $3 AND supersedes IS NOT NULL`, packed, len(b), first.ID)
	if v := m.verify(records.VerifyOptions{}); !names(v, "supersedes another record") {
		t.Errorf("found: %v", v.Problems)
	}
	x.restore("records")
	if v := m.verify(records.VerifyOptions{}); len(v.Problems) > 0 {
		t.Errorf("found in the whole log: %v", v.Problems)
	}
}
