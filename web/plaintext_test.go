package web

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// A zero byte, or what is no UTF-8, is refused anywhere in path and query,
// with a problem that says where.
func TestUnstorableTextsAreRefused(t *testing.T) {
	t.Parallel()
	h := refuseUnstorable(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) }))
	for target, want := range map[string]int{
		"/api/v1/runs?roll=48213":        http.StatusNoContent,
		"/api/v1/runs?roll=%C3%A9":       http.StatusNoContent,
		"/api/v1/runs?roll=a%00":         http.StatusUnprocessableEntity,
		"/api/v1/runs?a%00=1":            http.StatusUnprocessableEntity,
		"/api/v1/runs?unit=x&unit=%FF":   http.StatusUnprocessableEntity,
		"/api/v1/runs/a%00b":             http.StatusUnprocessableEntity,
		"/api/v1/runs/%FF/report.pdf":    http.StatusUnprocessableEntity,
		"/api/v1/units/tern-street/a%00": http.StatusUnprocessableEntity,
	} {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, target, nil))
		if w.Code != want {
			t.Errorf("%s: %d; want %d", target, w.Code, want)
		}
		if want == http.StatusUnprocessableEntity && w.Header().Get("Content-Type") != "application/problem+json" {
			t.Errorf("%s: %s; want a problem", target, w.Header().Get("Content-Type"))
		}
	}
}

// A control character in a text of a body is refused with the field that holds
// it; lines may end in notes, not in names. The body reaches the operation whole.
func TestControlCharactersAreRefused(t *testing.T) {
	t.Parallel()
	for body, want := range map[string]string{
		`{"name":"Plover","note":"one\ntwo\tthree"}`:  "",
		`{"name":"Pl\u001b[31mover"}`:                 "body.name",
		`{"name":"two\nlines"}`:                       "body.name",
		`{"rolls":[{"order":"a\u0000"}]}`:             "body.rolls.order",
		`{"note":"bell\u0007"}`:                       "body.note",
		`{"note":"\u009b31m"}`:                        "body.note",
		`{"a\u0007":1}`:                               "a name in body",
		`{"note":`:                                    "",
		`"` + strings.Repeat("x", maxBody) + "\x07\"": "",
	} {
		var got string
		h := refuseUnstorable(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
			b, _ := io.ReadAll(r.Body)
			got = string(b)
		}))
		r := httptest.NewRequest(http.MethodPost, "/api/v1/x", strings.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		switch {
		case want == "" && got != body:
			t.Errorf("%.60s: the operation reads %.60q", body, got)
		case want != "" && (w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), want+" must be plain text")):
			t.Errorf("%.60s: %d %s; want 422 that names %s", body, w.Code, w.Body, want)
		}
	}
}
