package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"wetside/web/access"
	"wetside/web/problem"
)

// fail translates err at the edge: a lab error's text is for the person who
// asked, anything else is logged and told apart from its cause.
func (s *Server) fail(ctx context.Context, err error) error {
	if err == nil {
		return nil
	}
	if _, ok := errors.AsType[huma.StatusError](err); ok {
		return err // with the headers it may carry
	}
	if e, ok := errors.AsType[*access.TooManyError](err); ok {
		return huma.ErrorWithHeaders(huma.Error429TooManyRequests(e.Error()), http.Header{"Retry-After": {strconv.Itoa(e.Seconds)}})
	}
	if e, ok := errors.AsType[*access.CredentialError](err); ok {
		return huma.Error401Unauthorized(e.Error())
	}
	status := problem.Status(err)
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

// explain puts what was wrong and where into the detail of a problem, which
// is what people read, and leaves out what was sent in a body: it may hold a
// password.
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
