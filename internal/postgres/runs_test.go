package postgres_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
)

func TestRuns(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	verdict, push := lab.Inspect, 0.125
	first := lab.Run{ID: "r1", Unit: plover.String(), Run: "1", Process: "c41", Push: 1.5, Kind: "film", StartedAt: lab.At(noon),
		EndedAt: lab.AtPtr(noon.Add(time.Hour)), Outcome: lab.OutcomeDone, Verdict: &verdict, PushErrorStops: &push,
		Reasons: []lab.Reason{{Code: "warm", Step: "developer", Text: "38.4 °C"}}, Steps: []lab.RunStep{{N: 1, Step: "developer", Fills: 1}},
		Outages: []lab.Outage{}, Gaps: []lab.Gap{{Boot: "b", FromSeq: 3, ToSeq: 4}}, Alerts: []string{},
		Rolls: []lab.Roll{{TwinCheck: "T-100"}}, Decision: &lab.Decision{Decision: "release", By: "robin", At: lab.At(noon)}}
	second := lab.Run{ID: "r2", Unit: heron.String(), Run: "1", Process: "bw", Kind: "film", StartedAt: lab.At(noon.Add(time.Minute)), Outcome: lab.OutcomeRunning}
	commit := func(runs ...lab.Run) {
		t.Helper()
		if err := store.Commit(t.Context(), term, lab.Commit{Runs: runs}); err != nil {
			t.Fatal(err)
		}
	}
	commit(first, second)
	first.JudgeRolls() // as the store lays them over the run
	got, err := store.Run(t.Context(), "r1")
	if diff := cmp.Diff(first, got); diff != "" || err != nil {
		t.Errorf("%v (-want +got):\n%s", err, diff)
	}
	// the worker's next word knows nothing of rolls and decision
	again := first
	again.Rolls, again.Decision, again.Outcome = nil, nil, lab.OutcomeAborted
	commit(again)
	a := alert("a1", "k1", noon)
	a.Run = "r1"
	put(t, store, term, a)
	want := first
	want.Outcome, want.Alerts = lab.OutcomeAborted, []string{"a1"}
	got, err = store.Run(t.Context(), "r1")
	if diff := cmp.Diff(want, got); diff != "" || err != nil {
		t.Errorf("second word: %v (-want +got):\n%s", err, diff)
	}
	if _, err := store.Run(t.Context(), "none"); lab.KindOf(err) != lab.KindNotFound {
		t.Errorf("got %v; want not found", err)
	}
	for name, f := range map[string]struct {
		lab.RunFilter
		want string
	}{
		"all":     {lab.RunFilter{}, "r2 r1"},
		"roll":    {lab.RunFilter{Roll: "T-100"}, "r1"},
		"unit":    {lab.RunFilter{Unit: heron.String()}, "r2"},
		"process": {lab.RunFilter{Process: "bw"}, "r2"},
		"verdict": {lab.RunFilter{Verdict: lab.Inspect}, "r1"},
		"from":    {lab.RunFilter{From: noon.Add(time.Second)}, "r2"},
		"to":      {lab.RunFilter{To: noon.Add(time.Second)}, "r1"},
		"limit":   {lab.RunFilter{Limit: 1}, "r2"},
	} {
		list, err := store.Runs(t.Context(), f.RunFilter)
		var ids []string
		for _, r := range list {
			ids = append(ids, r.ID)
		}
		if got := strings.Join(ids, " "); got != f.want || err != nil {
			t.Errorf("%s: %q, %v; want %q", name, got, err, f.want)
		}
	}
}

func TestPeopleAndSettings(t *testing.T) {
	t.Parallel()
	store, _, _ := held(t)
	ctx := t.Context()
	kind := func(what string, err error, want lab.Kind) {
		t.Helper()
		if err == nil || lab.KindOf(err) != want {
			t.Errorf("%s: %v (kind %d); want kind %d", what, err, lab.KindOf(err), want)
		}
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	robin := lab.User{Name: "robin", Role: lab.RoleLead, PasswordHash: "h1", CreatedAt: noon}
	must(store.CreateUser(ctx, robin))
	kind("same name", store.CreateUser(ctx, robin), lab.KindConflict)
	kind("role", store.CreateUser(ctx, lab.User{Name: "x", Role: "king"}), lab.KindInvalid)
	must(store.SetPassword(ctx, "robin", "h2"))
	kind("password of nobody", store.SetPassword(ctx, "nobody", "h"), lab.KindNotFound)
	robin.PasswordHash = "h2"
	got, err := store.UserByName(ctx, "robin")
	if diff := cmp.Diff(robin, got); diff != "" || err != nil {
		t.Errorf("user: %v (-want +got):\n%s", err, diff)
	}
	_, err = store.UserByName(ctx, "ro\x00bin")
	kind("NUL in a name", err, lab.KindNotFound)
	if users, err := store.Users(ctx); len(users) != 1 || err != nil {
		t.Errorf("users: %v, %v", users, err)
	}

	must(store.CreateToken(ctx, lab.Token{Name: "board", Role: lab.RoleViewer, Hash: []byte{1, 2}}))
	kind("same token name", store.CreateToken(ctx, lab.Token{Name: "board", Role: lab.RoleViewer, Hash: []byte{3}}), lab.KindConflict)
	token, err := store.TokenByHash(ctx, []byte{1, 2})
	if err != nil || token.Name != "board" || token.Role != lab.RoleViewer {
		t.Errorf("token: %+v, %v", token, err)
	}
	must(store.DeleteToken(ctx, "board"))
	_, err = store.TokenByHash(ctx, []byte{1, 2})
	kind("deleted token", err, lab.KindNotFound)

	must(store.CreateUnitKey(ctx, plover, []byte("old")))
	must(store.CreateUnitKey(ctx, plover, []byte("new")))
	keys, err := store.UnitKeys(ctx)
	if diff := cmp.Diff(map[lab.UnitID][]byte{plover: []byte("new")}, keys); diff != "" || err != nil {
		t.Errorf("keys: %v (-want +got):\n%s", err, diff)
	}

	kind("standing", store.SetUnit(ctx, lab.UnitSetting{Unit: plover.String(), Standing: "gone"}, "robin"), lab.KindInvalid)
	kind("unit", store.SetUnit(ctx, lab.UnitSetting{Unit: "Plover", Standing: "new"}, "robin"), lab.KindInvalid)
	set := lab.UnitSetting{Unit: plover.String(), Name: "By the window", Standing: "accepted"}
	must(store.SetUnit(ctx, set, "robin"))
	units, err := store.UnitSettings(ctx)
	if diff := cmp.Diff(map[string]lab.UnitSetting{plover.String(): set}, units); diff != "" || err != nil {
		t.Errorf("units: %v (-want +got):\n%s", err, diff)
	}

	_, err = store.Setting(ctx, "k")
	kind("never set", err, lab.KindNotFound)
	must(store.SetSetting(ctx, "k", []byte{0, 1}))
	if v, err := store.Setting(ctx, "k"); string(v) != "\x00\x01" || err != nil {
		t.Errorf("setting: %v, %v", v, err)
	}

	s := store.Sessions()
	must(s.Commit("t1", []byte("one"), time.Now().Add(time.Hour)))
	must(s.Commit("t1", []byte("two"), time.Now().Add(time.Hour)))
	must(s.Commit("t2", []byte("gone"), time.Now().Add(-time.Hour)))
	if b, found, err := s.Find("t1"); string(b) != "two" || !found || err != nil {
		t.Errorf("session: %q, %v, %v", b, found, err)
	}
	if _, found, err := s.Find("t2"); found || err != nil {
		t.Errorf("expired session: %v, %v", found, err)
	}
	if all, err := s.All(); len(all) != 1 || err != nil {
		t.Errorf("sessions: %v, %v", all, err)
	}
	must(s.Delete("t1"))
	must(s.Delete("t1"))
	if _, found, err := s.Find("t1"); found || err != nil {
		t.Errorf("deleted session: %v, %v", found, err)
	}
}
