package rules_test

import (
	"strings"
	"testing"
	"testing/fstest"

	"wetside/internal/process"
	"wetside/rules"
)

// Every figure of the rules says where it is from, and every source speaks of
// figures that there are.
func TestFiguresSayWhereTheyAreFrom(t *testing.T) {
	known := map[string]bool{"respond": true}
	for _, f := range rules.Builtin().List() {
		known[f.Name] = true
		if f.Provenance != process.Unconfirmed || f.From == "" {
			t.Errorf("%s is %q (%q); nothing published was found, so unconfirmed", f.Name, f.Provenance, f.From)
		}
	}
	if len(known) < 60 {
		t.Errorf("%d figures are listed", len(known))
	}
	for _, s := range rules.Builtin().Sources {
		for _, w := range strings.Fields(s.Figure) {
			if !known[w] {
				t.Errorf("a source speaks of %s, which is no figure", w)
			}
		}
	}
}

// What a lab's own figures.yaml names is the lab's own, unless it says where
// from; the rest stays.
func TestOwnFiguresOfRules(t *testing.T) {
	d, err := rules.LoadData(fstest.MapFS{"figures.yaml": {Data: []byte("silent_s: 120\nsteady_s: 6\nsources: [{figure: steady_s, from: the units' own manual, mark: READ-P}]\n")}})
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]struct {
		v        float64
		standing string
	}{"silent_s": {120, process.LabsOwn}, "steady_s": {6, process.Published}, "silent_will_s": {15, process.Unconfirmed}}
	for _, f := range d.List() {
		if w, ok := want[f.Name]; ok && (f.Value != w.v || f.Provenance != w.standing) {
			t.Errorf("%s is %g, %q; want %g, %q", f.Name, f.Value, f.Provenance, w.v, w.standing)
		}
	}
	if _, err := rules.LoadData(fstest.MapFS{"figures.yaml": {Data: []byte("silent: 120\n")}}); err == nil {
		t.Error("a figure that there is none of is taken")
	}
}
