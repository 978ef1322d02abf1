package postgres_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

func checksOf(r lab.Run) string {
	var names []string
	for _, roll := range r.Rolls {
		names = append(names, roll.TwinCheck)
	}
	return strings.Join(names, " ")
}

// A run shows the rolls loaded before it and those scanned since, whatever
// comes first: the worker's next word or the scanner's.
func TestRunsCarryWhatWasEntered(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	run := lab.Run{ID: "r1", Unit: plover.String(), Run: "Batch_7", Process: "c41", Kind: "film", StartedAt: lab.At(noon), Outcome: lab.OutcomeRunning,
		Rolls: []lab.Roll{{TwinCheck: "101", Order: "A-8"}}}
	write := func() {
		t.Helper()
		if err := store.Commit(t.Context(), term, lab.Commit{Runs: []lab.Run{run}}); err != nil {
			t.Fatal(err)
		}
	}
	check := func(what, rolls, kind, decision string) {
		t.Helper()
		got, err := store.Run(t.Context(), "r1")
		if err != nil {
			t.Fatal(err)
		}
		decided := ""
		if got.Decision != nil {
			decided = got.Decision.Decision + " by " + got.Decision.By
		}
		if checksOf(got) != rolls || got.Kind != kind || decided != decision {
			t.Errorf("%s: rolls %q, kind %s, decision %q; want %q, %s, %q", what, checksOf(got), got.Kind, decided, rolls, kind, decision)
		}
	}
	write()
	run.Rolls = []lab.Roll{{TwinCheck: "101", Order: "A-9"}, {TwinCheck: "102", Order: "B-3"}}
	write()
	check("late evidence changed the load", "101 102", "film", "")
	scanned := mustEnter(t, store, ofRun("r1", lab.EntryRolls, lab.RollsChange{
		Add: []lab.Roll{{TwinCheck: "103"}, {TwinCheck: "102", Order: "C-1"}}, Remove: []string{"101"}}))
	check("scanned", "103 102", "film", "")
	write()
	check("the worker's next word", "103 102", "film", "")
	hold := mustEnter(t, store, ofRun("r1", lab.EntryDecision, lab.Decision{Decision: "hold"}))
	mustEnter(t, store, ofRun("r1", lab.EntryKindOfRun, lab.KindChange{Kind: "strip"}))
	check("decided", "103 102", "strip", "hold by robin")
	mustEnter(t, store, ofRun("r1", lab.EntryDecision, lab.Decision{Decision: "release", ToldAt: lab.AtPtr(noon)}))
	run.Outcome, run.Rolls = lab.OutcomeDone, []lab.Roll{{TwinCheck: "103"}, {TwinCheck: "102", Order: "C-1"}}
	write()
	check("the fold counts in what was scanned", "103 102", "strip", "release by robin")
	mustEnter(t, store, takeBack(scanned.ID))
	mustEnter(t, store, takeBack(hold.ID))
	check("scan taken back", "101 102", "strip", "release by robin")
	run.Rolls = nil
	write()
	check("a word that knows nothing of rolls", "101 102", "strip", "release by robin")

	if n := one[int](t, conn, `SELECT count(*) FROM runs WHERE orders = '{A-9,B-3}' AND decision = 'release' AND kind = 'strip' AND folded_kind = 'film'`); n != 1 {
		t.Error("the columns are not in step with the run")
	}
}

// A load entered for the run itself stands in the place of the one before it.
func TestRollsOf(t *testing.T) {
	t.Parallel()
	rolls := func(names ...string) (out []lab.Roll) {
		for _, n := range names {
			out = append(out, lab.Roll{TwinCheck: n})
		}
		return out
	}
	for name, c := range map[string]struct {
		entries []lab.Entry
		want    string
	}{
		"nothing entered":         {nil, "1 2"},
		"loaded for the run":      {[]lab.Entry{ofRun("r", lab.EntryLoad, lab.Load{Rolls: rolls("7")})}, "7"},
		"unscanned is not loaded": {[]lab.Entry{ofRun("r", lab.EntryRolls, lab.RollsChange{Remove: []string{"9"}})}, "1 2"},
		"emptied":                 {[]lab.Entry{ofRun("r", lab.EntryRolls, lab.RollsChange{Remove: []string{"1", "2"}})}, ""},
		"out and in again": {[]lab.Entry{ofRun("r", lab.EntryRolls, lab.RollsChange{Remove: []string{"1"}}),
			ofRun("r", lab.EntryRolls, lab.RollsChange{Add: rolls("1")})}, "2 1"},
	} {
		if got := checksOf(lab.Run{Rolls: lab.RollsOf(rolls("1", "2"), c.entries)}); got != c.want {
			t.Errorf("%s: %q; want %q", name, got, c.want)
		}
	}
}

func TestRunsAreFoundByWhatTheyCarry(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	run := func(id, name string, after time.Duration, rolls ...lab.Roll) lab.Run {
		return lab.Run{ID: id, Unit: plover.String(), Run: name, Process: "c41", Kind: "film", StartedAt: lab.At(noon.Add(after)), Outcome: lab.OutcomeDone, Rolls: rolls}
	}
	runs := []lab.Run{run("r1", "Batch_7", 0, lab.Roll{TwinCheck: "101", Order: "a-9"}), run("r2", "batch-8", time.Hour, lab.Roll{TwinCheck: "A102", Order: "101"}),
		run("r3", "101-x", 2*time.Hour)}
	if err := store.Commit(t.Context(), term, lab.Commit{Runs: runs}); err != nil {
		t.Fatal(err)
	}
	mustEnter(t, store, ofRun("r3", lab.EntryDecision, lab.Decision{Decision: "hold"}))
	for name, c := range map[string]struct {
		f    lab.RunFilter
		want string
	}{
		"roll":            {lab.RunFilter{Roll: " a102 "}, "r2"},
		"order":           {lab.RunFilter{Order: "A-9"}, "r1"},
		"anything":        {lab.RunFilter{Query: "101"}, "r3 r2 r1"},
		"name":            {lab.RunFilter{Query: "BATCH"}, "r2 r1"},
		"name, to itself": {lab.RunFilter{Query: "batch_"}, "r1"},
		"nothing of LIKE": {lab.RunFilter{Query: "%"}, ""},
		"decision":        {lab.RunFilter{Decision: "hold"}, "r3"},
		"undecided":       {lab.RunFilter{Decision: lab.Undecided}, "r2 r1"},
		"oldest first":    {lab.RunFilter{OldestFirst: true, Limit: 2}, "r1 r2"},
		"all of it":       {lab.RunFilter{Roll: "101", Order: "A-9", Query: "batch", Unit: plover.String(), Process: "c41", Decision: "none"}, "r1"},
		"NUL":             {lab.RunFilter{Query: "a\x00"}, ""},
	} {
		list, err := store.Runs(t.Context(), c.f)
		var ids []string
		for _, r := range list {
			ids = append(ids, r.ID)
		}
		if got := strings.Join(ids, " "); got != c.want || err != nil {
			t.Errorf("%s: %q, %v; want %q", name, got, err, c.want)
		}
	}
}

// An export carries each entry at its place; what sets the figures that runs
// are judged by goes with every part of it.
func TestExportWithEntries(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	probe := mustEnter(t, store, entry(plover, lab.EntryProbe, lab.ProbeCheck{OffsetC: 0.2}))
	mustEnter(t, store, entry(heron, lab.EntryNote, lab.Note{Text: "of another unit"}))
	gone := mustEnter(t, store, entry(plover, lab.EntryContainer, lab.ContainerEvent{Container: "waste", What: lab.Emptied}))
	mustAppend(t, store, term, temp(plover, "b1", 1, noon, 38))
	back := mustEnter(t, store, takeBack(gone.ID))
	mustAppend(t, store, term, temp(plover, "b1", 2, noon.Add(time.Second), 38))
	topics := func(f lab.ExportFilter) (out []string, entries []lab.Entry) {
		t.Helper()
		err := store.Export(t.Context(), f, func(raw lab.Raw) error {
			out = append(out, raw.Topic[strings.LastIndex(raw.Topic, "/")+1:])
			if lab.IsEntryTopic(raw.Topic) {
				e, err := lab.EntryOf(raw)
				if err != nil {
					return err
				}
				entries = append(entries, e)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		return out, entries
	}
	if got, _ := topics(lab.ExportFilter{}); !slices.Equal(got, []string{"temp", "temp"}) {
		t.Errorf("without entries: %v", got)
	}
	got, entries := topics(lab.ExportFilter{Unit: plover.String(), Entries: true})
	if !slices.Equal(got, []string{"entry", "entry", "temp", "entry", "temp"}) {
		t.Errorf("with entries: %v", got)
	}
	for i, want := range []lab.Entry{probe, gone, back} {
		want.Arrival = 0
		if diff := cmp.Diff(want, entries[i]); diff != "" {
			t.Errorf("entry %d (-want +got):\n%s", i, diff)
		}
	}
	_, entries = topics(lab.ExportFilter{Unit: plover.String(), Entries: true, From: time.Now().Add(24 * time.Hour)})
	if len(entries) != 1 || entries[0].ID != probe.ID {
		t.Errorf("of tomorrow: %v; want the probe check", entries)
	}

	// into another database, twice
	copied := pgtest.Store(t, postgres.Config{URL: pgtest.New(t), Decode: decode})
	_, all := topics(lab.ExportFilter{Entries: true})
	for pass, want := range []int{4, 0} {
		if n, err := copied.ImportEntries(t.Context(), all); n != want || err != nil {
			t.Errorf("import %d: %d new, %v; want %d", pass+1, n, err, want)
		}
	}
	if list, err := copied.ArrivalsAfter(t.Context(), 0, 10); err != nil || len(list) != 0 {
		t.Errorf("the worker gets %v of imported entries, %v; want none", list, err)
	}
	list, err := copied.Entries(t.Context(), lab.EntryFilter{Unit: plover.String()})
	if err != nil || len(list) != 3 || !list[0].Imported || !bytes.Equal(list[0].Body, probe.Body) {
		t.Errorf("imported: %+v, %v", list, err)
	}
}

// A decision that came with history shows on a run of history, and on no run
// that was watched live.
func TestImportedEntriesOfRuns(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	live := lab.Run{ID: "live", Unit: plover.String(), Run: "1", Process: "c41", Kind: "film", StartedAt: lab.At(noon), Outcome: lab.OutcomeDone}
	if err := store.Commit(t.Context(), term, lab.Commit{Runs: []lab.Run{live}}); err != nil {
		t.Fatal(err)
	}
	var entries []lab.Entry
	for _, id := range []string{"live", "past"} {
		e := ofRun(id, lab.EntryDecision, lab.Decision{Decision: "lost"})
		e.ID, e.At, e.Entered = "d-"+id, noon, noon
		entries = append(entries, e)
	}
	if _, err := store.ImportEntries(t.Context(), entries); err != nil {
		t.Fatal(err)
	}
	past := live
	past.ID = "past"
	if err := store.CommitImported(t.Context(), lab.Commit{Runs: []lab.Run{past}}); err != nil {
		t.Fatal(err)
	}
	for id, want := range map[string]bool{"live": false, "past": true} {
		if r, err := store.Run(t.Context(), id); err != nil || (r.Decision != nil) != want {
			t.Errorf("%s: decision %v, %v; want one: %v", id, r.Decision, err, want)
		}
	}
	// decided on later, it is still history: no unit comes to life by it
	lost := mustEnter(t, store, ofRun("past", lab.EntryDecision, lab.Decision{Decision: "release"}))
	if r, err := store.Run(t.Context(), "past"); err != nil || r.Decision.Decision != "release" {
		t.Errorf("decided on later: %+v, %v", r.Decision, err)
	}
	mustEnter(t, store, takeBack(lost.ID))
	if r, err := store.Run(t.Context(), "past"); err != nil || r.Decision.Decision != "lost" {
		t.Errorf("taken back: %+v, %v", r.Decision, err)
	}
	if list, err := store.ArrivalsAfter(t.Context(), 0, 10); err != nil || len(list) != 0 {
		t.Errorf("the worker gets %v of history, %v", list, err)
	}
}
