package web

import (
	"net/http"
	"net/http/httptest"
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
