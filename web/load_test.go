package web

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
	"wetside/web/load"
)

// asked gives the reason of a code, nil where there is none.
func asked(a LoadAnswer, code string) *load.Reason {
	for i, r := range a.Reasons {
		if r.Code == code {
			return &a.Reasons[i]
		}
	}
	return nil
}

func (x *site) loads(body string) LoadAnswer {
	x.t.Helper()
	return into[LoadAnswer](x, "POST", "/units/tern-street/plover/load", lab.RoleOperator, body, 200)
}

// What a list says of a roll counts when it is scanned without a card, and again
// whenever it is; a card that says otherwise is asked about.
func TestRollRemembersWhatItWants(t *testing.T) {
	x := rollSite(t)
	into[RollListAnswer](x, "POST", "/rolls", lab.RoleOperator, `{"rolls":[{"twin_check":"7","process":"e6-7","push":1,"order":"B-7"}]}`, 200)
	for range 2 {
		a := x.loads(`{"process":"c41","rolls":[{"twin_check":"7"}]}`)
		if r := asked(a, "roll-process"); a.Verdict != load.Stop || r == nil || r.Roll != "7" || a.Load.Rolls[0].Order != "B-7" {
			t.Fatalf("scanned without a card: %s %+v %+v", a.Verdict, a.Reasons, a.Load.Rolls)
		}
	}
	if a := x.loads(`{"process":"e6-7","push":1,"rolls":[{"twin_check":"7"}]}`); a.Verdict != load.Go {
		t.Errorf("where it belongs: %s %+v", a.Verdict, a.Reasons)
	}
	card := `{"process":"c41","rolls":[{"twin_check":"7","process":"c41"}]`
	a := x.loads(card + "}")
	q := asked(a, load.AskDiffers)
	if a.Verdict != load.Stop || q == nil || !strings.Contains(q.Text, "the operator, Mar 1, 09:30") || a.Load.Rolls[0].Process != "e6-7" {
		t.Fatalf("a card that says otherwise: %s %+v", a.Verdict, a.Reasons)
	}
	answer := func(what string) LoadAnswer {
		return x.loads(card + `,"answers":[{"roll":"7","code":"roll-differs","of":"` + q.Of + `","answer":"` + what + `"}]}`)
	}
	if a := answer("first"); a.Verdict != load.Stop || asked(a, "roll-process") == nil || asked(a, load.AskDiffers).Stops {
		t.Errorf("the first word is right: %s %+v", a.Verdict, a.Reasons)
	}
	if a := answer("now"); a.Verdict != load.Go || x.known["7"].Process != "c41" || *x.known["7"].Push != 0 {
		t.Errorf("the card is right: %s %+v, known %+v", a.Verdict, a.Reasons, x.known["7"])
	}
}

// A roll is on one unit: the question names who and where, and its answer takes
// the roll out of the other load.
func TestRollOnTwoUnits(t *testing.T) {
	x := rollSite(t)
	into[LoadAnswer](x, "POST", "/units/tern-street/heron/load", lab.RoleOperator, `{"process":"c41","rolls":[{"twin_check":"7"},{"twin_check":"8"}]}`, 200)
	heron := x.units["tern-street/heron"]
	heron.Load = &lab.Load{Process: "c41", Rolls: rolls("7", "8")}
	x.units["tern-street/heron"] = heron
	a := x.loads(`{"process":"c41","rolls":[{"twin_check":"7"}]}`)
	q := asked(a, load.AskElsewhere)
	if a.Verdict != load.Stop || q == nil || q.Of != "tern-street/heron" || !strings.Contains(q.Text, "the operator, Mar 1, 09:30") {
		t.Fatalf("loaded twice: %s %+v", a.Verdict, a.Reasons)
	}
	a = x.loads(`{"process":"c41","rolls":[{"twin_check":"7"}],"answers":[{"roll":"7","code":"roll-elsewhere","of":"tern-street/heron","answer":"here"}]}`)
	e := x.entries[len(x.entries)-2]
	if a.Verdict != load.Go || e.What != lab.EntryLoad || e.Unit.Unit != "heron" || strings.Contains(string(e.Body), `"7"`) || !strings.Contains(string(e.Body), `"8"`) {
		t.Errorf("answered: %s %+v; entered %+v", a.Verdict, a.Reasons, e)
	}
}

// A roll that was in a run is asked about, unless that run's film is to be
// reprocessed or another run took it on. Each answer does what it says.
func TestRollThatRan(t *testing.T) {
	run := func(change func(*lab.Run)) *site {
		x := rollSite(t)
		r := lab.Run{ID: "run-7", Unit: "tern-street/heron", Run: "r-7", Process: "c41", Kind: "film", StartedAt: lab.At(t0.Add(-time.Hour)), Outcome: lab.OutcomeDone,
			EndedAt: lab.AtPtr(t0), Rolls: rolls("7")}
		change(&r)
		x.runs = map[string]lab.Run{r.ID: r}
		return x
	}
	for name, tt := range map[string]struct {
		change func(*lab.Run)
		asks   bool
	}{
		"done":                   {func(*lab.Run) {}, true},
		"released":               {func(r *lab.Run) { r.Decision = &lab.Decision{Decision: "release"} }, true},
		"aborted":                {func(r *lab.Run) { r.Outcome = lab.OutcomeAborted }, true},
		"goes on":                {func(r *lab.Run) { r.Outcome, r.EndedAt = lab.OutcomeRunning, nil }, true},
		"to be reprocessed":      {func(r *lab.Run) { r.Decision = &lab.Decision{Decision: lab.Reprocess} }, false},
		"this roll, not the run": {func(r *lab.Run) { r.Rolls[0].Decision = &lab.Decision{Decision: lab.Reprocess} }, false},
		"the run, not this roll": {func(r *lab.Run) {
			r.Decision, r.Rolls[0].Decision = &lab.Decision{Decision: lab.Reprocess}, &lab.Decision{Decision: "hold"}
		}, true},
		"rescued by another run":  {func(r *lab.Run) { r.Film = &lab.Film{Runs: []lab.FilmRun{{ID: "run-7"}, {ID: "run-8"}}} }, false},
		"the one that rescued it": {func(r *lab.Run) { r.Film = &lab.Film{Runs: []lab.FilmRun{{ID: "run-6"}, {ID: "run-7"}}} }, true},
	} {
		x := run(tt.change)
		a := x.loads(`{"process":"c41","rolls":[{"twin_check":"7"}]}`)
		if q := asked(a, load.AskRan); (q != nil) != tt.asks || (a.Verdict == load.Stop) != tt.asks || q != nil && (q.Of != "run-7" || !strings.Contains(q.Text, "r-7 on heron")) {
			t.Errorf("%s: %s %+v", name, a.Verdict, a.Reasons)
		}
	}
	answer := func(what string) (*site, LoadAnswer) {
		x := run(func(*lab.Run) {})
		return x, x.loads(`{"process":"c41","rolls":[{"twin_check":"7"}],"answers":[{"roll":"7","code":"roll-ran","of":"run-7","answer":"` + what + `"}]}`)
	}
	for _, what := range []string{load.AnswerRescue, load.AnswerOther} {
		if x, a := answer(what); a.Verdict != load.Go || x.entries[len(x.entries)-2].RunID == "run-7" {
			t.Errorf("%s: %s %+v", what, a.Verdict, a.Reasons)
		}
	}
	if x, a := answer(load.AnswerNotThere); a.Verdict != load.Go || len(x.runs["run-7"].Rolls) != 0 {
		t.Errorf("not there: %s, the run has %+v", a.Verdict, x.runs["run-7"].Rolls)
	}
	x, _ := answer(load.AnswerReprocess)
	if e := x.entries[len(x.entries)-2]; e.What != lab.EntryDecision || e.RunID != "run-7" || string(e.Body) != `{"decision":"reprocess","rolls":["7"]}` {
		t.Errorf("reprocess: entered %+v %s", e, e.Body)
	}
}

// A load is kept with either verdict, under the name of who loaded it.
func TestLoadIsKeptWithItsVerdict(t *testing.T) {
	x := newSite(t, newShop().stock(), func(c *Config) { c.Clock = fixedClock{} })
	heron := x.units["tern-street/heron"]
	heron.Load = &lab.Load{Process: "bw", Rolls: []lab.Roll{{TwinCheck: "A7"}}}
	x.units["tern-street/heron"] = heron
	before := x.count()
	got := into[LoadAnswer](x, "POST", "/units/tern-street/plover/load", lab.RoleOperator,
		`{"process":"c41","rolls":[{"twin_check":" a7 "},{"twin_check":"8","push":1}]}`, 200)
	var codes []string
	for _, r := range got.Reasons {
		codes = append(codes, r.Code+" "+r.Roll)
	}
	want := []string{"roll-elsewhere A7", "roll-push 8", "urgent-alert ", "unit-new ", "unit-running ", "volumes-unknown "}
	if diff := cmp.Diff(want, codes); diff != "" || got.Verdict != load.Stop {
		t.Errorf("verdict %s (-want +got):\n%s", got.Verdict, diff)
	}
	e := x.entries[len(x.entries)-1]
	if x.count() != before+1 || e.ID != got.Entry || e.By != "the operator" || e.What != lab.EntryLoad || !strings.Contains(string(e.Body), `"A7"`) {
		t.Errorf("kept: %+v", e)
	}
	into[LoadAnswer](x, "GET", "/units/tern-street/heron/load", lab.RoleViewer, "", 200)
	if asked := into[LoadAnswer](x, "GET", "/units/tern-street/heron/load?process=c41", lab.RoleViewer, "", 200); asked.Load != nil || asked.Entry != "" || asked.Plan.ProcessName != "C-41" {
		t.Errorf("asked before scanning: %+v", asked)
	}
	into[EntryView](x, "DELETE", "/units/tern-street/plover/load", lab.RoleOperator, "", 200)
	if e := x.entries[len(x.entries)-1]; e.What != lab.EntryUnload || x.count() != before+2 {
		t.Errorf("taken back: %+v, %d entries", e, x.count())
	}
}
