package web

import (
	"context"
	"fmt"
	"net/http"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"wetside/internal/lab"
	"wetside/web/access"
	"wetside/web/problem"
)

// Limits on lists: what is above the most is cut to it, not refused.
const (
	defaultLimit = 100
	maxLimit     = 10_000
)

// Listing is the limit parameter that every list has. It and the paths are
// exported because huma looks into exported structs only.
type Listing struct {
	Limit int `query:"limit" default:"100" minimum:"1" doc:"How many at most. What is above 10,000 is taken as 10,000."`
}

func (l Listing) capped() int { return min(l.Limit, maxLimit) }

// body is an answer with nothing but a body.
type body[T any] struct{ Body T }

// maxBody is the largest body of a request, in bytes.
const maxBody = 64 << 10

// public is the role of what anybody may do.
const public = ""

const roleMeta = "role"

// register adds an operation that needs a role. There is no other way to add
// one, so none can forget to say who may.
func register[I, O any](s *Server, role string, op huma.Operation, h func(context.Context, *I) (*O, error)) {
	op.Metadata = map[string]any{roleMeta: role}
	op.MaxBodyBytes = maxBody
	op.Errors = append(op.Errors, http.StatusBadRequest, http.StatusUnprocessableEntity, http.StatusServiceUnavailable)
	if role == public {
		op.Security = []map[string][]string{}
	} else {
		op.Security = []map[string][]string{{"bearer": {}}, {"session": {}}}
		op.Errors = append(op.Errors, http.StatusUnauthorized, http.StatusForbidden)
		op.Description = fmt.Sprintf("%s\n\nNeeds the role %s.", op.Description, role)
	}
	huma.Register(s.api, op, func(ctx context.Context, in *I) (*O, error) {
		out, err := h(ctx, in)
		if err != nil {
			return nil, s.fail(ctx, err)
		}
		return out, nil
	})
}

// authorize lets an operation begin only for who may.
func (s *Server) authorize(ctx huma.Context, next func(huma.Context)) {
	r, w := humago.Unwrap(ctx)
	ctx = huma.WithValue(ctx, requestKey, r)
	role, declared := ctx.Operation().Metadata[roleMeta].(string)
	if !declared {
		role = lab.RoleLead
	}
	if role == public {
		next(ctx)
		return
	}
	who, err := s.access.Authenticate(r)
	if err != nil {
		s.access.Deny(w, r, err)
		return
	}
	if !who.May(role) {
		problem.Write(w, http.StatusForbidden, fmt.Sprintf("this needs the role %s; %s has the role %s", role, who.Name, who.Role))
		return
	}
	next(huma.WithValue(ctx, identityKey, who))
}

type contextKey int

const (
	identityKey contextKey = iota
	requestKey
)

// identityOf gives who asked; the zero identity may nothing.
func identityOf(ctx context.Context) access.Identity {
	id, _ := ctx.Value(identityKey).(access.Identity)
	return id
}

// requestOf gives the HTTP request behind an operation.
func requestOf(ctx context.Context) *http.Request {
	r, _ := ctx.Value(requestKey).(*http.Request)
	return r
}

// UnitPath is a unit in a path.
type UnitPath struct {
	Lab  string `path:"lab" doc:"The lab's id." pattern:"^[a-z0-9][a-z0-9-]{0,31}$" example:"tern-street"`
	Unit string `path:"unit" doc:"The unit's id in the lab." pattern:"^[a-z0-9][a-z0-9-]{0,31}$" example:"plover"`
}

func (p UnitPath) id() lab.UnitID { return lab.UnitID{Lab: p.Lab, Unit: p.Unit} }

// checkUnit says what is wrong with a unit given as a filter.
func checkUnit(s string) error {
	if s == "" {
		return nil
	}
	_, err := lab.ParseUnitID(s)
	return err
}

func lead(id, method, path, tag, summary, text string, errs ...int) huma.Operation {
	return huma.Operation{OperationID: id, Method: method, Path: path, Tags: []string{tag}, Summary: summary, Description: text, Errors: errs}
}
