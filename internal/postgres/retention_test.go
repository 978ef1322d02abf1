package postgres_test

import (
	"testing"
	"time"

	"wetside/internal/lab"
)

// Old telemetry goes once its runs are sealed, and not before; the young and
// what lies in the default partition stays.
func TestDropTelemetry(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	ctx := t.Context()
	old, young := noon, noon.AddDate(0, 0, 10)
	if err := store.EnsurePartitions(ctx, old, young); err != nil {
		t.Fatal(err)
	}
	mustAppend(t, store, term, temp(plover, "b", 1, old, 38), temp(plover, "b", 2, young, 38), temp(plover, "b", 3, old.AddDate(-3, 0, 0), 38))
	run := lab.Run{ID: "r1", Unit: plover.String(), Run: "1", Process: "c41", Kind: "film", StartedAt: lab.At(old), EndedAt: lab.AtPtr(old.Add(time.Hour)), Outcome: lab.OutcomeDone}
	if err := store.Commit(ctx, term, lab.Commit{Runs: []lab.Run{run}}); err != nil {
		t.Fatal(err)
	}
	drop := func() []time.Time {
		t.Helper()
		days, err := store.DropTelemetry(ctx, term, old.AddDate(0, 0, 2))
		if err != nil {
			t.Fatal(err)
		}
		return days
	}
	if days := drop(); len(days) != 0 {
		t.Errorf("dropped %v before the run was sealed", days)
	}
	hash := make([]byte, 32)
	err := store.AppendLog(ctx, term, lab.LogAppend{
		Leaves:     []lab.LogLeaf{{Leaf: 0, Kind: "run", Subject: "r1", Hash: hash}},
		Hashes:     []lab.LogHash{{Index: 0, Hash: hash}},
		Checkpoint: "c", Verifier: "v",
		Records: []lab.StoredRecord{{RunID: "r1", Unit: plover.String(), Process: "c41", StartedAt: old, SealedAt: young, PackedHash: hash, Packed: hash}},
		Sealed:  []lab.SealedRun{{RunID: "r1", Changes: 1}},
	})
	if err != nil {
		t.Fatal(err)
	}
	if days := drop(); len(days) == 0 {
		t.Error("nothing dropped though the run is sealed")
	}
	if n := one[int](t, conn, `SELECT count(*) FROM telemetry`); n != 2 {
		t.Errorf("%d messages are left; want the young one and the one without a day of its own", n)
	}
	if days := drop(); len(days) != 0 {
		t.Errorf("dropped again: %v", days)
	}
	if _, err := store.DropTelemetry(ctx, term-1, young.AddDate(1, 0, 0)); lab.KindOf(err) != lab.KindConflict {
		t.Errorf("in a term that is over: %v", err)
	}
}

// A run that goes on after all, though it was sealed, waits for its true end.
func TestSealedRunThatGoesOn(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	hash := make([]byte, 32)
	run := lab.Run{ID: "r1", Unit: plover.String(), Run: "1", Process: "c41", Kind: "film", StartedAt: lab.At(noon), EndedAt: lab.AtPtr(noon.Add(time.Hour)), Outcome: lab.OutcomeLost}
	commit := func() {
		t.Helper()
		if err := store.Commit(t.Context(), term, lab.Commit{Runs: []lab.Run{run}}); err != nil {
			t.Fatal(err)
		}
	}
	due := func() int {
		t.Helper()
		list, err := store.RecordsDue(t.Context(), time.Now().Add(48*time.Hour), lab.RecordWaits{}, 10)
		if err != nil {
			t.Fatal(err)
		}
		return len(list)
	}
	commit()
	if n := due(); n != 1 {
		t.Errorf("%d records due after the run ended; want 1", n)
	}
	err := store.AppendLog(t.Context(), term, lab.LogAppend{
		Leaves: []lab.LogLeaf{{Leaf: 0, Kind: "run", Subject: "r1", Hash: hash}}, Hashes: []lab.LogHash{{Index: 0, Hash: hash}}, Checkpoint: "c", Verifier: "v",
		Records: []lab.StoredRecord{{RunID: "r1", StartedAt: noon, SealedAt: noon, PackedHash: hash, Packed: hash}},
		Sealed:  []lab.SealedRun{{RunID: "r1", Changes: 1, Seal: lab.SealBrief{Hash: "h"}}},
	})
	if err != nil {
		t.Fatal(err)
	}
	if got, err := store.Run(t.Context(), "r1"); err != nil || got.Seal == nil || got.Seal.Hash != "h" || due() != 0 {
		t.Errorf("sealed: %+v, %v", got.Seal, err)
	}
	ended := run.EndedAt
	run.Outcome, run.EndedAt = lab.OutcomeRunning, nil
	commit()
	if n := one[int](t, conn, `SELECT count(*) FROM record_queue`); n != 1 || due() != 0 {
		t.Errorf("%d runs wait while it goes on; want it to wait and not to be due", n)
	}
	run.Outcome, run.EndedAt = lab.OutcomeDone, ended
	commit()
	if n := due(); n != 1 {
		t.Errorf("%d records due after its true end; want 1", n)
	}
}

// The tables of records take rows and give none back.
func TestRecordsAreAppendOnly(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	hash := make([]byte, 32)
	a := lab.LogAppend{
		Leaves:     []lab.LogLeaf{{Leaf: 0, Kind: "run", Subject: "r1", Hash: hash}, {Leaf: 1, Kind: "entry", Subject: "e1", Hash: hash}},
		Hashes:     []lab.LogHash{{Index: 0, Hash: hash}},
		Checkpoint: "c", Verifier: "v",
		Records: []lab.StoredRecord{{RunID: "r1", StartedAt: noon, SealedAt: noon, PackedHash: hash, Packed: hash}},
		Entries: []lab.StoredEntry{{Leaf: 1, Entry: "e1", Arrival: 1, Body: hash}},
	}
	if err := store.AppendLog(t.Context(), term, a); err != nil {
		t.Fatal(err)
	}
	if err := store.AppendLog(t.Context(), term, a); lab.KindOf(err) != lab.KindUnavailable {
		t.Errorf("the same again: %v; want that the log has moved on", err)
	}
	if err := store.AppendLog(t.Context(), term-1, a); lab.KindOf(err) != lab.KindConflict {
		t.Errorf("in a term that is over: %v", err)
	}
	for table, column := range map[string]string{"log_leaves": "hash", "log_hashes": "hash", "log_checkpoints": "note",
		"log_keys": "verifier", "records": "packed", "record_entries": "body"} {
		for _, sql := range []string{`UPDATE ` + table + ` SET ` + column + ` = ` + column, `DELETE FROM ` + table, `TRUNCATE ` + table + ` CASCADE`} {
			if _, err := conn.Exec(t.Context(), sql); err == nil {
				t.Errorf("%s was allowed", sql)
			}
		}
	}
}

// A run that was sealed and waits to be sealed again keeps its day, and so
// does one whose record fails; neither keeps the days of others.
func TestDropWaitsForEachRunAlone(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	ctx := t.Context()
	days := map[string]time.Time{"waits-again": noon, "fails": noon.AddDate(0, 0, 10), "sealed": noon.AddDate(0, 0, 20)}
	log := lab.LogAppend{Checkpoint: "c", Verifier: "v"}
	for i, name := range []string{"waits-again", "fails", "sealed"} {
		at := days[name]
		if err := store.EnsurePartitions(ctx, at, at); err != nil {
			t.Fatal(err)
		}
		mustAppend(t, store, term, temp(plover, "b", int64(i+1), at, 38))
		run := lab.Run{ID: name, Unit: plover.String(), Run: name, Process: "c41", Kind: "film", StartedAt: lab.At(at), EndedAt: lab.AtPtr(at.Add(time.Hour)), Outcome: lab.OutcomeDone}
		if err := store.Commit(ctx, term, lab.Commit{Runs: []lab.Run{run}}); err != nil {
			t.Fatal(err)
		}
		if name == "fails" {
			continue
		}
		leaf := int64(len(log.Leaves))
		hash := make([]byte, 32)
		log.Leaves = append(log.Leaves, lab.LogLeaf{Leaf: leaf, Kind: "run", Subject: name, Hash: hash})
		log.Hashes = append(log.Hashes, lab.LogHash{Index: leaf, Hash: hash})
		log.Records = append(log.Records, lab.StoredRecord{Leaf: leaf, RunID: name, Unit: plover.String(), Process: "c41", StartedAt: at, SealedAt: at, PackedHash: hash, Packed: hash})
		log.Sealed = append(log.Sealed, lab.SealedRun{RunID: name, Changes: 1})
	}
	if err := store.AppendLog(ctx, term, log); err != nil {
		t.Fatal(err)
	}
	again := lab.Run{ID: "waits-again", Unit: plover.String(), Run: "waits-again", Process: "c41", Kind: "film", StartedAt: lab.At(noon),
		EndedAt: lab.AtPtr(noon.Add(2 * time.Hour)), Outcome: lab.OutcomeDone}
	if err := store.Commit(ctx, term, lab.Commit{Runs: []lab.Run{again}}); err != nil {
		t.Fatal(err)
	}
	due, err := store.RecordsDue(ctx, time.Now().Add(48*time.Hour), lab.RecordWaits{}, 10)
	if err != nil || len(due) != 2 {
		t.Fatalf("due: %+v, %v; want the one that waits again and the one that fails", due, err)
	}
	for _, d := range due {
		if d.RunID == "fails" {
			for range 2 {
				if err := store.PutOffRecord(ctx, d, time.Now().Add(time.Hour), "it fails"); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	failing, err := store.RecordsFailing(ctx, 10)
	if err != nil || len(failing) != 1 || failing[0].RunID != "fails" || failing[0].Failures != 2 || failing[0].Why != "it fails" || failing[0].Since.IsZero() {
		t.Errorf("failing: %+v, %v", failing, err)
	}
	dropped, err := store.DropTelemetry(ctx, term, noon.AddDate(0, 1, 0))
	if err != nil || len(dropped) == 0 {
		t.Fatalf("dropped %v, %v", dropped, err)
	}
	for name, want := range map[string]int{"waits-again": 1, "fails": 1, "sealed": 0} {
		if n := one[int](t, conn, `SELECT count(*) FROM telemetry WHERE sent_at = $1`, days[name]); n != want {
			t.Errorf("%s: %d messages are left; want %d", name, n, want)
		}
	}
}
