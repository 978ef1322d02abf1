package access

import (
	"net/http"
	"strings"

	"wetside/internal/lab"
	"wetside/web/problem"
)

// Deny answers a request whose sender is unknown (401) or cannot be looked up
// just now (503).
func (a *Authenticator) Deny(w http.ResponseWriter, r *http.Request, err error) {
	if lab.KindOf(err) != lab.KindForbidden {
		a.log.Error("cannot check who asks", "path", r.URL.Path, "error", err)
		w.Header().Set("Retry-After", "2")
		problem.Write(w, http.StatusServiceUnavailable, "who is asking cannot be checked just now; try again")
		return
	}
	w.Header().Set("WWW-Authenticate", `Bearer realm="wetside"`)
	problem.Write(w, http.StatusUnauthorized, err.Error(), func(p *problem.Details) {
		p.SetupNeeded = a.SetupNeeded(r.Context())
	})
}

// OwnPagesOnly lets pages of other origins change nothing.
func (a *Authenticator) OwnPagesOnly(next http.Handler) (http.Handler, error) {
	guard := http.NewCrossOriginProtection()
	for _, o := range a.listed {
		if err := guard.AddTrustedOrigin(o); err != nil {
			return nil, err
		}
	}
	guard.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		problem.Write(w, http.StatusForbidden, "a page of another origin may not change anything here")
	}))
	guarded := guard.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if strings.HasPrefix(r.URL.Path, "/p/") {
			next.ServeHTTP(w, r) // page links have a guard of their own: ForeignForm
			return
		}
		guarded.ServeHTTP(w, r)
	}), nil
}
