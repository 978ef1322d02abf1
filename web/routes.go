package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"wetside/internal/lab"
	"wetside/web/access"
	"wetside/web/problem"
)

// routes builds the whole site.
func (s *Server) routes() (http.Handler, error) {
	mux := http.NewServeMux()
	s.api = humago.NewWithPrefix(mux, apiBase, apiConfig(s.cfg.Version))
	s.api.UseMiddleware(s.authorize)
	s.unitRoutes()
	s.refusedRoutes()
	s.alertRoutes()
	s.runRoutes()
	s.runEntryRoutes()
	s.filmRoutes()
	s.reportRoutes()
	s.rollRoutes()
	s.rollRegisterRoutes()
	s.nextLoadRoutes()
	s.decisionRoutes()
	s.loadRoutes()
	s.containerRoutes()
	s.figureRoutes()
	s.figureChangeRoutes()
	s.ruleFigureRoutes()
	s.entryRoutes()
	s.labSettingsRoutes()
	s.wallRoutes()
	s.checkRoutes()
	s.sheetRoutes()
	s.stripRoutes()
	s.bookRoutes()
	s.mixRoutes()
	s.wasteRoutes()
	s.mixingRoutes()
	s.handOverRoutes()
	s.sessionRoutes()
	s.peopleRoutes()
	s.tokenRoutes()
	s.unitKeyRoutes()
	s.preferenceRoutes()
	s.dutyRoutes()
	s.contactRoutes()
	spec := finishSpec(s.api.OpenAPI())
	built, err := newPages(s.cfg.Pages)
	if err != nil {
		return nil, err
	}
	pages, err := compressed(built)
	if err != nil {
		return nil, err
	}
	mux.Handle("GET "+apiBase+"/live", s.live)
	mux.HandleFunc("GET "+apiBase+"/openapi.yaml", s.serveSpec(spec))
	mux.HandleFunc("GET "+apiBase+"/asyncapi.yaml", document(asyncAPI))
	mux.HandleFunc("GET "+exampleRunPath, s.serveExampleRun)
	s.linkRoutes(mux)
	mux.HandleFunc("GET /healthz", serveHealth)
	mux.HandleFunc("GET /readyz", s.serveReady)
	mux.HandleFunc("GET /metrics", s.serveMetrics)
	mux.HandleFunc("/api/", noSuchRoute(mux))
	mux.Handle("/", pages)

	site, err := s.access.OwnPagesOnly(mux)
	if err != nil {
		return nil, err
	}
	return s.metrics.measure(s.secureHeaders(s.access.ClosedUntilSetUp(refuseUnstorable(site)))), nil
}

// secureHeaders sets what holds for every answer.
func (s *Server) secureHeaders(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(self), microphone=(), geolocation=(), payment=(), usb=()")
		if host, _, _ := strings.Cut(r.Host, ":"); s.access.Secure(r) && !access.LoopbackHost(host) {
			// a year, as RFC 6797 section 6.1 has it in its examples; browsers pass it over in plain HTTP
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		if strings.HasPrefix(r.URL.Path, "/api/") {
			h.Set("Cache-Control", "no-store")
		}
		next.ServeHTTP(w, r)
	})
}

// serveSpec serves the OpenAPI document, which is written when first asked for.
func (s *Server) serveSpec(spec func() ([]byte, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		b, err := spec()
		if err != nil {
			s.log.Error("the document of the API cannot be written", "error", err)
			problem.Write(w, http.StatusInternalServerError, "the document of the API cannot be written")
			return
		}
		document(b)(w, r)
	}
}

// document serves a description of the API.
func document(b []byte) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		// application/yaml: RFC 9512.
		w.Header().Set("Content-Type", "application/yaml")
		w.Header().Set("Cache-Control", "no-cache")
		_, _ = w.Write(b) // the client went away: nobody to tell
	}
}

// noSuchRoute tells a wrong path from a wrong method.
func noSuchRoute(mux *http.ServeMux) http.HandlerFunc {
	methods := []string{http.MethodGet, http.MethodPost, http.MethodPatch, http.MethodPut, http.MethodDelete}
	return func(w http.ResponseWriter, r *http.Request) {
		var allowed []string
		for _, m := range methods {
			probe := &http.Request{Method: m, URL: r.URL, Host: r.Host}
			if _, pattern := mux.Handler(probe); strings.HasPrefix(pattern, m+" ") {
				allowed = append(allowed, m)
			}
		}
		if len(allowed) == 0 {
			problem.Write(w, http.StatusNotFound, r.URL.Path+" is not part of the API; "+apiBase+"/openapi.yaml lists what is")
			return
		}
		w.Header().Set("Allow", strings.Join(allowed, ", "))
		problem.Write(w, http.StatusMethodNotAllowed, r.Method+" is not for "+r.URL.Path+"; it takes "+strings.Join(allowed, ", "))
	}
}

// serveHealth says that the process answers, no more.
func serveHealth(w http.ResponseWriter, _ *http.Request) {
	writeJSON(w, map[string]string{"status": "ok"})
}

// serveReady says whether wetside is watching, else why not.
func (s *Server) serveReady(w http.ResponseWriter, r *http.Request) {
	err := s.cfg.Ready(r.Context())
	if err == nil {
		writeJSON(w, map[string]string{"status": "ready"})
		return
	}
	reasons := reasonsOf(err)
	w.Header().Set("Retry-After", "2")
	problem.Write(w, http.StatusServiceUnavailable, "not ready: "+strings.Join(reasons, "; "),
		func(p *problem.Details) { p.Reasons = reasons })
}

// reasonsOf takes joined errors apart.
func reasonsOf(err error) []string {
	joined, ok := errors.AsType[interface {
		error
		Unwrap() []error
	}](err)
	if !ok {
		return []string{err.Error()}
	}
	var all []string
	for _, e := range joined.Unwrap() {
		all = append(all, reasonsOf(e)...)
	}
	return slices.Compact(all)
}

// serveMetrics serves this machine freely and others with a viewer's token:
// the names of units stand in the metrics.
func (s *Server) serveMetrics(w http.ResponseWriter, r *http.Request) {
	if !s.access.Local(r) {
		who, err := s.access.Authenticate(r)
		if err != nil {
			s.access.Deny(w, r, err)
			return
		}
		if !who.May(lab.RoleViewer) {
			problem.Write(w, http.StatusForbidden, "the metrics need the role viewer")
			return
		}
	}
	s.cfg.Metrics.ServeHTTP(w, r)
}

func writeJSON(w http.ResponseWriter, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	_ = json.NewEncoder(w).Encode(v) // the client went away: nobody to tell
}
