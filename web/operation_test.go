package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
)

// Every operation against every role: who may not gets 401 or 403 and changes
// nothing, who may gets the answer.
func TestRolesMatrix(t *testing.T) {
	roles := []string{"", lab.RoleViewer, lab.RoleOperator, lab.RoleLead}
	covers := func(has, needs string) bool { return slices.Index(roles, has) >= slices.Index(roles, needs) }
	for _, role := range roles {
		x := newSite(t, newShop().stock())
		x.ByName["Heron"] = lab.User{Name: "Heron", Role: lab.RoleLead}
		for _, c := range calls {
			if c.role == "" && role != "" {
				continue // open to all
			}
			t.Run(fmt.Sprintf("%s %s as %q", c.method, c.path, role), func(t *testing.T) {
				before := fmt.Sprint(x.alerts, x.Settings, x.ByName, x.entries, x.runs, x.books)
				resp, b := x.do(c.method, apiBase+c.path, role, c.body)
				want := 0
				switch {
				case covers(role, c.role):
					if resp.StatusCode == 403 && c.op != "set-up" || resp.StatusCode == 401 && c.op != "sign-in" && c.op != "open-wall" && c.op != "set-up" {
						t.Fatalf("refused: %d %s", resp.StatusCode, b)
					}
					return
				case role == "":
					want = 401
					if resp.Header.Get("WWW-Authenticate") == "" {
						t.Error("no WWW-Authenticate")
					}
				default:
					want = 403
				}
				if resp.StatusCode != want {
					t.Fatalf("got %d, want %d", resp.StatusCode, want)
				}
				checkProblem(t, resp, b)
				if after := fmt.Sprint(x.alerts, x.Settings, x.ByName, x.entries, x.runs, x.books); after != before {
					t.Errorf("changed, from\n%s\nto\n%s", before, after)
				}
			})
		}
	}
}

// Nothing that changes anything is open but signing in and setting up.
func TestOnlySignInIsOpen(t *testing.T) {
	doc := loadSpec(t, busySite(t))
	for path, item := range doc.Paths.Map() {
		for method, op := range item.Operations() {
			open := op.Security == nil || len(*op.Security) == 0
			if open && method != "GET" && op.OperationID != "sign-in" && op.OperationID != "set-up" && op.OperationID != "open-wall" {
				t.Errorf("%s %s is open", method, path)
			}
		}
	}
}

// checkProblem holds an answer to RFC 9457, section 3: its media type, and
// members of the right type, the status repeated.
func checkProblem(t *testing.T, resp *http.Response, b []byte) {
	t.Helper()
	if ct := resp.Header.Get("Content-Type"); ct != "application/problem+json" {
		t.Errorf("Content-Type %q, want application/problem+json", ct)
	}
	var p struct {
		Status        int
		Title, Detail string
	}
	if err := json.Unmarshal(b, &p); err != nil {
		t.Fatalf("%v: %s", err, b)
	}
	if p.Status != resp.StatusCode || p.Title == "" || len(p.Detail) < 10 {
		t.Errorf("status %d: problem %s", resp.StatusCode, b)
	}
}

func TestProblemsSayWhatWasWrong(t *testing.T) {
	x := newSite(t, newShop().stock())
	for _, c := range []struct {
		method, path, body string
		status             int
		says               []string
	}{
		{"GET", "/alerts?limit=many", "", 422, []string{"query.limit", "integer", "many"}},
		{"GET", "/alerts?limit=0", "", 422, []string{"query.limit", "1"}},
		{"GET", "/alerts?unit=plover", "", 422, []string{"plover", "lab/unit"}},
		{"GET", "/alerts?since=yesterday", "", 422, []string{"query.since", "yesterday"}},
		{"GET", "/runs?from=2026-03-02T00:00:00Z&to=2026-03-01T00:00:00Z", "", 422, []string{"from", "not before"}},
		{"POST", "/alerts/a-1/shelve", `{"minutes":10}`, 422, []string{"reason", "required"}},
		{"POST", "/alerts/a-1/shelve", `{"minutes":10,"reason":"  "}`, 422, []string{"reason", "why"}},
		{"POST", "/alerts/a-1/shelve", `{"minutes":10,"reason":"x","notes":1}`, 422, []string{"notes"}},
		{"POST", "/alerts/a-1/acknowledge", `{"note":`, 400, []string{"JSON"}},
		{"POST", "/alerts/a-1/acknowledge", `{"note":"` + strings.Repeat("x", 70<<10) + `"}`, 413, []string{"large"}},
		{"GET", "/units/tern-street/none", "", 404, []string{"tern-street/none"}},
		{"GET", "/nothing", "", 404, []string{"/nothing", "openapi.yaml"}},
		{"PUT", "/alerts", "", 405, []string{"PUT", "GET"}},
		{"GET", "/live", "", 426, []string{"WebSocket"}},
	} {
		t.Run(c.method+c.path, func(t *testing.T) {
			resp, b := x.do(c.method, apiBase+c.path, lab.RoleLead, c.body)
			if resp.StatusCode != c.status {
				t.Fatalf("%d %s, want %d", resp.StatusCode, b, c.status)
			}
			checkProblem(t, resp, b)
			var p struct{ Detail string }
			_ = json.Unmarshal(b, &p) // checked above
			for _, s := range c.says {
				if !strings.Contains(p.Detail, s) {
					t.Errorf("detail %q does not say %q", p.Detail, s)
				}
			}
		})
	}
}

// An inner failure is told apart from its cause, which is for the log.
func TestInnerFailureHidesItsCause(t *testing.T) {
	x := newSite(t, newShop().stock())
	x.Mu.Lock()
	x.Broken = errStore
	x.Mu.Unlock()
	resp, b := x.do("GET", apiBase+"/runs", lab.RoleViewer, "")
	if resp.StatusCode != 503 || strings.Contains(string(b), "secret") || resp.Header.Get("Retry-After") == "" {
		t.Errorf("who asks cannot be checked: %d %s, want 503 without the cause", resp.StatusCode, b)
	}
	checkProblem(t, resp, b)
	err := x.srv.fail(t.Context(), errStore)
	if strings.Contains(err.Error(), "secret") {
		t.Errorf("%v gives the cause away", err)
	}
}

func TestLimitIsCapped(t *testing.T) {
	x := newSite(t, newShop().stock())
	for _, c := range []struct {
		query string
		want  int
	}{{"", 100}, {"?limit=7", 7}, {"?limit=10000", 10000}, {"?limit=10001", 10000}, {"?limit=99999999", 10000}} {
		for _, path := range []string{"/alerts", "/runs", "/quarantine"} {
			resp, b := x.do("GET", apiBase+path+c.query, lab.RoleViewer, "")
			if resp.StatusCode != 200 {
				t.Fatalf("%s%s: %d %s", path, c.query, resp.StatusCode, b)
			}
			x.Mu.Lock()
			var got int
			switch f := x.asked.(type) {
			case lab.AlertFilter:
				got = f.Limit
			case lab.RunFilter:
				got = f.Limit
			case int:
				got = f
			}
			x.Mu.Unlock()
			if got != c.want {
				t.Errorf("%s%s asks for %d, want %d", path, c.query, got, c.want)
			}
		}
	}
}

func TestFiltersReachTheStore(t *testing.T) {
	x := newSite(t, newShop().stock())
	x.do("GET", apiBase+"/alerts?open=false&unit=tern-street/heron&rule=unit-silent&since=2026-03-01T10:00:00%2B01:00", lab.RoleViewer, "")
	f, ok := x.asked.(lab.AlertFilter)
	if !ok || f.Open == nil || *f.Open || f.Unit != "tern-street/heron" || f.Rule != "unit-silent" || !f.Since.Equal(t0.Add(-30*time.Minute)) {
		t.Errorf("alerts asked for %+v", x.asked)
	}
	x.do("GET", apiBase+"/runs?roll=T1&unit=tern-street/heron&process=bw&verdict=inspect&from=2026-03-01T09:30:00Z", lab.RoleViewer, "")
	r, ok := x.asked.(lab.RunFilter)
	if !ok || r.Roll != "T1" || r.Unit != "tern-street/heron" || r.Process != "bw" || r.Verdict != "inspect" || !r.From.Equal(t0) {
		t.Errorf("runs asked for %+v", x.asked)
	}
}
