package records_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"wetside/internal/lab"
)

// yearOfRuns is what a lab of six units does in a year.
const yearOfRuns = 20_000

// BenchmarkYear reads runs out of a database with a year of them in it: a
// bare read by primary key as the ceiling, the report of any run, one that
// something was entered for after it was sealed, and the runs that carried a
// roll.
func BenchmarkYear(b *testing.B) {
	m := newMorning(b)
	m.work(130*tMinute, nil)
	m.sealAll()
	m.fillYear(b)
	late := one[string](b, m.conn, `SELECT id FROM runs ORDER BY id LIMIT 1`)
	m.enter(lab.Entry{RunID: late, What: lab.EntryNote, Body: asJSON(b, lab.Note{Text: "scanned"})})
	seen := one[string](b, m.conn, `SELECT id FROM runs ORDER BY id OFFSET 1 LIMIT 1`)
	m.enter(lab.Entry{RunID: seen, What: lab.EntrySymptom, Body: asJSON(b, lab.Symptom{Seen: "thin"})})
	reports := m.reports()
	n := rand.New(rand.NewPCG(1, 2))
	id := func() string { return fmt.Sprintf("copy-%d", n.IntN(yearOfRuns)) }
	report := func(b *testing.B, id func() string) {
		for b.Loop() {
			if _, err := reports.Report(b.Context(), id()); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.Run("bare read by primary key", func(b *testing.B) {
		for b.Loop() {
			var body []byte
			if err := m.conn.QueryRow(b.Context(), `SELECT body FROM runs WHERE id = $1`, id()).Scan(&body); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("bare read of the record", func(b *testing.B) {
		bytes := 0
		for b.Loop() {
			var packed []byte
			if err := m.conn.QueryRow(b.Context(), `SELECT packed FROM records WHERE leaf = $1`, 2+n.IntN(yearOfRuns)).Scan(&packed); err != nil {
				b.Fatal(err)
			}
			bytes += len(packed)
		}
		b.ReportMetric(float64(bytes)/float64(b.N), "B/record")
	})
	b.Run("report of any run", func(b *testing.B) { report(b, id) })
	b.Run("report with a later note", func(b *testing.B) { report(b, func() string { return late }) })
	b.Run("report with a later fault", func(b *testing.B) { report(b, func() string { return seen }) })
	b.Run("runs of a roll", func(b *testing.B) {
		for b.Loop() {
			runs, err := m.store.Runs(b.Context(), lab.RunFilter{Roll: fmt.Sprint(40_000 + n.IntN(yearOfRuns))})
			if err != nil || len(runs) != 1 {
				b.Fatalf("%d runs, %v", len(runs), err)
			}
		}
	})
}

// fillYear copies a sealed run to a year of them, each with a roll.
func (m *morning) fillYear(b *testing.B) {
	b.Helper()
	for _, sql := range []string{
		`SET session_replication_role = replica`,
		`INSERT INTO runs (id, unit, run, process, push, kind, started_at, ended_at, outcome, verdict, rolls, loaded, folded_kind, body)
		 SELECT 'copy-' || n, unit, 'copy-' || n, process, push, kind, started_at - n * interval '26 minutes', ended_at, outcome, verdict,
			ARRAY[(40000 + n)::text], loaded, folded_kind,
			body || jsonb_build_object('id', 'copy-' || n, 'rolls', jsonb_build_array(jsonb_build_object('twin_check', (40000 + n)::text)))
		 FROM (SELECT * FROM runs ORDER BY id LIMIT 1) r, generate_series(0, ` + fmt.Sprint(yearOfRuns-1) + `) n`,
		`INSERT INTO log_leaves SELECT 2 + n, 'run', 'copy-' || n, l.hash FROM log_leaves l, generate_series(0, ` + fmt.Sprint(yearOfRuns-1) + `) n WHERE l.leaf = 0`,
		`INSERT INTO records SELECT 2 + n, 'copy-' || n, unit, process, push, started_at - n * interval '26 minutes', sealed_at,
			supersedes, good, features, size, packed_hash, packed
		 FROM records r, generate_series(0, ` + fmt.Sprint(yearOfRuns-1) + `) n WHERE leaf = 0`,
		`SET session_replication_role = origin`,
		`ANALYZE`,
	} {
		if _, err := m.conn.Exec(b.Context(), sql); err != nil {
			b.Fatalf("%s: %v", sql, err)
		}
	}
}
