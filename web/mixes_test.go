package web

import (
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/web/load"
)

// mixSite is a lab with an idle unit and two runs of it, an hour apart; the
// shop's clock stands between them and a day later.
func mixSite(t *testing.T) *site {
	x := rollSite(t)
	x.runs = map[string]lab.Run{}
	for i, id := range []string{"early", "late"} {
		start := t0.Add(time.Duration(i) * time.Hour)
		x.runs[id] = lab.Run{ID: id, Run: id, Unit: "tern-street/plover", Process: "c41", Kind: lab.KindOfRunFilm, Outcome: lab.OutcomeDone, StartedAt: lab.At(start), EndedAt: lab.AtPtr(start.Add(30 * time.Minute)),
			Rolls: []lab.Roll{{TwinCheck: id, Order: "order of " + id, Format: "220"}},
			Steps: []lab.RunStep{{N: 1, Step: "developer", Fills: 1, StartedAt: lab.AtPtr(start.Add(time.Minute)), TimeS: ptr(195.0)}}}
	}
	return x
}

func (x *site) mixed(body string) MixView {
	x.t.Helper()
	return into[MixView](x, "POST", "/mixes", lab.RoleOperator, body, 201)
}

// A lab that never wrote of a mix hears nothing of them, anywhere.
func TestMixesAreSilentUntilUsed(t *testing.T) {
	x := mixSite(t)
	if l := into[MixList](x, "GET", "/mixes", lab.RoleViewer, "", 200); l.Used || len(l.Mixes) != 0 {
		t.Errorf("%+v", l)
	}
	a := x.loads(`{"process":"c41","rolls":[{"twin_check":"7"}]}`)
	if r := asked(a, "chemistry"); r != nil || a.Verdict != load.Go {
		t.Errorf("%s %+v", a.Verdict, a.Reasons)
	}
}

// Withdrawn, a mix stops the load of the unit that it stands on, and every roll
// that met it is found with its order: whatever the order in which runs and
// bottles became known.
func TestWithdrawnMixFindsItsRolls(t *testing.T) {
	x := mixSite(t)
	m := x.mixed(`{"solution":"c41/developer","volume_l":5,"mixed_by":"Mina","lot":"0931","mixed_at":"2026-02-28T09:00:00Z"}`)
	if !strings.HasPrefix(m.ID, lab.MixPrefix) || len(m.ID) != len(lab.MixPrefix)+6 || m.State.AgeDays != 1 {
		t.Fatalf("%+v", m)
	}
	put := `{"mix":"` + strings.ToLower(m.ID) + `","at":"` + lab.At(t0).String() + `"}`
	into[EntryView](x, "POST", "/units/tern-street/plover/bottles", lab.RoleOperator, put, 201)
	if got := into[MixView](x, "GET", "/mixes/"+m.ID, lab.RoleViewer, "", 200); got.Use.Runs != 2 || got.Use.Rolls != 4 || len(got.At) != 1 || got.At[0].Position != "c41/developer" {
		t.Errorf("two runs of a 220 each: %+v at %+v", got.Use, got.At)
	}
	late := x.runs["late"]
	delete(x.runs, "late")
	if r := into[MixRolls](x, "GET", "/mixes/"+m.ID+"/rolls", lab.RoleViewer, "", 200); r.Rolls != 1 {
		t.Errorf("before the late capture: %+v", r)
	}
	x.runs["late"] = late
	w := into[MixView](x, "POST", "/mixes/"+m.ID+"/withdraw", lab.RoleOperator, `{"reason":"smells of ammonia"}`, 200)
	if w.State.Is != "withdrawn" || w.Version != 2 || len(w.History) != 2 || w.History[1].By == "" {
		t.Errorf("%+v", w)
	}
	r := into[MixRolls](x, "GET", "/mixes/"+m.ID+"/rolls", lab.RoleViewer, "", 200)
	if r.Rolls != 2 || len(r.Runs) != 2 || len(r.Orders) != 2 || r.Orders[0].Order != "order of early" || !r.Runs[1].Sure || r.Withdrawn == "" {
		t.Errorf("%+v", r)
	}
	if _, b := x.do("GET", apiBase+"/mixes/"+m.ID+"/rolls.csv", lab.RoleViewer, ""); strings.Count(string(b), "\r\n") != 3 || !strings.Contains(string(b), ",EARLY,") && !strings.Contains(string(b), ",early,order of early,") {
		t.Errorf("as CSV: %s", b)
	}
	a := x.loads(`{"process":"c41","rolls":[{"twin_check":"7"}]}`)
	if q := asked(a, "chemistry"); a.Verdict != load.Stop || q == nil || !strings.Contains(q.Text, "smells of ammonia") {
		t.Errorf("loaded with a withdrawn mix: %s %+v", a.Verdict, a.Reasons)
	}
	into[MixView](x, "POST", "/mixes/"+m.ID+"/restore", lab.RoleLead, `{"reason":"it was the drain"}`, 200)
	if a = x.loads(`{"process":"c41","rolls":[{"twin_check":"8"}]}`); a.Verdict != load.Go {
		t.Errorf("restored: %s %+v", a.Verdict, a.Reasons)
	}
}

// A mix is corrected with a reason; a person who corrects what another one
// corrected meanwhile is told so.
func TestMixIsCorrectedWithAReason(t *testing.T) {
	x := mixSite(t)
	m := x.mixed(`{"solution":"c41/developer","volume_l":5,"mixed_by":"Mina","lot":"0931"}`)
	fix := `{"solution":"c41/developer","volume_l":5,"mixed_by":"Mina","lot":"0932","version":1,"why":"misread the lot"}`
	got := into[MixView](x, "PUT", "/mixes/"+m.ID, lab.RoleOperator, fix, 200)
	if got.Lot != "0932" || got.History[0].Lot != "0931" || got.History[1].Why != "misread the lot" || !got.MixedAt.Equal(m.MixedAt.Time) {
		t.Errorf("%+v", got)
	}
	if resp, b := x.do("PUT", apiBase+"/mixes/"+m.ID, lab.RoleOperator, strings.Replace(fix, "0932", "0999", 1)); resp.StatusCode != 409 {
		t.Errorf("version 1 corrected again: %d %s", resp.StatusCode, b)
	}
}

// A limit of the lab counts what the load would add.
func TestMixLimitCountsTheLoad(t *testing.T) {
	x := mixSite(t)
	into[ChemistryView](x, "PUT", "/chemistry", lab.RoleLead, `{"limits":[{"solution":"c41/developer","rolls_per_l":5}]}`, 200)
	m := x.mixed(`{"solution":"c41/developer","volume_l":1,"mixed_by":"Mina"}`)
	into[EntryView](x, "POST", "/units/tern-street/plover/bottles", lab.RoleOperator, `{"mix":"`+m.ID+`","at":"`+lab.At(t0).String()+`"}`, 201)
	one := x.loads(`{"process":"c41","rolls":[{"twin_check":"7","format":"120"}]}`) // 4 went through, the fifth is on the limit
	two := x.loads(`{"process":"c41","rolls":[{"twin_check":"7","format":"220"}]}`)
	if one.Verdict != load.Go || two.Verdict != load.Stop || !strings.Contains(asked(two, "chemistry").Text, "With this load 6 roll-equivalents through it; limit 5") {
		t.Errorf("%s %+v; %s %+v", one.Verdict, one.Reasons, two.Verdict, two.Reasons)
	}
}
