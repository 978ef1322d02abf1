package process

import (
	"strings"
	"testing"
)

// Every figure of every built-in sheet, developer and check says where it is
// from, and how far that can be relied on, in three words or fewer.
func TestEveryFigureHasAStanding(t *testing.T) {
	standings, n := map[string]int{}, 0
	check := func(where string, list []Source, figure string) {
		t.Helper()
		n++
		v := ProvenanceOf(list, figure)
		if v != Published && v != Quoted && v != Unconfirmed || len(strings.Fields(v)) > 3 {
			t.Errorf("%s: %s has the standing %q", where, figure, v)
		}
		standings[v]++
	}
	for _, id := range Builtin().IDs() {
		s, _ := Builtin().Sheet(id)
		for _, f := range s.Figures() {
			check(id, s.Sources, f)
		}
		for i := range s.Steps {
			for _, f := range s.Steps[i].Figures() {
				check(id+"/"+s.Steps[i].ID, s.Steps[i].Sources, f)
			}
		}
	}
	for _, d := range Builtin().Developers() {
		check(d.ID, d.Sources, "minutes")
	}
	for _, c := range Checks() {
		c.Source.Figure = allFigures
		check("check "+c.ID, []Source{c.Source}, allFigures)
		if c.Source.From == "" {
			t.Errorf("check %s names no source", c.ID)
		}
	}
	if n < 190 || standings[Published] == 0 || standings[Quoted] == 0 || standings[Unconfirmed] == 0 {
		t.Errorf("%d figures, %v: some are not looked at", n, standings)
	}
}

// A source speaks of figures that the step has: one of a figure that is not
// there was left behind.
func TestSourcesSpeakOfWhatIsThere(t *testing.T) {
	for _, id := range Builtin().IDs() {
		s, _ := Builtin().Sheet(id)
		for i := range s.Steps {
			has := map[string]bool{allFigures: true}
			for _, f := range s.Steps[i].Figures() {
				has[f] = true
			}
			for _, src := range s.Steps[i].Sources {
				for _, w := range strings.Fields(src.Figure) {
					if isFigure(w) && !has[w] {
						t.Errorf("%s/%s: a source speaks of %s, which the step has not", id, s.Steps[i].ID, w)
					}
				}
			}
		}
	}
}

// What the reference says of a figure, by its own marks (reference, sections
// 1.1, 2.1 and 3.2): not more and not less is claimed of it.
func TestStandingsOfTheReference(t *testing.T) {
	for _, x := range []struct{ at, figure, want string }{
		{"c41/developer", "limits_c", Published}, // Z-131 Table 4-1, read
		{"c41/developer", "aim_s", Quoted},       // Table 2-1 in a digest
		{"c41/developer", "per_10c", Unconfirmed},
		{"c41/developer", "push_s", Quoted},
		{"c41/bleach", "least_s", Quoted},
		{"c41/fixer", "least_s", Quoted},
		{"c41/fixer", "aim_s", Unconfirmed}, // 6:30: the classic small-tank cycle, from memory
		{"c41/wash-1", "limits_c", Quoted},
		{"c41/final-rinse", "least_s", Quoted},
		{"c41/final-rinse", "aim_s", Unconfirmed},
		{"e6-7/wash-1", "limits_c", Unconfirmed}, // 33 to 39 by memory, 36 to 39 by notes
		{"e6-7/bleach", "limits_c", Quoted},
		{"e6-7/bleach", "aim_c", Unconfirmed},
		{"e6-3/bleach-fix", "least_s", Unconfirmed},
		{"bw/wash", "least_s", Published},
		{"bw/stop-bath", "limits_c", Unconfirmed}, // 18 °C is the lab's choice
		{"bw/developer", "push_factor", Unconfirmed},
	} {
		id, step, _ := strings.Cut(x.at, "/")
		sheet, _ := Builtin().Sheet(id)
		s, _ := sheet.Step(step)
		if got := ProvenanceOf(s.Sources, x.figure); got != x.want {
			t.Errorf("%s %s is %q, the reference says %q", x.at, x.figure, got, x.want)
		}
	}
	for _, step := range []string{"reversal-bath", "pre-bleach", "bleach", "fixer"} {
		sheet, _ := Builtin().Sheet("e6-7")
		if s, _ := sheet.Step(step); !s.RangeC {
			t.Errorf("e6-7/%s: its temperature is a range, and is not marked as one", step)
		}
	}
}

// A lab's own figure is the lab's own, whatever the built-in one was; figures
// that it did not touch keep their sources.
func TestOwnFiguresAreTheLabsOwn(t *testing.T) {
	for name, x := range map[string]struct {
		body string
		want map[string]string
	}{
		"no source named": {"id: c41\nsteps: [{id: fixer, least_s: 240}]", map[string]string{"least_s": LabsOwn, "limits_c": Quoted, "aim_s": Unconfirmed}},
		"its own manual":  {"id: c41\nsteps: [{id: fixer, aim_s: 380, sources: [{figure: aim_s, from: the maker's manual, mark: READ-P}]}]", map[string]string{"aim_s": Published, "least_s": Quoted}},
	} {
		l, err := NewLibrary(nil, []SheetChange{{ID: "c41", Body: []byte(x.body)}})
		if err != nil {
			t.Fatal(err)
		}
		sheet, _ := l.inForceNow().Sheet("c41")
		s, _ := sheet.Step("fixer")
		for figure, want := range x.want {
			if got := ProvenanceOf(s.Sources, figure); got != want {
				t.Errorf("%s: %s is %q, want %q (%v)", name, figure, got, want, s.Sources)
			}
		}
	}
}

// inForceNow gives the sheets after the last change.
func (l *Library) inForceNow() *Book { return l.books[len(l.books)-1] }
