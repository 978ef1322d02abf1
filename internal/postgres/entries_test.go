package postgres_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

func entry(u lab.UnitID, what string, body any) lab.Entry {
	e := lab.Entry{Unit: u, What: what, By: "robin"}
	if body != nil {
		e.Body, _ = json.Marshal(body)
	}
	return e
}

func ofRun(id, what string, body any) lab.Entry {
	e := entry(plover, what, body)
	e.RunID = id
	return e
}

func mustEnter(t testing.TB, store *postgres.Store, e lab.Entry) lab.Entry {
	t.Helper()
	kept, err := store.AppendEntry(t.Context(), e)
	if err != nil {
		t.Fatal(err)
	}
	return kept
}

func takeBack(id string) lab.Entry {
	return entry(lab.UnitID{}, lab.EntryTakesBack, lab.TakesBack{ID: id})
}

// What people enter comes to the worker in one order with telemetry, as it
// was entered, and wakes it.
func TestEntriesAreArrivals(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	mustAppend(t, store, term, temp(plover, "b1", 1, noon, 38))
	wake := store.Wake()
	for drained := false; !drained; {
		select {
		case <-wake:
		default:
			drained = true
		}
	}
	e := mustEnter(t, store, entry(plover, lab.EntryContainer, lab.ContainerEvent{Container: "waste", What: lab.Emptied}))
	labtest.Receive(t, wake, "a wake-up after an entry")
	mustAppend(t, store, term, temp(plover, "b1", 2, noon, 38))
	got, err := store.ArrivalsAfter(t.Context(), 0, 10)
	if err != nil || len(got) != 3 || got[1].Entry == nil {
		t.Fatalf("arrivals %v, %v; want message, entry, message", got, err)
	}
	if diff := cmp.Diff(e, *got[1].Entry); diff != "" || e.Arrival != 2 || e.ID == "" || !e.At.Equal(e.Entered) {
		t.Errorf("kept %+v (-want +got):\n%s", e, diff)
	}
	if got, err = store.ArrivalsAfter(t.Context(), 1, 1); err != nil || len(got) != 1 || got[0].Entry == nil {
		t.Errorf("one after 1: %v, %v; want the entry", got, err)
	}
	of, err := store.UnitEntries(t.Context(), plover, 2)
	if diff := cmp.Diff([]lab.Entry{e}, of); diff != "" || err != nil {
		t.Errorf("plover from 2: %v (-want +got):\n%s", err, diff)
	}
	if of, err = store.UnitEntries(t.Context(), plover, 3); err != nil || len(of) != 0 {
		t.Errorf("plover from 3: %v, %v; want none", of, err)
	}
}

// People enter things while telemetry comes in, through two programs: a
// reader that follows by number misses nothing.
func TestEntryNumbersRiseInTheOrderOfCommits(t *testing.T) {
	t.Parallel()
	url := pgtest.New(t)
	store := pgtest.Store(t, postgres.Config{URL: url, Decode: decode})
	other := pgtest.Store(t, postgres.Config{URL: url, Decode: decode})
	term := pgtest.Lease(t, store)
	const each = 25
	var wg sync.WaitGroup
	for w, by := range []*postgres.Store{store, other} {
		wg.Go(func() {
			for i := range each {
				e := entry(plover, lab.EntryNote, lab.Note{Text: fmt.Sprint(w, i)})
				if _, err := by.AppendEntry(t.Context(), e); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Go(func() {
		for i := range each {
			if _, err := store.Append(t.Context(), term, []lab.Message{temp(heron, "b", int64(i+1), noon, 38)}, nil); err != nil {
				t.Error(err)
			}
		}
	})
	var cursor int64
	for deadline := time.Now().Add(time.Minute); cursor < 3*each && time.Now().Before(deadline) && !t.Failed(); {
		list, err := store.ArrivalsAfter(t.Context(), cursor, 4)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range list {
			if a.Number() != cursor+1 {
				t.Fatalf("number %d after %d", a.Number(), cursor)
			}
			cursor++
		}
	}
	wg.Wait()
	if cursor != 3*each {
		t.Errorf("the reader saw %d of %d", cursor, 3*each)
	}
}

// A button that is pressed twice counts once; said again later, it counts
// again; taken back within the two seconds, it may be pressed anew.
func TestPressedTwiceCountsOnce(t *testing.T) {
	t.Parallel()
	clock := labtest.NewClock(noon)
	store := pgtest.Store(t, postgres.Config{URL: pgtest.New(t), Clock: clock})
	topUp := entry(plover, lab.EntryContainer, lab.ContainerEvent{Container: "wash", What: lab.ToppedUp})
	first := mustEnter(t, store, topUp)
	clock.Advance(time.Second)
	if again := mustEnter(t, store, topUp); again.ID != first.ID || again.Arrival != first.Arrival {
		t.Errorf("pressed twice: %+v; want the first, %+v", again, first)
	}
	byAnother := topUp
	byAnother.By = "wren"
	if e := mustEnter(t, store, byAnother); e.ID == first.ID {
		t.Error("another person's press was taken for the first one's")
	}
	mustEnter(t, store, takeBack(first.ID))
	anew := mustEnter(t, store, topUp)
	if anew.ID == first.ID {
		t.Error("what was taken back stands for a new press")
	}
	clock.Advance(3 * time.Second)
	later := mustEnter(t, store, topUp)
	if later.ID == anew.ID {
		t.Error("two top-ups three seconds apart were taken for one")
	}
	topUp.ID = "press-1"
	named := mustEnter(t, store, topUp)
	clock.Advance(time.Hour)
	if again := mustEnter(t, store, topUp); again.ID != named.ID || !again.Entered.Equal(named.Entered) {
		t.Errorf("the same request an hour later: %+v; want the first", again)
	}
	topUp.Body = json.RawMessage(`{"container":"waste","what":"emptied"}`)
	if _, err := store.AppendEntry(t.Context(), topUp); lab.KindOf(err) != lab.KindConflict {
		t.Errorf("other content under the same id: %v; want a conflict", err)
	}
}

func TestEntriesAreTakenBackOnce(t *testing.T) {
	t.Parallel()
	store, _, _ := held(t)
	note := mustEnter(t, store, entry(plover, lab.EntryNote, lab.Note{Text: "the hose drips"}))
	probe := mustEnter(t, store, entry(plover, lab.EntryProbe, lab.ProbeCheck{OffsetC: 0.2}))
	back := mustEnter(t, store, takeBack(note.ID))
	if back.Unit != plover || back.What != lab.EntryTakesBack {
		t.Errorf("taken back: %+v", back)
	}
	if again := mustEnter(t, store, takeBack(note.ID)); again.ID != back.ID {
		t.Errorf("taken back twice: %+v; want %+v", again, back)
	}
	for id, want := range map[string]lab.Kind{"none": lab.KindNotFound, "no\x00ne": lab.KindNotFound, back.ID: lab.KindConflict} {
		if _, err := store.AppendEntry(t.Context(), takeBack(id)); lab.KindOf(err) != want {
			t.Errorf("take back %q: %v; want kind %d", id, err, want)
		}
	}
	all, err := store.Entries(t.Context(), lab.EntryFilter{Unit: plover.String()})
	if err != nil || len(all) != 3 || len(lab.InForce(all)) != 1 || lab.InForce(all)[0].ID != probe.ID {
		t.Errorf("entries %v, %v; want three, of which the probe check holds", all, err)
	}
	for name, c := range map[string]struct {
		f    lab.EntryFilter
		want []string
	}{
		"notes with what takes them back": {lab.EntryFilter{What: []string{lab.EntryNote}}, []string{note.ID, back.ID}},
		"probe checks":                    {lab.EntryFilter{What: []string{lab.EntryProbe}}, []string{probe.ID}},
		"the newest":                      {lab.EntryFilter{Limit: 2}, []string{probe.ID, back.ID}},
		"of another unit":                 {lab.EntryFilter{Unit: heron.String()}, nil},
		"since tomorrow":                  {lab.EntryFilter{Since: back.Entered.Add(24 * time.Hour)}, nil},
	} {
		list, err := store.Entries(t.Context(), c.f)
		var ids []string
		for _, e := range list {
			ids = append(ids, e.ID)
		}
		if diff := cmp.Diff(c.want, ids); diff != "" || err != nil {
			t.Errorf("%s: %v (-want +got):\n%s", name, err, diff)
		}
	}
	if e, err := store.Entry(t.Context(), note.ID); err != nil || e.By != "robin" {
		t.Errorf("entry: %+v, %v", e, err)
	}
	if _, err := store.Entry(t.Context(), "none"); lab.KindOf(err) != lab.KindNotFound {
		t.Errorf("entry none: %v; want not found", err)
	}
}

func TestEntriesAreAppendOnly(t *testing.T) {
	t.Parallel()
	store, _, conn := held(t)
	mustEnter(t, store, entry(plover, lab.EntryNote, lab.Note{Text: "the hose drips"}))
	for _, sql := range []string{`UPDATE entries SET by = 'wren'`, `DELETE FROM entries`, `TRUNCATE entries`} {
		if _, err := conn.Exec(t.Context(), sql); err == nil || !strings.Contains(err.Error(), "append-only") {
			t.Errorf("%s: %v; want it refused as append-only", sql, err)
		}
	}
}

func TestEntriesThatMakeNoSenseAreRefused(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	run := lab.Run{ID: "r1", Unit: plover.String(), Run: "1", Process: "c41", Kind: "film", StartedAt: lab.At(noon), Outcome: lab.OutcomeDone}
	if err := store.Commit(t.Context(), term, lab.Commit{Runs: []lab.Run{run}}); err != nil {
		t.Fatal(err)
	}
	decide := ofRun("r1", lab.EntryDecision, lab.Decision{Decision: "release"})
	other := decide
	other.Unit = heron
	for says, e := range map[string]lab.Entry{
		"there is no run": ofRun("none", lab.EntryDecision, lab.Decision{Decision: "release"}),
		"unit":            other,
		"no kind":         entry(plover, "wish", nil),
		"id of its":       entry(plover, lab.EntryDecision, lab.Decision{Decision: "release"}),
		"decision":        ofRun("r1", lab.EntryDecision, lab.Decision{Decision: "burn"}),
		"twin check":      ofRun("r1", lab.EntryRolls, lab.RollsChange{Add: []lab.Roll{{TwinCheck: "4 8"}}}),
		"twice":           entry(plover, lab.EntryLoad, lab.Load{Rolls: []lab.Roll{{TwinCheck: "a1"}, {TwinCheck: " A1"}}}),
		"set needs":       entry(plover, lab.EntryContainer, lab.ContainerEvent{Container: "waste", What: lab.SetLevel}),
		"must be one of":  entry(plover, lab.EntryContainer, lab.ContainerEvent{Container: "waste", What: "kicked"}),
		"does not re":     {Unit: plover, What: lab.EntryNote, By: "robin", Body: json.RawMessage(`{"text":7}`)},
		"not before":      ofRun("r1", lab.EntryTurned, lab.Turned{From: lab.At(noon), To: lab.AtPtr(noon)}),
		"who made it":     {Unit: plover, What: lab.EntryNote, Body: json.RawMessage(`{"text":"x"}`)},
		"NUL":             {Unit: plover, What: lab.EntryNote, By: "ro\x00bin", Body: json.RawMessage(`{"text":"x"}`)},
		"takes no bod":    entry(plover, lab.EntryUnload, lab.Note{Text: "x"}),
	} {
		_, err := store.AppendEntry(t.Context(), e)
		var known *lab.Error
		if !errors.As(err, &known) || known.Kind == lab.KindInternal || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v; want a refusal that says so", says, err)
		}
	}
	if n := one[int](t, conn, `SELECT count(*) FROM entries`); n != 0 {
		t.Errorf("%d entries are kept; want none", n)
	}
	if n := one[int64](t, conn, `SELECT last FROM arrival_counter`); n != 0 {
		t.Errorf("%d arrival numbers were used up; want none", n)
	}
}
