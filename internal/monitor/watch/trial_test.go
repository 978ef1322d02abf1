package watch

import (
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/rules"
)

// A rule that is new to a lab is shown and pages nobody for its trial, through
// restarts of everything; then it pages, what still lasts too.
func TestANewRuleIsShownAndNotPaged(t *testing.T) {
	clock := labtest.NewClock(start)
	store := newFakeStore(clock)
	week := func(c *Config) { c.Trials = map[string]time.Duration{"warm": 7 * 24 * time.Hour} }
	pages := func() int {
		_, _, out := store.Stored()
		return len(out)
	}
	live := func() *folder {
		f := newWorker(t, store, week).newFolder()
		if err := f.rebuild(t.Context()); err != nil {
			t.Fatal(err)
		}
		return f
	}
	store.heard(plover, 41)
	f := live()
	rows, _, _ := store.Stored()
	if len(rows) != 1 || rows[0].Held != lab.HeldNewRule || rows[0].State != lab.Unacknowledged || pages() != 0 {
		t.Fatalf("on its first day: %+v, %d pages", rows, pages())
	}
	clock.Advance(readEvery) // by then it is noted that the lab has it
	if err := f.tick(t.Context()); err != nil {
		t.Fatal(err)
	}
	f.saveLast()
	clock.Advance(6 * 24 * time.Hour)
	f = live() // started anew: the trial began when it began
	if err := f.tick(t.Context()); err != nil {
		t.Fatal(err)
	}
	if pages() != 0 {
		t.Fatalf("%d pages on the sixth day", pages())
	}
	f.saveLast()
	clock.Advance(25 * time.Hour)
	f = live()
	if err := f.tick(t.Context()); err != nil {
		t.Fatal(err)
	}
	if rows, _, _ = store.Stored(); rows[0].Held != "" || pages() != 1 {
		t.Fatalf("after a week it is held %q, %d pages; want it paged", rows[0].Held, pages())
	}
	other := lab.UnitID{Lab: "quay-lane", Unit: "sandpiper"}
	store.heard(other, 41) // another lab has not had it before
	store.heard(heron, 41)
	if err := f.drain(t.Context()); err != nil {
		t.Fatal(err)
	}
	if pages() != 2 {
		t.Errorf("%d pages; want one more for the lab that has had it for a week, none for the new one", pages())
	}
}

// Every rule marked new in the contract is on trial for a week, film-stranded
// is not, nor is any older one.
func TestTheBuiltInTrials(t *testing.T) {
	trials := rules.Builtin().Trials()
	for _, r := range []string{rules.RuleReadingDoubtful, rules.RuleWrongTemperatureSet, rules.RulePreheatOff, rules.RuleRotationSlow, rules.RuleStepUnknown,
		rules.RulePushUnknown, rules.RuleStripOut, rules.RuleFillSlow, rules.RuleWrongDestination, rules.RuleUnitMixedUp} {
		if trials[r] != 7*24*time.Hour {
			t.Errorf("%s is on trial for %v", r, trials[r])
		}
		delete(trials, r)
	}
	if len(trials) != 0 {
		t.Errorf("also on trial: %v", trials)
	}
}
