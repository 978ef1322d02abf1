package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/strips"
)

func (s *shop) StripSettings(context.Context) (lab.StripSettings, error) {
	defer s.lock()()
	return s.strips, s.broken
}

func (s *shop) SetStripSettings(_ context.Context, v lab.StripSettings, by string) error {
	defer s.lock()()
	if err := v.Check(); err != nil {
		return err
	}
	s.strips = v
	return s.broken
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
		if a.Strip.Standing != step.standing || a.Gate.Gate != step.gate || gate().Gate != step.gate {
			t.Errorf("strip %d with LD red %.2f: %s, gate %s; want %s, %s", i, step.red, a.Strip.Standing, a.Gate.Gate, step.standing, step.gate)
		}
	}
	if resp, _ := x.do("POST", apiBase+"/strips/gate/open", lab.RoleOperator, `{"unit":"tern-street/plover","process":"c41","reason":"no"}`); resp.StatusCode != http.StatusForbidden {
		t.Errorf("an operator opened the gate: %d", resp.StatusCode)
	}
}
