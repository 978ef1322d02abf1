package monitor_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/goccy/go-yaml"

	"wetside/internal/lab"
	"wetside/internal/monitor/monitortest"
	"wetside/web/access"
)

// nasty is what is put where a path names something.
var nasty = []string{
	"none", "..", "%2e%2e%2f%2e%2e%2fetc%2fpasswd", "a%00b", "%ff%fe", "%1b%5b31m", "'%3bDROP%20TABLE%20runs%3b--",
	strings.Repeat("x", 5000), "-1", "9223372036854775808", "%0d%0aX-Evil:%201", "%F0%9F%8E%9E",
}

// nastyBodies are bodies that no operation wants.
var nastyBodies = []string{
	"", "null", "[]", "0", `"x"`, "{", "{}", `{"a":1e309}`, strings.Repeat("[", 20_000), "\x00", "\xff\xfe", `{"name":"\u0000"}`,
	`{"push":1e308,"capacity_l":-1,"c":1e308,"minutes":-5,"limit":1e99,"litres":"many","rolls":{"twin_check":[]}}`,
	`{"name":"` + strings.Repeat("n", 70_000) + `"}`, `{"what":"\u001b[2J","note":"\r\nX: 1","at":"9999-99-99T99:99:99Z","run":{"id":1}}`,
	`{"people":` + strings.Repeat(`[`, 500) + strings.Repeat(`]`, 500) + `}`,
}

var nastyQueries = []string{
	"", "limit=-1", "limit=1e9", "limit=99999999999999999999", "from=yesterday&to=now", "unit=../..", "unit=%00", "q=%ff", "since=2026-13-45", "open=perhaps",
	"cursor=" + strings.Repeat("z", 3000), "roll=%27%20OR%201%3D1", "process=%1b&push=NaN", "push=1e400", strings.Repeat("a=1&", 2000),
}

// A hostile read of the running service: every operation of the API document,
// as nobody, viewer, operator and lead, with what no operation wants. Nothing
// fails inside, nobody is told what they may not know, and refusals are
// problem details (RFC 9457).
func TestHostileRead(t *testing.T) {
	p, store, a, _, _ := monitortest.PagingLab(t, nil)
	var contacts struct {
		Webhook string `json:"webhook"`
	}
	if !a.Get("/api/v1/people/Wren/contacts", &contacts) || contacts.Webhook == "" {
		t.Fatal("the lead's own contacts cannot be read")
	}
	secrets := []string{contacts.Webhook, url.QueryEscape(contacts.Webhook), "password_hash"}
	h := &hostile{t: t, base: p.URL(), tokens: map[string]string{"": ""}, secrets: secrets}
	for _, role := range []string{lab.RoleViewer, lab.RoleOperator, lab.RoleLead} {
		token, err := access.CreateToken(t.Context(), store, role, role, time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		h.tokens[role] = token
	}
	ops := h.operations()
	if len(ops) < 80 {
		t.Fatalf("the document has %d operations; want all", len(ops))
	}
	for _, op := range ops {
		for role := range h.tokens {
			for i := range max(len(nasty), len(nastyBodies), len(nastyQueries)) {
				h.try(op, role, i)
			}
		}
	}
	if h.tried < 4000 || h.refused == 0 || h.allowed == 0 {
		t.Errorf("tried %d, %d refused, %d allowed", h.tried, h.refused, h.allowed)
	}
	if status, text := monitortest.Readiness(t, p.URL()); status != 200 {
		t.Errorf("afterwards it is not ready: %d %s", status, text)
	}
}

type operation struct {
	method, path string
	role         string // "" open to all
}

type hostile struct {
	t       *testing.T
	base    string
	tokens  map[string]string
	secrets []string

	tried, refused, allowed int
}

// operations are those of the API's own document.
func (h *hostile) operations() (out []operation) {
	h.t.Helper()
	resp, err := monitortest.Client.Get(h.base + "/api/v1/openapi.yaml")
	if err != nil {
		h.t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		h.t.Fatal(err)
	}
	var doc struct {
		Paths map[string]map[string]struct {
			Description string           `yaml:"description"`
			Security    []map[string]any `yaml:"security"`
		} `yaml:"paths"`
	}
	if err := yaml.Unmarshal(b, &doc); err != nil {
		h.t.Fatal(err)
	}
	for path, item := range doc.Paths {
		for method, op := range item {
			if !slices.Contains([]string{"get", "put", "post", "patch", "delete"}, method) {
				continue
			}
			o := operation{method: strings.ToUpper(method), path: path}
			for _, role := range []string{lab.RoleViewer, lab.RoleOperator, lab.RoleLead} {
				if strings.Contains(op.Description, "Needs the role "+role+".") {
					o.role = role
				}
			}
			if o.role == "" && len(op.Security) > 0 {
				h.t.Errorf("%s %s does not say who may", o.method, o.path)
			}
			out = append(out, o)
		}
	}
	return out
}

var ranks = map[string]int{"": 0, lab.RoleViewer: 1, lab.RoleOperator: 2, lab.RoleLead: 3}

// try sends one request with the i-th of each kind of nonsense.
func (h *hostile) try(op operation, role string, i int) {
	path := op.path
	for strings.Contains(path, "{") {
		from, to := strings.Index(path, "{"), strings.Index(path, "}")
		path = path[:from] + nasty[i%len(nasty)] + path[to+1:]
	}
	if !strings.HasPrefix(path, "/api/") {
		path = "/api/v1" + path
	}
	if q := nastyQueries[i%len(nastyQueries)]; q != "" {
		path += "?" + q
	}
	body := ""
	if op.method != "GET" && op.method != "DELETE" {
		body = nastyBodies[i%len(nastyBodies)]
	}
	what := fmt.Sprintf("%s %.120s as %q with %.80q", op.method, path, role, body)
	req, err := http.NewRequest(op.method, h.base+path, strings.NewReader(body))
	if err != nil {
		return // no client sends that
	}
	if h.tokens[role] != "" {
		req.Header.Set("Authorization", "Bearer "+h.tokens[role])
	}
	if body != "" {
		req.Header.Set("Content-Type", "application/json")
	}
	resp, err := noRedirect.Do(req)
	if err != nil {
		h.t.Errorf("%s: %v", what, err)
		return
	}
	defer resp.Body.Close()
	b, _ := io.ReadAll(io.LimitReader(resp.Body, 4<<20))
	h.tried++
	h.judge(op, role, what, resp, b)
}

var noRedirect = &http.Client{Timeout: time.Minute, Transport: &http.Transport{MaxIdleConnsPerHost: 4},
	CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}

func (h *hostile) judge(op operation, role, what string, resp *http.Response, b []byte) {
	if resp.StatusCode >= 500 {
		h.t.Errorf("%s: %d %.300s", what, resp.StatusCode, b)
	}
	if resp.Header.Get("X-Evil") != "" {
		h.t.Errorf("%s: a header was put in", what)
	}
	if bytes.ContainsAny(b, "\x1b\x00") && resp.StatusCode >= 400 {
		h.t.Errorf("%s: control characters came back: %q", what, b)
	}
	switch {
	case resp.StatusCode/100 == 3: // the path, cleaned of its dots
	case resp.StatusCode < 400:
		h.allowed++
		if ranks[role] < ranks[op.role] {
			h.t.Errorf("%s: allowed with %d; it needs the role %s", what, resp.StatusCode, op.role)
		}
	default:
		h.refused++
		var problem struct {
			Status int
			Detail string
		}
		if !strings.HasPrefix(resp.Header.Get("Content-Type"), "application/problem+json") || json.Unmarshal(b, &problem) != nil || problem.Status != resp.StatusCode {
			h.t.Errorf("%s: %d %s, no problem details: %.200s", what, resp.StatusCode, resp.Header.Get("Content-Type"), b)
		}
	}
	if role == lab.RoleLead {
		return
	}
	for _, s := range h.secrets {
		if bytes.Contains(b, []byte(s)) {
			h.t.Errorf("%s: tells %q", what, s)
		}
	}
}
