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

// rollSite is a lab with two idle units that are ready for C-41 and E-6.
func rollSite(t *testing.T) *site {
	x := newSite(t, newShop().stock(), func(c *Config) { c.Clock = fixedClock{} })
	x.alerts = map[string]lab.Alert{}
	for _, id := range []string{"tern-street/plover", "tern-street/heron"} {
		x.units[id] = lab.Unit{ID: id, Link: lab.LinkOnline, Activity: lab.ActivityIdle, Processes: []string{"c41", "e6-7"}}
		x.Settings[id] = lab.UnitSetting{Unit: id, Standing: lab.UnitAccepted}
	}
	return x
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

// A roll that is loaded for the run after the one that goes on is found.
func TestRollThatIsLoadedIsFound(t *testing.T) {
	x := rollSite(t)
	heron := x.units["tern-street/heron"]
	heron.Run, heron.Activity = &lab.UnitRun{ID: "run-9"}, lab.ActivityRunning
	heron.Load, heron.NextLoad = &lab.Load{Process: "c41", Rolls: rolls("1")}, &lab.Load{Process: "c41", Rolls: rolls("2")}
	x.units["tern-street/heron"] = heron
	if p := into[RollPage](x, "GET", "/rolls/2", lab.RoleViewer, "", 200); len(p.Loaded) != 1 || p.Loaded[0].Unit != "tern-street/heron" {
		t.Errorf("roll 2: %+v", p)
	}
	if p := into[RollPage](x, "GET", "/rolls/1", lab.RoleViewer, "", 200); len(p.Loaded) != 0 {
		t.Errorf("roll 1 is in the run that goes on, not loaded: %+v", p)
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

// Several runs are released in one go; each that cannot be is told by itself.
func TestRunsReleasedTogether(t *testing.T) {
	x := rollSite(t)
	ended := lab.AtPtr(t0)
	for _, r := range []lab.Run{{ID: "a", EndedAt: ended}, {ID: "b", EndedAt: ended}, {ID: "c"}, {ID: "d", EndedAt: ended, Decision: &lab.Decision{Decision: "hold", By: "Mina"}}} {
		r.Unit, r.Run, r.Kind, r.Verdict = "tern-street/heron", r.ID, "film", ptr(lab.Inspect)
		x.runs[r.ID] = r
	}
	got := into[DecisionsAnswer](x, "POST", "/decisions", lab.RoleOperator, `{"runs":["a","b","c","d","none","a"],"decision":"release"}`, 200)
	if diff := cmp.Diff([]string{"a", "b"}, got.Decided); diff != "" || len(got.Refused) != 3 || x.runs["a"].Decision.Decision != "release" {
		t.Errorf("decided (-want +got):\n%s; refused %+v", diff, got.Refused)
	}
	if r := got.Refused[1]; r.Run != "d" || !strings.Contains(r.Error, "hold, by Mina") {
		t.Errorf("refused: %+v", got.Refused)
	}
}

// Film that nobody has decided about has an owner and an age.
func TestUndecidedFilmHasAnOwner(t *testing.T) {
	x := rollSite(t)
	x.runs = map[string]lab.Run{"a": {ID: "a", Unit: "tern-street/heron", Kind: "film", Verdict: ptr(lab.Inspect), StartedAt: lab.At(t0.Add(-2 * time.Hour)), EndedAt: lab.AtPtr(t0.Add(-time.Hour)), Rolls: rolls("1", "2")}}
	first := func() UndecidedRun {
		t.Helper()
		h := into[HandOver](x, "GET", "/hand-over", lab.RoleViewer, "", 200)
		if len(h.Undecided) != 1 {
			t.Fatalf("undecided: %+v", h.Undecided)
		}
		return h.Undecided[0]
	}
	if u := first(); u.AgeS != 3660 || u.Owner != nil && u.Owner.Said {
		t.Errorf("nobody was named: %g s, %+v", u.AgeS, u.Owner)
	}
	into[EntryView](x, "POST", "/runs/a/owner", lab.RoleOperator, `{"owner":"Mina"}`, 200)
	if u := first(); u.Owner == nil || u.Owner.Name != "Mina" || !u.Owner.Said {
		t.Errorf("Mina was named: %+v", u.Owner)
	}
	into[lab.Run](x, "POST", "/runs/a/rolls", lab.RoleOperator, `{"add":[{"twin_check":"1"},{"twin_check":"2"}]}`, 200)
	into[lab.Run](x, "POST", "/runs/a/decision", lab.RoleOperator, `{"decision":"hold","rolls":["1"]}`, 200)
	first()
	into[lab.Run](x, "POST", "/runs/a/decision", lab.RoleOperator, `{"decision":"release","rolls":["2"]}`, 200)
	if h := into[HandOver](x, "GET", "/hand-over", lab.RoleViewer, "", 200); len(h.Undecided) != 0 {
		t.Errorf("each roll is decided about: %+v", h.Undecided)
	}
}

// A list is taken row by row; what is wrong with a row is said of that row.
func TestRollListRowByRow(t *testing.T) {
	x := rollSite(t)
	text := "Twin Check;Process;Push;Order;Due;Shelf\r\n48213;C-41;;A-1;2026-03-02;x\r\n48214;E6;+1/3;A-1;2026-03-02 17:00;\r\n" +
		"48213;c41;;;;\r\n48215;K-14;;;;\r\n48216;c41;nine;;;\r\n48217;c41;;;soon;\r\n;c41;;;;\r\n48218;bw;-1;;3/2/2026;\r\n"
	got := into[RollListAnswer](x, "POST", "/rolls.csv", lab.RoleOperator, text, 200)
	var refused []string
	for _, r := range got.Refused {
		refused = append(refused, r.TwinCheck+" "+r.Error)
	}
	want := []string{"in the list already, in row 2", "process must be one of", "push must be", "due must be a day", "twin check"}
	if len(refused) != len(want) || got.New != 3 || cmp.Diff([]string{"Shelf"}, got.Ignored) != "" {
		t.Fatalf("%+v; refused %q", got, refused)
	}
	for i, w := range want {
		if !strings.Contains(refused[i], w) {
			t.Errorf("row %d: %q does not say %q", got.Refused[i].Row, refused[i], w)
		}
	}
	if k := x.known["48214"]; k.Process != "e6" || *k.Push < 0.333 || *k.Push > 0.334 || k.DueAt.UTC().Hour() != 17 {
		t.Errorf("48214: %+v, push %v", k, *k.Push)
	}
	if k := x.known["48218"]; k.Process != "bw" || *k.Push != -1 || k.DueAt.Format("2006-01-02 15:04") != "2026-03-02 23:59" {
		t.Errorf("48218: %+v", k)
	}
	if again := into[RollListAnswer](x, "POST", "/rolls.csv", lab.RoleOperator, text, 200); again.New+again.Changed != 0 || again.Same != 3 {
		t.Errorf("the same list again: %+v", again)
	}
	into[RollListAnswer](x, "POST", "/rolls.csv", lab.RoleOperator, strings.Repeat("1\n", lab.MaxRollList)+"2\n", 422)
	if bare := into[RollListAnswer](x, "POST", "/rolls.csv", lab.RoleOperator, "A1\tc41\t1\tO-1\nA2\n", 200); bare.New != 2 || *x.known["A1"].Push != 1 || x.known["A1"].Order != "O-1" || x.known["A2"].Push != nil {
		t.Errorf("without a head: %+v %+v", bare, x.known["A1"])
	}
}
