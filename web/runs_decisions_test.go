package web

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
)

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
