package report

import (
	"encoding/json"
	"strings"
	"sync"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/simulation/sim"
)

func containsAll(s string, words ...string) bool {
	for _, w := range words {
		if !strings.Contains(s, w) {
			return false
		}
	}
	return true
}

func entry(t testing.TB, id, what, runID string, arrival int64, v any) lab.Entry {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	at := nine.Add(2 * time.Hour)
	return lab.Entry{ID: id, Arrival: arrival, Unit: lab.UnitID{Lab: "tern-street", Unit: "plover"}, RunID: runID, What: what,
		At: at, Entered: at, By: "mara", Body: b}
}

// A fault seen on the film gets the causes that fit it and the run: what was
// measured and kept the sheet is no cause, what was off comes first.
func TestSeenOnTheFilm(t *testing.T) {
	const s = time.Second
	// each is simulated when the first row asks for it
	run := func(process string, faults ...sim.Fault) func() *watched {
		for i := range faults {
			faults[i].Run = 1
		}
		return sync.OnceValue(func() *watched {
			return simulate(t, sim.UnitPlan{Processes: []string{process}, Runs: []sim.RunPlan{{Process: process}}}, faults, 7, 110*time.Minute)
		})
	}
	healthy := run("c41")
	cool := run("c41", sim.Fault{Kind: sim.BathOffset, Step: "developer", After: 20 * s, Strength: -2.5})
	fixer := run("c41", sim.Fault{Kind: sim.ShortStep, Step: "fixer", Strength: 250})
	still := run("bw", sim.Fault{Kind: sim.NoRotation, Step: "developer", After: 60 * s, For: 60 * s})
	warm := run("e6-7", sim.Fault{Kind: sim.BathOffset, Step: "first-developer", After: 20 * s, Strength: 2})
	rolls := lab.RollsChange{Add: []lab.Roll{{TwinCheck: "101"}, {TwinCheck: "102"}, {TwinCheck: "103"}}}
	for _, tt := range labtest.Few([]struct {
		name, seen string
		w          func() *watched
		on         []string
		all        bool
		first      string // words of the first cause
		evidence   string // words of its evidence
		never      string // words that no cause may have
	}{
		{"cool developer, thin", "thin", cool, nil, false, "Developed too little", "push error -", "Developed too much"},
		{"cool developer, dense", "dense", cool, nil, false, "", "", "Developed too much"},
		{"no fault, thin", "thin", healthy, nil, false, "Developer exhausted", "", "Developed too little"},
		{"no fault, magenta cast", "magenta-cast", healthy, nil, false, "Developer contaminated", "", "layers respond"},
		{"cool developer, magenta cast", "magenta-cast", cool, nil, false, "Developed too much or too little", "push error -", ""},
		{"short fixer, yellow", "yellow-stain", fixer, nil, false, "Fixer too short", "Fixer lasted", "Last wash"},
		{"still, streaks", "streaks", still, nil, false, "The tank stood still", "stood still", ""},
		{"no fault, streaks on one of three", "streaks", healthy, []string{"102"}, false, "A fault in the camera", "1 of 3", "stood still"},
		{"no fault, streaks on all", "streaks", healthy, nil, true, "", "", "stood still"},
		{"warm, too light", "too-light", warm, nil, false, "First developer too warm", "push error +", "Color developer weak"},
		{"warm, too dark", "too-dark", warm, nil, false, "", "", "too cool, too short or standing"},
		{"no fault, reticulated", "reticulated", healthy, nil, false, "", "", "jump"},
	}, 5) {
		t.Run(tt.name, func(t *testing.T) {
			w := tt.w()
			ev := w.evidence(t, 0)
			id := w.runs[ev.RunName].ID
			n := int64(len(ev.Messages))
			ev.Entries = []lab.Entry{
				entry(t, "e1", lab.EntryRolls, id, n+1, rolls),
				entry(t, "e2", lab.EntrySymptom, id, n+2, lab.Symptom{Seen: tt.seen, Rolls: tt.on, All: tt.all}),
				entry(t, "e3", lab.EntrySymptom, id, n+3, lab.Symptom{Seen: "dense"}),
				entry(t, "e4", lab.EntryTakesBack, id, n+4, lab.TakesBack{ID: "e3"}),
			}
			r := made(t, again(t, ev)).Report
			if len(r.Run.Rolls) != 3 {
				t.Errorf("rolls: %+v", r.Run.Rolls)
			}
			if len(r.Seen) != 1 || r.Seen[0].Seen != tt.seen || r.Seen[0].Label == "" {
				t.Fatalf("seen: %+v", r.Seen)
			}
			causes := r.Seen[0].Causes
			for i, c := range causes {
				t.Logf("%d. %s | for: %s | against: %s", i+1, c.Text, c.Evidence, c.Against)
				if c.Source == "" {
					t.Errorf("%q names no source", c.Text)
				}
				if said := strings.Contains(c.Evidence+c.Against, "Seen on all"); said && !tt.all {
					t.Errorf("%q is taken for seen on all rolls, which nobody said", c.Text)
				} else if tt.all && strings.HasPrefix(c.Text, "A fault in the camera") && !strings.Contains(c.Against, "Seen on all 3 rolls") {
					t.Errorf("%q stands against nothing: %q", c.Text, c.Against)
				}
				if tt.never != "" && strings.Contains(c.Text, tt.never) {
					t.Errorf("%q is a cause", c.Text)
				}
			}
			if tt.first != "" && (len(causes) == 0 || !strings.Contains(causes[0].Text, tt.first) || !strings.Contains(causes[0].Evidence, tt.evidence)) {
				t.Errorf("the first cause is not %q with %q", tt.first, tt.evidence)
			}
		})
	}
}

func TestSeenUnknownCode(t *testing.T) {
	w := simulate(t, sim.UnitPlan{Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41"}}}, nil, 7, 110*time.Minute)
	ev := w.evidence(t, 0)
	ev.Entries = []lab.Entry{entry(t, "e1", lab.EntrySymptom, w.runs[ev.RunName].ID, int64(len(ev.Messages))+1, lab.Symptom{Seen: "blue-moon"})}
	r := made(t, ev).Report
	if len(r.Seen) != 1 || len(r.Seen[0].Causes) != 0 || !strings.Contains(r.Seen[0].Label, "blue-moon") {
		t.Errorf("%+v", r.Seen)
	}
}
