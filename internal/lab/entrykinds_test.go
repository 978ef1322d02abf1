package lab

import (
	"slices"
	"testing"
)

// Every kind that there is a name for has a row, and each row says what
// becomes of it: a sealed run is judged anew, or it is added to the report, or
// it says nothing of a run.
func TestEveryKindOfEntryHasItsRow(t *testing.T) {
	ofNoRun := []string{EntryCapacity, EntryCheck, EntryStrip, EntryGate}
	silent := []string{EntryUnload, EntryCapacity, EntryDecision, EntryStepName, EntryStepTime, EntryCheck, EntryGate, EntryTakesBack}
	seen := map[string]bool{}
	for _, k := range entryKinds {
		if seen[k.What] {
			t.Errorf("%s has two rows", k.What)
		}
		seen[k.What] = true
		if n := b2i(k.Rejudges) + b2i(k.LaidOver) + b2i(slices.Contains(ofNoRun, k.What)); n != 1 {
			t.Errorf("%s: %d of judged anew, laid over, of no run; want one", k.What, n)
		}
		if (k.words == nil) != slices.Contains(silent, k.What) {
			t.Errorf("%s: words %v", k.What, k.words != nil)
		}
		if k.Figure && !k.Folded {
			t.Errorf("%s sets a figure that the fold does not count in", k.What)
		}
		if k.check != nil && k.body == nil {
			t.Errorf("%s: a body is checked that it has not", k.What)
		}
	}
	if len(seen) != 26 {
		t.Errorf("%d kinds; want the 26 of entry.go", len(seen))
	}
}

// A later figure stands in the place of one that sets the same, and of no other.
func TestWhatAnEntrySets(t *testing.T) {
	of := func(what, body string) string { return Entry{What: what, Body: []byte(body)}.Sets() }
	for _, c := range []struct {
		a, b string
		same bool
	}{
		{of(EntryProbe, `{"offset_c":0.1}`), of(EntryProbe, `{"offset_c":0.3}`), true},
		{of(EntryHouseAim, `{"process":"c41","step":"developer","push":0,"equivalent_s":190}`), of(EntryHouseAim, `{"process":"c41","step":"developer","push":0,"equivalent_s":200}`), true},
		{of(EntryHouseAim, `{"process":"c41","step":"developer","push":0}`), of(EntryHouseAim, `{"process":"c41","step":"developer","push":1}`), false},
		{of(EntryDeveloper, `{"process":"bw","step":"developer","developer":"a"}`), of(EntryDeveloper, `{"process":"bw","step":"developer","developer":"b"}`), true},
		{of(EntryStepName, `{"process":"e6","name":"FD","step":"first-developer"}`), of(EntryStepName, `{"process":"e6","name":"CD","step":"color-developer"}`), false},
		{of(EntryProbe, `{}`), of(EntryProbeKind, `{}`), false},
	} {
		if (c.a == c.b) != c.same {
			t.Errorf("%q and %q: same %v, want %v", c.a, c.b, c.a == c.b, c.same)
		}
	}
	if s := of(EntryNote, `{"text":"x"}`); s != "" {
		t.Errorf("a note sets %q", s)
	}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}
