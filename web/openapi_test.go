package web

import (
	"bytes"
	"context"
	"flag"
	"io"
	"net/http"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/legacy"
	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
	"wetside/web/access"
)

type call struct {
	op, method, path, role, body string
	want                         int
}

// calls has at least one request for every operation, good ones and bad ones.
// The role is the least that may; want is the status that it then gets.
var calls = []call{
	{"list-units", "GET", "/units", "viewer", "", 200},
	{"get-unit", "GET", "/units/tern-street/plover", "viewer", "", 200},
	{"get-unit", "GET", "/units/tern-street/heron", "viewer", "", 200}, // everything null
	{"get-unit", "GET", "/units/tern-street/none", "viewer", "", 404},
	{"get-unit", "GET", "/units/Tern/none", "viewer", "", 422},
	{"set-unit", "PATCH", "/units/tern-street/plover", "lead", `{"name":"Plover","standing":"accepted"}`, 200},
	{"set-unit", "PATCH", "/units/tern-street/plover", "lead", `{"standing":"gone"}`, 422},
	{"set-unit", "PATCH", "/units/tern-street/plover", "lead", `{}`, 422},
	{"get-trace", "GET", "/units/tern-street/plover/trace?from=2026-03-01T09:00:00.000Z&to=2026-03-01T10:00:00Z", "viewer", "", 200},
	{"get-trace", "GET", "/units/tern-street/plover/trace?from=2026-03-01T11:00:00Z&to=2026-03-01T10:00:00Z", "viewer", "", 422},
	{"get-trace", "GET", "/units/tern-street/plover/trace?from=2026-01-01T11:00:00Z&to=2026-03-01T10:00:00Z", "viewer", "", 422},
	{"get-levels", "GET", "/units/tern-street/plover/levels?from=2026-03-01T09:00:00.000Z&to=2026-03-01T10:00:00Z", "viewer", "", 200},
	{"get-levels", "GET", "/units/tern-street/plover/levels?from=2026-03-01T11:00:00Z&to=2026-03-01T10:00:00Z", "viewer", "", 422},
	{"list-refused", "GET", "/units/tern-street/plover/refused", "viewer", "", 200},
	{"list-refused", "GET", "/units/tern-street/never-heard/refused", "viewer", "", 200},
	{"get-levels", "GET", "/units/tern-street/none/levels", "viewer", "", 404},
	{"next-jobs", "GET", "/next-jobs", "viewer", "", 200},
	{"list-alerts", "GET", "/alerts?open=true&unit=tern-street/plover&rule=bath-temperature&since=2026-03-01T09:00:00Z&limit=5", "viewer", "", 200},
	{"list-alerts", "GET", "/alerts?open=perhaps", "viewer", "", 422},
	{"get-alert", "GET", "/alerts/a-1", "viewer", "", 200},
	{"get-alert", "GET", "/alerts/none", "viewer", "", 404},
	{"acknowledge-alert", "POST", "/alerts/a-1/acknowledge", "operator", `{"note":"on my way"}`, 200},
	{"acknowledge-alert", "POST", "/alerts/a-1/acknowledge", "operator", "", 200},
	{"acknowledge-alert", "POST", "/alerts/none/acknowledge", "operator", `{}`, 404},
	{"acknowledge-alert", "POST", "/alerts/closed/acknowledge", "operator", `{}`, 409},
	{"shelve-alert", "POST", "/alerts/a-1/shelve", "operator", `{"minutes":30,"reason":"known"}`, 200},
	{"shelve-alert", "POST", "/alerts/a-1/shelve", "operator", `{"minutes":0,"reason":"known"}`, 422},
	{"unshelve-alert", "POST", "/alerts/a-1/unshelve", "operator", "", 200},
	{"list-runs", "GET", "/runs?unit=tern-street/plover&verdict=inspect", "viewer", "", 200},
	{"get-run", "GET", "/runs/run-1", "viewer", "", 200},
	{"get-run", "GET", "/runs/none", "viewer", "", 404},
	{"list-quarantine", "GET", "/quarantine?limit=3", "viewer", "", 200},
	{"who-am-i", "GET", "/session", "", "", 200},
	{"sign-in", "POST", "/session", "", `{"name":"Wren","password":"correct horse"}`, 200},
	{"sign-in", "POST", "/session", "", `{"name":"Wren","password":"wrong"}`, 401},
	{"sign-in", "POST", "/session", "", `{"name":"Wren"}`, 422},
	{"sign-in", "POST", "/session", "", `{"name":`, 400},
	{"sign-out", "DELETE", "/session", "viewer", "", 409}, // a token does not sign out
	{"change-password", "POST", "/session/password", "viewer", `{"current":"a","new":"b"}`, 409},
	{"set-up", "POST", "/setup", "", `{"name":"Wren","password":"long enough"}`, 403},
	{"list-users", "GET", "/users", "lead", "", 200},
	{"add-user", "POST", "/users", "lead", `{"name":"Robin","role":"operator","password":"long enough"}`, 201},
	{"get-reach", "GET", "/reach", "lead", "", 200},
	{"add-user", "POST", "/users", "lead", `{"name":"Robin","role":"operator","password":"long enough"}`, 409},
	{"add-user", "POST", "/users", "lead", `{"name":"Siskin","role":"operator","password":"short"}`, 422},
	{"add-user", "POST", "/users", "lead", `{"name":"Siskin","role":"operator","password":"Password123!"}`, 422},
	{"set-role", "PATCH", "/users/Robin", "lead", `{"role":"viewer"}`, 200},
	{"set-role", "PATCH", "/users/nobody", "lead", `{"role":"viewer"}`, 404},
	{"reset-password", "POST", "/users/Robin/password", "lead", `{"password":"battery staple"}`, 204},
	{"reset-password", "POST", "/users/nobody/password", "lead", `{"password":"battery staple"}`, 404},
	{"withdraw-links", "POST", "/page-links/withdraw", "lead", `{"person":"Robin"}`, 204},
	{"withdraw-links", "POST", "/page-links/withdraw", "lead", `{}`, 422},
	{"remove-user", "DELETE", "/users/Robin", "lead", "", 204},
	{"remove-user", "DELETE", "/users/Robin", "lead", "", 404},
	{"create-token", "POST", "/tokens", "lead", `{"name":"scanner","role":"operator","days":30}`, 201},
	{"create-token", "POST", "/tokens", "lead", `{"name":"scanner 2","role":"operator","days":0}`, 422},
	{"list-tokens", "GET", "/tokens", "lead", "", 200},
	{"withdraw-token", "DELETE", "/tokens/scanner", "lead", "", 204},
	{"withdraw-token", "DELETE", "/tokens/scanner", "lead", "", 404},
	{"list-unit-keys", "GET", "/unit-keys", "lead", "", 200},
	{"create-unit-key", "POST", "/units/tern-street/heron/key", "lead", "", 201},
	{"withdraw-unit-key", "DELETE", "/units/tern-street/heron/key", "lead", "", 204},
	{"withdraw-unit-key", "DELETE", "/units/tern-street/heron/key", "lead", "", 404},
}

func loadSpec(t *testing.T, x *site) *openapi3.T {
	t.Helper()
	resp, b := x.do("GET", apiBase+"/openapi.yaml", "", "")
	if resp.StatusCode != 200 || resp.Header.Get("Content-Type") != "application/yaml" {
		t.Fatalf("openapi.yaml: %d %s", resp.StatusCode, resp.Header.Get("Content-Type"))
	}
	doc, err := openapi3.NewLoader().LoadFromData(b)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(doc.OpenAPI, "3.1") {
		t.Fatalf("openapi is %q, want 3.1", doc.OpenAPI)
	}
	if err := doc.Validate(t.Context()); err != nil {
		t.Fatal(err)
	}
	return doc
}

func busySite(t *testing.T) *site {
	s := newShop().stock()
	closed := someAlert("closed")
	closed.State = lab.Closed
	s.alerts["closed"] = closed
	s.stockBooks()
	if err := access.CreateUser(t.Context(), s, "Wren", lab.RoleOperator, "correct horse"); err != nil {
		t.Fatal(err)
	}
	return newSite(t, s, func(c *Config) { c.Sheets = newShelf() })
}

var update = flag.Bool("update", false, "write testdata/openapi.yaml anew")

// testdata/openapi.yaml is the document as it is served. What changes in the
// API is seen there, and the types of the pages are made of it.
func TestOpenAPIIsWhatTheTreeSays(t *testing.T) {
	const file = "testdata/openapi.yaml"
	_, served := busySite(t).do("GET", apiBase+"/openapi.yaml", "", "")
	got := "# The API as it is served, for reading and for the types of the pages. Written by: make types\n" + string(served)
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); diff != "" {
		t.Errorf("%s is not what is served (-file +served); make types writes it:\n%s", file, diff)
	}
}

// Every answer of every operation is what the document says it is, by a
// validator that is not ours.
func TestAnswersMatchOpenAPI(t *testing.T) {
	x := busySite(t)
	doc := loadSpec(t, x)
	router, err := legacy.NewRouter(doc)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, c := range calls {
		t.Run(c.method+c.path, func(t *testing.T) {
			resp, got := x.do(c.method, apiBase+c.path, c.role, c.body)
			if resp.StatusCode != c.want {
				t.Fatalf("status %d, want %d: %s", resp.StatusCode, c.want, got)
			}
			op := validate(t, router, c.method, apiBase+c.path, resp, got)
			if op != c.op {
				t.Errorf("operation %q, want %q", op, c.op)
			}
			seen[c.op] = true
		})
	}
	for path, item := range doc.Paths.Map() {
		for method, op := range item.Operations() {
			if !seen[op.OperationID] {
				t.Errorf("%s %s (%s) was not tried", method, path, op.OperationID)
			}
		}
	}
}

func validate(t *testing.T, router routers.Router, method, path string, resp *http.Response, got []byte) string {
	t.Helper()
	req, err := http.NewRequest(method, path, nil)
	if err != nil {
		t.Fatal(err)
	}
	route, params, err := router.FindRoute(req)
	if err != nil {
		t.Fatal(err)
	}
	err = openapi3filter.ValidateResponse(context.Background(), &openapi3filter.ResponseValidationInput{
		RequestValidationInput: &openapi3filter.RequestValidationInput{Request: req, PathParams: params, Route: route},
		Status:                 resp.StatusCode, Header: resp.Header,
		Body:    io.NopCloser(bytes.NewReader(got)),
		Options: &openapi3filter.Options{IncludeResponseStatus: true},
	})
	if err != nil {
		t.Errorf("%v\n%s", err, got)
	}
	return route.Operation.OperationID
}

// The document says of times, lists, null and units what the types mean.
func TestSpecSaysWhatTypesMean(t *testing.T) {
	doc := loadSpec(t, busySite(t))
	prop := func(typ, field string) *openapi3.Schema {
		s := doc.Components.Schemas[typ]
		if s == nil || s.Value.Properties[field] == nil {
			t.Fatalf("no %s.%s", typ, field)
		}
		return s.Value.Properties[field].Value
	}
	if p := prop("Alert", "raised_at"); p.Format != "date-time" || !p.Type.Is("string") {
		t.Errorf("raised_at: %v %q, want string date-time", p.Type, p.Format)
	}
	if p := prop("Alert", "cleared_at"); p.Format != "date-time" || !p.Type.Includes("null") {
		t.Errorf("cleared_at: %v %q, want nullable date-time", p.Type, p.Format)
	}
	if p := prop("Unit", "open_alerts"); p.Type.Includes("null") {
		t.Error("open_alerts may be null")
	}
	if p := prop("Unit", "run"); len(p.OneOf) != 2 {
		t.Error("run may not be null")
	}
	if p := prop("Alert", "state"); len(p.Enum) != 4 {
		t.Errorf("alert states: %v", p.Enum)
	}
	if p := prop("Run", "verdict"); !slices.Contains(p.Enum, any(nil)) {
		t.Errorf("verdicts: %v, want null among them", p.Enum)
	}
	phases := prop("UnitRun", "phase").Enum
	for _, p := range lab.Phases {
		if !slices.Contains(phases, any(string(p))) {
			t.Errorf("phases: %v, without %q", phases, p)
		}
	}
	// A figure says its unit: in its name and in words.
	words := map[string]string{"_s": "second", "_c": "Celsius", "_l": "lit", "_stops": "stops", "_pct": "percent"}
	for name, s := range doc.Components.Schemas {
		for key, p := range s.Value.Properties {
			for end, word := range words {
				if strings.HasSuffix(key, end) && !strings.Contains(p.Value.Description, word) {
					t.Errorf("%s.%s: description %q does not say %q", name, key, p.Value.Description, word)
				}
			}
		}
	}
}

func TestEveryDocIsOfSomething(t *testing.T) {
	doc := loadSpec(t, busySite(t))
	fields := map[string]int{}
	for _, s := range doc.Components.Schemas {
		for key, p := range s.Value.Properties {
			if p.Value.Description == sharedDocs[key] {
				fields[key]++
			}
		}
	}
	for key := range sharedDocs {
		if fields[key] < 2 {
			t.Errorf("sharedDocs has %q, which %d fields share: it belongs beside the field", key, fields[key])
		}
	}
	for typ := range typeDocs {
		if doc.Components.Schemas[typ] == nil {
			t.Errorf("typeDocs has %q, which is no schema", typ)
		}
	}
}
