package postgres_test

import (
	"fmt"
	"testing"
	"time"

	"wetside/internal/lab"
)

// A year of runs: what a search takes beside a bare read by primary key.
func BenchmarkFindRuns(b *testing.B) {
	store, term, conn := held(b)
	const runs, each = 20_000, 500
	for at := 0; at < runs; at += each {
		var list []lab.Run
		for i := at; i < at+each; i++ {
			verdict := lab.InControl
			r := lab.Run{ID: fmt.Sprint("run-", i), Unit: plover.String(), Run: fmt.Sprintf("%05d", i), Process: "c41", Kind: "film",
				StartedAt: lab.At(noon.Add(time.Duration(i) * 25 * time.Minute)), Outcome: lab.OutcomeDone, Verdict: &verdict}
			for k := range 6 {
				r.Rolls = append(r.Rolls, lab.Roll{TwinCheck: fmt.Sprint(100_000 + 6*i + k), Order: fmt.Sprint("B-", i)})
			}
			r.Steps = make([]lab.RunStep, 6)
			list = append(list, r)
		}
		if err := store.Commit(b.Context(), term, lab.Commit{Runs: list}); err != nil {
			b.Fatal(err)
		}
	}
	if _, err := conn.Exec(b.Context(), `ANALYZE runs`); err != nil {
		b.Fatal(err)
	}
	b.Run("by key, body only", func(b *testing.B) {
		for b.Loop() {
			one[[]byte](b, conn, `SELECT body FROM runs WHERE id = $1`, "run-777")
		}
	})
	for name, f := range map[string]lab.RunFilter{
		"roll": {Roll: "104662"}, "order": {Order: "B-777"}, "anything": {Query: "104662"}, "name": {Query: "0077"},
		"nothing": {Query: "none such"}, "newest hundred": {}, "undecided of a day": {Decision: lab.Undecided, From: noon.Add(2400 * time.Hour), To: noon.Add(2424 * time.Hour)},
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := store.Runs(b.Context(), f); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
