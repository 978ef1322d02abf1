package process

import (
	"testing"
	"time"
)

// What is told of is there: each change speaks of a figure of a sheet, of a
// check, or of neither; lots are numbered upward.
func TestChangesSpeakOfWhatIsThere(t *testing.T) {
	last := 0
	for _, lot := range ChangeLots() {
		if lot.N != last+1 {
			t.Errorf("lot %d follows lot %d", lot.N, last)
		}
		last = lot.N
		for _, c := range lot.Changes {
			if c.Text == "" {
				t.Errorf("%+v says nothing", c)
			}
			if c.Sheet != "" {
				sheet, ok := Builtin().Sheet(c.Sheet)
				if !ok {
					t.Errorf("there is no sheet %s", c.Sheet)
					continue
				}
				if s, ok := sheet.Step(c.Step); !ok || ProvenanceOf(s.Sources, c.Figure) == "" {
					t.Errorf("%s has no %s %s", c.Sheet, c.Step, c.Figure)
				}
			}
			if c.Check != "" && len(CheckStates(nil, CheckEvery{Days: map[string]int{c.Check: 0}}, time.Time{})) != len(Checks())-1 {
				t.Errorf("there is no check %s", c.Check)
			}
		}
	}
	if LastLot() != last || len(ChangesSince(last)) != 0 || len(ChangesSince(0)) < 5 {
		t.Errorf("last %d, since then %v", LastLot(), ChangesSince(last))
	}
}

// A lab's own figure stands, and is seen to.
func TestChangesLeaveOwnFigures(t *testing.T) {
	l, err := NewLibrary(nil, []SheetChange{{ID: "bw", Body: []byte("id: bw\nsteps: [{id: wash, aim_s: 1200, least_s: 1200}]")}})
	if err != nil {
		t.Fatal(err)
	}
	own := map[string]bool{}
	for _, c := range ChangesSince(0) {
		own[c.Sheet+c.Check+" "+c.Step+" "+c.Figure] = c.Own(l.inForceNow(), map[string]int{"strip": 7})
	}
	for key, want := range map[string]bool{"bw wash least_s": true, "bw developer push_factor": false, "c41 fixer aim_s": false, "strip  ": true} {
		if got, told := own[key]; !told || got != want {
			t.Errorf("%s: the lab's own is %v (told %v), want %v", key, got, told, want)
		}
	}
	sheet, _ := l.inForceNow().Sheet("bw")
	if s, _ := sheet.Step("wash"); s.LeastS != 1200 {
		t.Errorf("the lab's own least time is %g", s.LeastS)
	}
}
