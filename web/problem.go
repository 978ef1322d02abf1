package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// problem is an RFC 9457 problem detail with the members of wetside.
type problem struct {
	huma.ErrorModel
	// SetupNeeded: nobody has set a password yet; POST /setup from this machine.
	SetupNeeded bool `json:"setup_needed,omitempty"`
	// Reasons are all that is wrong, where there may be several.
	Reasons []string `json:"reasons,omitempty"`
}

func statusOf(err error) int {
	switch lab.KindOf(err) {
	case lab.KindInvalid:
		return http.StatusUnprocessableEntity
	case lab.KindNotFound:
		return http.StatusNotFound
	case lab.KindConflict:
		return http.StatusConflict
	case lab.KindForbidden:
		return http.StatusForbidden
	case lab.KindUnavailable:
		return http.StatusServiceUnavailable
	}
	return http.StatusInternalServerError
}

// fail translates err at the edge: a lab error's text is for the person who
// asked, anything else is logged and told apart from its cause.
func (s *Server) fail(ctx context.Context, err error) error {
	if err == nil {
		return nil
	}
	if _, ok := errors.AsType[huma.StatusError](err); ok {
		return err // with the headers it may carry
	}
	status := statusOf(err)
	text := err.Error()
	if status == http.StatusInternalServerError {
		text = "something failed inside wetside; its log says what"
		if r := requestOf(ctx); r != nil && ctx.Err() == nil { // else the client just went away
			s.log.Error("request failed", "method", r.Method, "path", r.URL.Path, "error", err)
		}
	}
	out := huma.NewError(status, text)
	if status == http.StatusServiceUnavailable {
		return huma.ErrorWithHeaders(out, http.Header{"Retry-After": {"2"}})
	}
	return out
}

// writeProblem writes a problem outside of huma's operations.
func writeProblem(w http.ResponseWriter, status int, detail string, more ...func(*problem)) {
	p := problem{ErrorModel: huma.ErrorModel{Status: status, Title: http.StatusText(status), Detail: detail}}
	for _, f := range more {
		f(&p)
	}
	w.Header().Set("Content-Type", "application/problem+json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(p) // the client went away: nobody to tell
}

// deny answers a request whose sender is unknown (401) or may not (403).
func (s *Server) deny(w http.ResponseWriter, r *http.Request, err error) {
	if lab.KindOf(err) != lab.KindForbidden {
		s.log.Error("cannot check who asks", "path", r.URL.Path, "error", err)
		w.Header().Set("Retry-After", "2")
		writeProblem(w, http.StatusServiceUnavailable, "who is asking cannot be checked just now; try again")
		return
	}
	w.Header().Set("WWW-Authenticate", `Bearer realm="wetside"`)
	writeProblem(w, http.StatusUnauthorized, err.Error(), func(p *problem) {
		p.SetupNeeded = s.setupNeeded(r.Context())
	})
}

func tooMany(seconds int) error {
	err := huma.Error429TooManyRequests(fmt.Sprintf("too many attempts to sign in failed; wait %d s", seconds))
	return huma.ErrorWithHeaders(err, http.Header{"Retry-After": {strconv.Itoa(seconds)}})
}

// explain puts what was wrong and where into the detail of a problem, which
// is what people read, and takes back whole bodies: they may hold a password.
func explain(_ huma.Context, _ string, v any) (any, error) {
	p, ok := v.(*huma.ErrorModel)
	if !ok || len(p.Errors) == 0 {
		return v, nil
	}
	var parts []string
	for _, e := range p.Errors {
		if strings.HasPrefix(e.Location, "body") || e.Location == "" {
			e.Value = nil
		}
		text := e.Message
		if e.Location != "" {
			text = e.Location + ": " + text
		}
		if e.Value != nil && e.Value != "" {
			text += fmt.Sprintf(", not %q", fmt.Sprint(e.Value))
		}
		parts = append(parts, text)
	}
	p.Detail = strings.Join(parts, "; ")
	return p, nil
}
