package web

import (
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
)

func init() {
	add := func(op, method, path, role, body string, want int) {
		calls = append(calls, struct {
			op, method, path, role, body string
			want                         int
		}{op, method, path, role, body, want})
	}
	add("get-house", "GET", "/house", "viewer", "", 200)
	add("set-house", "PUT", "/house", "lead", `{"time_zone":"Europe/Dublin","hours":{"monday":["09:00-18:00"]},"circuits":{"left wall":["tern-street/plover"]},"closed":false,"closed_until":null}`, 200)
	add("set-house", "PUT", "/house", "lead", `{"time_zone":"Europe/Nowhere","closed":false,"closed_until":null}`, 422)
	add("close-lab", "POST", "/house/closed", "operator", `{"closed":true}`, 200)
	add("close-lab", "POST", "/house/closed", "operator", `{"closed":true,"until":"2020-01-01T00:00:00Z"}`, 422)
	add("list-setting-changes", "GET", "/setting-changes?key=house", "viewer", "", 200)
	add("get-alert-figures", "GET", "/alert-figures", "viewer", "", 200)
	add("get-alert-figures", "GET", "/alert-figures?from=2026-03-02T00:00:00Z&to=2026-03-01T00:00:00Z", "viewer", "", 422)
	add("get-alert-figures", "GET", "/alert-figures?from=2020-03-02T00:00:00Z&to=2026-03-01T00:00:00Z", "viewer", "", 422)
	add("get-hand-over", "GET", "/hand-over", "viewer", "", 200)
	add("get-hand-over", "GET", "/hand-over?since=2999-03-02T00:00:00Z", "viewer", "", 422)
}

func (s *shop) LabSettings(context.Context) (lab.LabSettings, error) {
	defer s.Lock()()
	return s.labSettings, s.Broken
}

func (s *shop) SetLabSettings(_ context.Context, h lab.LabSettings, by string) error {
	defer s.Lock()()
	if err := h.Check(); err != nil {
		return err
	}
	s.labSettings, s.asked = h, by
	return nil
}

func (s *shop) SettingChanges(_ context.Context, key string, limit int) ([]lab.SettingChange, error) {
	defer s.Lock()()
	s.asked = [2]any{key, limit}
	return nil, s.Broken
}

func (s *shop) AlertFigures(_ context.Context, from, to time.Time) (lab.AlertFigures, error) {
	defer s.Lock()()
	s.asked = [2]time.Time{from, to}
	return figuresOf(from, to), s.Broken
}

func figuresOf(from, to time.Time) lab.AlertFigures {
	return lab.AlertFigures{From: lab.At(from), To: lab.At(to), Measures: []lab.Gauge{{Code: "stale", Value: ptr(1.0), Limit: ptr(0.0), Ok: ptr(false)}},
		Spread: []lab.Share{}, Rules: []lab.RuleFigures{}, People: []lab.PersonFigures{}}
}

// TestCloseAndOpen: closing keeps the rest, names who did it, and opening
// takes both back; changing the rest leaves it closed.
func TestCloseAndOpen(t *testing.T) {
	x := newSite(t, newShop().stock())
	x.labSettings = lab.LabSettings{TimeZone: "Europe/Dublin"}
	expect := func(method, path, role, body string) {
		t.Helper()
		if resp, b := x.do(method, apiBase+path, role, body); resp.StatusCode != http.StatusOK {
			t.Fatalf("%s %s: %d %s", method, path, resp.StatusCode, b)
		}
	}
	expect("POST", "/house/closed", "operator", `{"closed":true}`)
	if !x.labSettings.Closed || x.labSettings.ClosedBy != "the operator" || x.labSettings.TimeZone != "Europe/Dublin" {
		t.Errorf("closed, the settings are %+v", x.labSettings)
	}
	expect("PUT", "/house", "lead", `{"time_zone":"UTC","closed":false,"closed_until":null}`)
	if !x.labSettings.Closed || x.labSettings.TimeZone != "UTC" {
		t.Errorf("changed, the settings are %+v", x.labSettings)
	}
	expect("POST", "/house/closed", "operator", `{"closed":false}`)
	if x.labSettings.Closed || x.labSettings.ClosedBy != "" {
		t.Errorf("opened, the settings are %+v", x.labSettings)
	}
}

// TestHandOverSorts: what is put aside or held is told apart from what is
// open, and what nobody decided from what somebody did.
func TestHandOverSorts(t *testing.T) {
	s := newShop().stock()
	for id, edit := range map[string]func(*lab.Alert){
		"low":     func(a *lab.Alert) { a.Priority = lab.Low },
		"shelved": func(a *lab.Alert) { a.ShelvedUntil = lab.AtPtr(t0) },
		"held":    func(a *lab.Alert) { a.Held = lab.HeldLabClosed },
	} {
		a := someAlert(id)
		edit(&a)
		s.alerts[id] = a
	}
	undecided := s.runs["run-1"]
	undecided.ID, undecided.Decision = "run-2", nil
	s.runs["run-2"] = undecided
	x := newSite(t, s)
	_, b := x.do("GET", apiBase+"/hand-over?since=2026-03-01T00:00:00Z", "viewer", "")
	var h HandOver
	if err := json.Unmarshal(b, &h); err != nil {
		t.Fatalf("%v in %s", err, b)
	}
	ids := func(list []lab.Alert) string {
		var out []string
		for _, a := range list {
			out = append(out, a.ID)
		}
		return strings.Join(out, " ")
	}
	if ids(h.Open) != "a-1 low" || ids(h.Shelved) != "shelved" || ids(h.Held) != "held" {
		t.Errorf("open %q, shelved %q, held %q", ids(h.Open), ids(h.Shelved), ids(h.Held))
	}
	if len(h.Undecided) != 1 || h.Undecided[0].ID != "run-2" || len(h.Ended) != 2 {
		t.Errorf("%d undecided, %d ended", len(h.Undecided), len(h.Ended))
	}
}
