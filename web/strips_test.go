package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/strips"
)

func (s *shop) StripSettings(context.Context) (lab.StripSettings, error) {
	defer s.Lock()()
	return s.strips, s.Broken
}

func (s *shop) SetStripSettings(_ context.Context, v lab.StripSettings, by string) error {
	defer s.Lock()()
	if err := v.Check(); err != nil {
		return err
	}
	s.strips = v
	return s.Broken
}

func init() {
	calls = append(calls, []call{
		{"read-strip", "POST", "/strips", "operator", `{"unit":"tern-street/plover","process":"c41","code":"2461","read_at":"2026-03-01T07:10:00Z","by":"Wren","densities":{"LD":{"r":0.44,"g":0.76,"b":0.98}}}`, 201},
		{"read-strip", "POST", "/strips", "operator", `{"unit":"tern-street/none","process":"c41","densities":{"ld":{"g":0.76}}}`, 404},
		{"read-strip", "POST", "/strips", "operator", `{"unit":"tern-street/plover","process":"c41","densities":{"ld":{"g":76}}}`, 422},
		{"read-strip", "POST", "/strips", "operator", `{"unit":"tern-street/plover","process":"c41","densities":{}}`, 422},
		{"read-strip", "POST", "/strips", "operator", `{"unit":"tern-street/plover","densities":{"ld":{"g":0.7}}}`, 422},
		{"read-strip", "POST", "/strips", "operator", `{"unit":"tern-street/plover","run":"none","densities":{"ld":{"g":0.7}}}`, 422},
		{"list-strips", "GET", "/strips?unit=tern-street/plover&process=c41&from=2026-02-01T00:00:00Z&to=2026-04-01T00:00:00Z", "viewer", "", 200},
		{"list-strips", "GET", "/strips?unit=Tern", "viewer", "", 422},
		{"strips-csv", "GET", "/strips.csv", "viewer", "", 200},
		{"strip-densities-csv", "GET", "/strips/densities.csv?unit=tern-street/plover", "viewer", "", 200},
		{"take-strip-densities", "POST", "/strips/densities.csv", "operator", "read_at,unit,process,code,ld.r,ld.g,ld.b\n2026-02-27,tern-street/plover,c41,2461,0.44,0.76,0.98\n", 200},
		{"take-strip-densities", "POST", "/strips/densities.csv", "operator", "read_at,unit,process,ld.r\n2026-02-27,tern-street/none,c41,0.44\n", 404},
		{"take-strip-densities", "POST", "/strips/densities.csv", "operator", "read_at,unit,process,ld.r\n2026-02-27,tern-street/plover,c41,44\n", 422},
		{"list-since-strip", "GET", "/strips/since?unit=tern-street/plover&process=c41", "viewer", "", 200},
		{"list-since-strip", "GET", "/strips/since?unit=tern-street/plover", "viewer", "", 422},
		{"get-strip-gate", "GET", "/strips/gate?unit=tern-street/plover&process=c41", "viewer", "", 200},
		{"get-strip-gate", "GET", "/strips/gate?unit=tern-street/plover", "viewer", "", 422},
		{"open-strip-gate", "POST", "/strips/gate/open", "lead", `{"unit":"tern-street/plover","process":"c41","reason":"retested by hand"}`, 200},
		{"open-strip-gate", "POST", "/strips/gate/open", "lead", `{"unit":"tern-street/plover","process":"c41","reason":""}`, 422},
		{"get-strip-chart", "GET", "/strips/chart?unit=tern-street/plover&process=c41", "viewer", "", 200},
		{"get-strip-settings", "GET", "/strips/settings", "viewer", "", 200},
		{"set-strip-settings", "PUT", "/strips/settings", "lead", `{"asked":["c41"],"references":[{"process":"c41","code":"2461","densities":{"ld":{"r":0.4}}}]}`, 200},
		{"set-strip-settings", "PUT", "/strips/settings", "lead", `{"limits":[{"process":"c41","plot":"ld.r","action":0.2,"control":0.1,"reason":"x"}]}`, 422},
	}...)
}

// A day at the gate: asked for, out, out again, opened, in.
func TestGateOfADay(t *testing.T) {
	x := newSite(t, newShop().stock())
	put := `{"asked":["c41"],"references":[{"process":"c41","code":"2461","densities":{"ld":{"r":0.40,"g":0.70,"b":0.90}},"corrections":{"ld":{"r":0.04,"g":0.06,"b":0.08}}}]}`
	if resp, b := x.do("PUT", apiBase+"/strips/settings", lab.RoleLead, put); resp.StatusCode != http.StatusOK {
		t.Fatalf("settings: %d %s", resp.StatusCode, b)
	}
	gate := func() strips.Gate {
		t.Helper()
		resp, b := x.do("GET", apiBase+"/strips/gate?unit=tern-street/plover&process=c41", lab.RoleViewer, "")
		var g strips.Gate
		if err := json.Unmarshal(b, &g); resp.StatusCode != http.StatusOK || err != nil {
			t.Fatalf("gate: %d %s", resp.StatusCode, b)
		}
		return g
	}
	verdict := func() string {
		t.Helper()
		_, b := x.do("POST", apiBase+"/units/tern-street/plover/load", lab.RoleOperator, `{"process":"c41","rolls":[{"twin_check":"1"}]}`)
		return string(b)
	}
	if g := gate(); g.Gate != strips.GateStop || !strings.Contains(strings.Join(g.Reasons, " "), "No control strip was read today") {
		t.Errorf("before a strip: %+v, want stop", g)
	}
	if v := verdict(); !strings.Contains(v, "strip-gate") {
		t.Errorf("loading says nothing of the missing strip: %s", v)
	}
	for i, step := range []struct {
		red            float64
		standing, gate string
	}{
		{0.45, lab.StripIn, strips.GateIn},        // aim 0.44
		{0.51, lab.StripAction, strips.GateWatch}, // +0.07
		{0.53, lab.StripOut, strips.GateWatch},    // +0.09
		{0.35, lab.StripOut, strips.GateStop},     // -0.09
	} {
		resp, b := x.do("POST", apiBase+"/strips", lab.RoleOperator,
			fmt.Sprintf(`{"unit":"tern-street/plover","process":"c41","code":"2461","read_at":"`+lab.At(time.Now().Add(time.Duration(i-10)*time.Second)).String()+`","densities":{"LD":{"r":%g,"g":0.76,"b":0.98}}}`, step.red))
		var a StripAnswer
		if err := json.Unmarshal(b, &a); resp.StatusCode != http.StatusCreated || err != nil {
			t.Fatalf("strip %d: %d %s", i, resp.StatusCode, b)
		}
		if a.Strip.Status != step.standing || a.Gate.Gate != step.gate || gate().Gate != step.gate {
			t.Errorf("strip %d with LD red %.2f: %s, gate %s; want %s, %s", i, step.red, a.Strip.Status, a.Gate.Gate, step.standing, step.gate)
		}
	}
	if resp, _ := x.do("POST", apiBase+"/strips/gate/open", lab.RoleOperator, `{"unit":"tern-street/plover","process":"c41","reason":"no"}`); resp.StatusCode != http.StatusForbidden {
		t.Errorf("an operator opened the gate: %d", resp.StatusCode)
	}
}

// The gate stands in the unit's view and in the live socket's frames, and what
// it asks for in the next jobs: a strip of the day, then a second one. Beyond
// that, none: what stops is the gate.
func TestGateOnTheBoard(t *testing.T) {
	shop := newShop().stock()
	plover := shop.units["tern-street/plover"]
	plover.Processes = []string{"c41"}
	shop.units[plover.ID] = plover
	x := newSite(t, shop, func(c *Config) { c.Clock = labtest.NewClock(t0) }) // where the store enters everything at t0
	put := `{"asked":["c41"],"references":[{"process":"c41","code":"2461","densities":{"ld":{"r":0.44}}}]}`
	read := func(minute int, red float64) string {
		return fmt.Sprintf(`{"unit":"tern-street/plover","process":"c41","mix":"B12","code":"2461","read_at":%q,"densities":{"ld":{"r":%g}}}`, t0.Add(time.Duration(minute)*time.Minute).Format(time.RFC3339), red)
	}
	shown := func() (gate, needs string, jobs []string) {
		t.Helper()
		var u lab.Unit
		_, b := x.do("GET", apiBase+"/units/tern-street/plover", lab.RoleViewer, "")
		if err := json.Unmarshal(b, &u); err != nil {
			t.Fatal(err)
		}
		for _, g := range u.Gates {
			gate, needs = g.Gate, g.Needs
		}
		var list JobList
		_, b = x.do("GET", apiBase+"/next-jobs", lab.RoleViewer, "")
		if err := json.Unmarshal(b, &list); err != nil {
			t.Fatal(err)
		}
		for _, j := range list.Jobs {
			if strings.Contains(j.What, "strip") {
				jobs = append(jobs, j.Unit+" "+j.What)
			}
		}
		return gate, needs, jobs
	}
	if gate, _, jobs := shown(); gate != "" || len(jobs) != 0 {
		t.Errorf("no strips are asked for: gate %q, jobs %q", gate, jobs)
	}
	for _, step := range []struct {
		name, method, path, body, gate, needs, job string
	}{
		{"asked for", "PUT", "/strips/settings", put, strips.GateStop, strips.NeedsStrip, "tern-street/plover control strip"},
		{"in", "POST", "/strips", read(-30, .45), strips.GateIn, "", ""},
		{"one out", "POST", "/strips", read(-20, .60), strips.GateWatch, strips.NeedsSecond, "tern-street/plover second control strip"},
		{"two out", "POST", "/strips", read(-10, .61), strips.GateStop, "", ""},
		{"opened, the mix left out", "POST", "/strips/gate/open", `{"unit":"tern-street/plover","process":"c41","reason":"retested by hand"}`, strips.GateWatch, "", ""},
		{"in again", "POST", "/strips", read(0, .44), strips.GateIn, "", ""},
	} {
		if resp, b := x.do(step.method, apiBase+step.path, lab.RoleLead, step.body); resp.StatusCode >= 300 {
			t.Fatalf("%s: %d %s", step.name, resp.StatusCode, b)
		}
		gate, needs, jobs := shown()
		if gate != step.gate || needs != step.needs || strings.Join(jobs, ", ") != step.job {
			t.Errorf("%s: gate %q, needs %q, jobs %q; want %q, %q, %q", step.name, gate, needs, jobs, step.gate, step.needs, step.job)
		}
	}
}

// Taken in twice is taken in once; one bad row, and none is taken.
func TestTableOfDensities(t *testing.T) {
	x := newSite(t, newShop().stock())
	const head = "read_at,unit,process,mix,code,ld.r,ld.g,ld.b\r\n"
	const good = "2026-02-27T08:00:00Z,tern-street/plover,c41,B12,2461,0.44,0.76,0.98\r\n2026-02-26T08:00:00Z,tern-street/plover,c41,B12,2461,0.45,0.75,0.97\r\n"
	take := func(body string) (int, StripTable, string) {
		t.Helper()
		var a StripTable
		resp, b := x.do("POST", apiBase+"/strips/densities.csv", lab.RoleOperator, body)
		_ = json.Unmarshal(b, &a)
		return resp.StatusCode, a, string(b)
	}
	if code, _, said := take(head + good + "2026-02-28,tern-street/plover,c41,,,76,,\r\n"); code != http.StatusUnprocessableEntity || !strings.Contains(said, "line 4: densities.ld.r must be -1 to 6; got 76") {
		t.Errorf("a bad row: %d %s", code, said)
	}
	for i, want := range []StripTable{{Taken: 2}, {Known: 2}} {
		if code, a, said := take(head + good); code != http.StatusOK || a.Taken != want.Taken || a.Known != want.Known {
			t.Errorf("time %d: %d %s", i+1, code, said)
		}
	}
	resp, b := x.do("GET", apiBase+"/strips/densities.csv", lab.RoleViewer, "")
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("out: %d %s", resp.StatusCode, b)
	}
	if code, a, said := take(string(b)); code != http.StatusOK || a.Taken != 0 || a.Known != 2 {
		t.Errorf("what went out, in again: %d %s", code, said)
	}
	if rows := strings.Split(strings.TrimSpace(string(b)), "\r\n"); len(rows) != 3 || !strings.HasPrefix(rows[1], "2026-02-26T08:00:00.000Z,tern-street/plover,c41,B12,2461,the operator,") {
		t.Errorf("out:\n%s", b)
	}
}

// All film since the last strip that was in, by customers' orders: from the
// strip's own run on, since a strip dries before it is read.
func TestSinceTheLastStripThatWasIn(t *testing.T) {
	shop := newShop().stock()
	clear(shop.runs)
	add := func(id, kind string, minute int, rolls ...lab.Roll) {
		at := t0.Add(time.Duration(minute) * time.Minute)
		shop.runs[id] = lab.Run{ID: id, Unit: "tern-street/plover", Run: id, Process: "c41", Kind: kind, StartedAt: lab.At(at), EndedAt: lab.AtPtr(at.Add(30 * time.Minute)), Outcome: lab.OutcomeDone, Rolls: rolls}
	}
	due := lab.AtPtr(t0.Add(48 * time.Hour))
	add("before", "film", -200, lab.Roll{TwinCheck: "1", Order: "A"})
	add("strip-run", "strip", -120)
	add("meanwhile", "film", -80, lab.Roll{TwinCheck: "2", Order: "B"}, lab.Roll{TwinCheck: "3"})
	add("after", "film", -35, lab.Roll{TwinCheck: "4", Order: "C", DueAt: due}, lab.Roll{TwinCheck: "5", Order: "B"})
	add("flush", "flush", -10)
	plover := lab.UnitID{Lab: "tern-street", Unit: "plover"}
	strip := func(minute int, run, standing string) {
		b, err := json.Marshal(lab.Strip{Process: "c41", Status: standing, Densities: map[string]lab.RGB{"ld": {}}})
		if err != nil {
			t.Fatal(err)
		}
		at := t0.Add(time.Duration(minute) * time.Minute)
		shop.entries = append(shop.entries, lab.Entry{ID: fmt.Sprint("s", minute), Unit: plover, RunID: run, What: lab.EntryStrip, At: at, Entered: at, By: "Wren", Body: b})
	}
	x := newSite(t, shop)
	get := func() (runs, orders []string) {
		t.Helper()
		var a StripSince
		resp, b := x.do("GET", apiBase+"/strips/since?unit=tern-street/plover&process=c41", lab.RoleViewer, "")
		if err := json.Unmarshal(b, &a); resp.StatusCode != http.StatusOK || err != nil {
			t.Fatalf("%d %s", resp.StatusCode, b)
		}
		for _, r := range a.Runs {
			runs = append(runs, r.ID)
		}
		for _, o := range a.Orders {
			orders = append(orders, o.Order+":"+strings.Join(o.Rolls, "+"))
		}
		return runs, orders
	}
	for _, step := range []struct {
		name         string
		minute       int
		run, stands  string
		runs, orders string
	}{
		{"none was in yet: all since the first", -210, "", lab.StripOut, "after before meanwhile", "C:4 A:1 B:2+5 :3"},
		{"its run is not known", -40, "", lab.StripIn, "after", "C:4 B:5"},
		{"its run is known", -39, "strip-run", lab.StripIn, "after meanwhile", "C:4 B:2+5 :3"},
	} {
		strip(step.minute, step.run, step.stands)
		runs, orders := get()
		slices.Sort(runs)
		for i := range orders { // runs come in no order from this store
			parts := strings.Split(strings.SplitN(orders[i], ":", 2)[1], "+")
			slices.Sort(parts)
			orders[i] = strings.SplitN(orders[i], ":", 2)[0] + ":" + strings.Join(parts, "+")
		}
		if strings.Join(runs, " ") != step.runs || strings.Join(orders, " ") != step.orders {
			t.Errorf("%s: runs %q, orders %q; want %q, %q", step.name, runs, orders, step.runs, step.orders)
		}
	}
}
