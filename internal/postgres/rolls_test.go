package postgres_test

import (
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

func stops(v float64) *float64 { return &v }

func known(t *testing.T, store *postgres.Store, check string) lab.KnownRoll {
	t.Helper()
	rolls, err := store.KnownRolls(t.Context(), []string{check})
	if err != nil {
		t.Fatal(err)
	}
	if len(rolls) == 0 {
		return lab.KnownRoll{}
	}
	return rolls[0]
}

func waiting(t *testing.T, store *postgres.Store) string {
	t.Helper()
	rolls, err := store.WaitingRolls(t.Context(), 100)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, k := range rolls {
		names = append(names, k.TwinCheck)
	}
	return strings.Join(names, " ")
}

func list(t *testing.T, store *postgres.Store, rolls ...lab.KnownRoll) string {
	t.Helper()
	became, err := store.PutRolls(t.Context(), rolls, "Mina")
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(became, " ")
}

// What a roll wants is known from the first word on: a load fills in, a list
// corrects, and the same said again changes nothing.
func TestRollsAreRemembered(t *testing.T) {
	t.Parallel()
	store, _, conn := held(t)
	mustEnter(t, store, entry(plover, lab.EntryLoad, lab.Load{Process: "c41", Rolls: []lab.Roll{{TwinCheck: "101", Process: "e6-7", Push: 1, Order: "A-1"}, {TwinCheck: "102"}}}))
	if k := known(t, store, "101"); k.Process != "e6-7" || k.Push == nil || *k.Push != 1 || k.Order != "A-1" || k.EnteredBy != "robin" {
		t.Errorf("101 after the load: %+v", k)
	}
	if k := known(t, store, "102"); k.Process != "" || k.Push != nil {
		t.Errorf("102 said nothing of itself, and is known as %+v", k)
	}
	mustEnter(t, store, entry(heron, lab.EntryLoad, lab.Load{Process: "c41", Rolls: []lab.Roll{{TwinCheck: "101", Process: "c41", Order: "A-2"}, {TwinCheck: "102", Process: "c41"}}}))
	if k := known(t, store, "101"); k.Process != "e6-7" || k.Order != "A-1" {
		t.Errorf("the second card took the place of the first: %+v", k)
	}
	if k := known(t, store, "102"); k.Process != "c41" || k.Push == nil || *k.Push != 0 {
		t.Errorf("the second load fills in what 102 wants; known is %+v", k)
	}
	due := lab.AtPtr(noon)
	if got := list(t, store, lab.KnownRoll{TwinCheck: "101", Process: "c41", Push: stops(0)}, lab.KnownRoll{TwinCheck: "103", DueAt: due}); got != "changed new" {
		t.Errorf("a list: %s; want changed new", got)
	}
	if got := list(t, store, lab.KnownRoll{TwinCheck: "101", Process: "c41", Push: stops(0)}, lab.KnownRoll{TwinCheck: "103", DueAt: due}); got != "same same" {
		t.Errorf("the same list again: %s; want same same", got)
	}
	if k := known(t, store, "101"); k.Process != "c41" || *k.Push != 0 || k.Order != "A-1" || k.EnteredBy != "robin" || k.ChangedBy != "Mina" {
		t.Errorf("101 corrected: %+v", k)
	}
	if n := one[int](t, conn, `SELECT count(*) FROM roll_changes WHERE twin_check = '101'`); n != 2 {
		t.Errorf("101 has %d lines of history; want 2, by the load and by the list", n)
	}
	if _, err := conn.Exec(t.Context(), `DELETE FROM roll_changes`); err == nil {
		t.Error("the history of rolls can be deleted")
	}
}

// Rolls wait until a run has them, and again once they are to be reprocessed;
// the first promised come first. One that is to be stopped waits, marked.
func TestRollsThatWait(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	now := time.Now()
	list(t, store, lab.KnownRoll{TwinCheck: "1"}, lab.KnownRoll{TwinCheck: "2", DueAt: lab.AtPtr(now.Add(3 * time.Hour))},
		lab.KnownRoll{TwinCheck: "3", DueAt: lab.AtPtr(now.Add(time.Hour))})
	want := func(what, list string) {
		t.Helper()
		if got := waiting(t, store); got != list {
			t.Errorf("%s: %q waits; want %q", what, got, list)
		}
	}
	want("a list", "3 2 1")
	run := lab.Run{ID: "r1", Unit: plover.String(), Run: "a", Process: "c41", Kind: "film", StartedAt: lab.At(now), Outcome: lab.OutcomeDone,
		Rolls: []lab.Roll{{TwinCheck: "2"}, {TwinCheck: "3"}}}
	if err := store.Commit(t.Context(), term, lab.Commit{Runs: []lab.Run{run}}); err != nil {
		t.Fatal(err)
	}
	want("two are in a run", "1")
	decide := func(d string, rolls ...string) lab.Entry {
		return mustEnter(t, store, ofRun("r1", lab.EntryDecision, lab.Decision{Decision: d, Rolls: rolls}))
	}
	again := decide(lab.Reprocess, "2")
	want("one of them again", "2 1")
	decide("release")
	want("the run's decision leaves the roll's own", "2 1")
	mustEnter(t, store, takeBack(again.ID))
	want("undone", "1")
	if _, err := store.StopRoll(t.Context(), "1", "customer canceled", "Mina"); err != nil {
		t.Fatal(err)
	}
	want("stopped", "1")
	if k := known(t, store, "1"); k.Stop != "customer canceled" {
		t.Errorf("1 is known as %+v", k)
	}
	if err := store.RemoveRoll(t.Context(), "1", "Mina"); err != nil {
		t.Fatal(err)
	}
	want("removed", "")
	if err := store.RemoveRoll(t.Context(), "1", "Mina"); lab.KindOf(err) != lab.KindNotFound {
		t.Errorf("removed twice: %v", err)
	}
}

// After 60 days a number is that of another roll.
func TestTwinChecksAreUsedAgain(t *testing.T) {
	t.Parallel()
	clock := labtest.NewClock(noon)
	store := pgtest.Store(t, postgres.Config{URL: pgtest.New(t), Decode: decode, Clock: clock})
	list(t, store, lab.KnownRoll{TwinCheck: "7", Process: "c41", Order: "A"})
	clock.Advance(lab.RollMemory + time.Minute)
	if k := known(t, store, "7"); k.TwinCheck != "" {
		t.Errorf("after 60 days 7 is still %+v", k)
	}
	if got := list(t, store, lab.KnownRoll{TwinCheck: "7", Order: "B"}); got != "new" || known(t, store, "7").Process != "" {
		t.Errorf("%s, known as %+v; want a new roll", got, known(t, store, "7"))
	}
}

// Each roll may be decided on by itself; the run counts as decided once all are.
func TestDecisionsOfRolls(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	run := lab.Run{ID: "r1", Unit: plover.String(), Run: "a", Process: "c41", Kind: "film", StartedAt: lab.At(noon), Outcome: lab.OutcomeDone,
		Rolls: []lab.Roll{{TwinCheck: "A1"}, {TwinCheck: "A2"}}}
	if err := store.Commit(t.Context(), term, lab.Commit{Runs: []lab.Run{run}}); err != nil {
		t.Fatal(err)
	}
	found := func(decision string) bool {
		t.Helper()
		runs, err := store.Runs(t.Context(), lab.RunFilter{Decision: decision})
		if err != nil {
			t.Fatal(err)
		}
		return len(runs) == 1
	}
	mustEnter(t, store, ofRun("r1", lab.EntryDecision, lab.Decision{Decision: "hold", Rolls: []string{"a1"}}))
	if !found(lab.Undecided) || !found("hold") || found("release") {
		t.Error("one of two rolls is held: the run should be found as undecided and as held")
	}
	last := mustEnter(t, store, ofRun("r1", lab.EntryDecision, lab.Decision{Decision: "release", Rolls: []string{"A2"}}))
	got, err := store.Run(t.Context(), "r1")
	if err != nil {
		t.Fatal(err)
	}
	if found(lab.Undecided) || got.Decision != nil || got.Rolls[0].Decision.Decision != "hold" || got.Rolls[1].Decision.Decision != "release" || got.Rolls[1].Decision.By != "robin" {
		t.Errorf("both decided: %+v", got.Rolls)
	}
	mustEnter(t, store, takeBack(last.ID))
	if !found(lab.Undecided) {
		t.Error("undone, the run should be undecided again")
	}
	mustEnter(t, store, ofRun("r1", lab.EntryDecision, lab.Decision{Decision: "release"}))
	if got, _ = store.Run(t.Context(), "r1"); got.DecisionFor(got.Rolls[0]).Decision != "hold" || got.DecisionFor(got.Rolls[1]).Decision != "release" {
		t.Errorf("the run's decision is the default only: %+v", got.Rolls)
	}
}
