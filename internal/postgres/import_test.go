package postgres_test

import (
	"testing"
	"time"

	"wetside/internal/lab"
)

// History stands beside what is watched live: exported and traced, but never
// given to the worker, whichever came first.
func TestImportStaysOutOfTheWorkersWay(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	mustAppend(t, store, term, temp(plover, "live", 1, noon, 38))
	past := []lab.Message{temp(plover, "past", 1, noon.Add(-time.Hour), 38), temp(plover, "past", 2, noon.Add(-time.Hour), 38),
		temp(plover, "live", 1, noon, 38)}
	bad := []lab.Quarantined{{Received: noon, Topic: "t", Reason: "topic: bad"}}
	res, err := store.Import(t.Context(), past, bad)
	if err != nil || res.New != 2 || res.Copies != 1 || res.Quarantined != 1 {
		t.Fatalf("import: %+v, %v; want two new, one copy, one quarantined", res, err)
	}
	mustAppend(t, store, term, temp(plover, "live", 2, noon, 38))
	got, err := store.ArrivalsAfter(t.Context(), 0, 10)
	if err != nil || len(got) != 2 || got[0].Message.Boot != "live" || got[1].Message.Boot != "live" {
		t.Errorf("the worker gets %v, %v; want what came live", got, err)
	}
	n := 0
	if err := store.Export(t.Context(), lab.ExportFilter{}, func(lab.Raw) error { n++; return nil }); err != nil || n != 4 {
		t.Errorf("%d exported, %v; want 4", n, err)
	}
	run := lab.Run{ID: "r1", Unit: plover.String(), Run: "1", Process: "c41", Kind: "film", StartedAt: lab.At(noon), Outcome: lab.OutcomeDone}
	if err := store.Commit(t.Context(), term, lab.Commit{Runs: []lab.Run{run}}); err != nil {
		t.Fatal(err)
	}
	run.Outcome = lab.OutcomeLost
	if err := store.CommitImported(t.Context(), lab.Commit{Runs: []lab.Run{run}}); err != nil {
		t.Fatal(err)
	}
	if got := one[string](t, conn, `SELECT outcome FROM runs`); got != lab.OutcomeDone {
		t.Errorf("an import changed a live run to %q", got)
	}
	err = store.CommitImported(t.Context(), lab.Commit{States: []lab.UnitState{{Unit: plover}}})
	if lab.KindOf(err) != lab.KindInvalid {
		t.Errorf("an import of states: %v; want it refused", err)
	}
}
