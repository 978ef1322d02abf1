package web

import (
	"context"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/web/access"
)

// What was given to somebody can be taken back by a lead: a role, a password,
// a sign-in, a token, a unit's key, the links in pages. It counts from the
// next request on, and open sockets end at once.

// RoleRequest changes what a person may do.
type RoleRequest struct {
	Role string `json:"role" enum:"viewer,operator,lead" doc:"viewer reads, operator also acknowledges and shelves, lead also sets up."`
}

// NewPasswordRequest gives a person a new password.
type NewPasswordRequest struct {
	Password string `json:"password" maxLength:"256" doc:"8 to 256 bytes; none of those that everybody uses."`
}

// TokenView is an API token as it is listed.
type TokenView struct {
	Name       string    `json:"name"`
	Role       string    `json:"role"`
	CreatedAt  lab.Time  `json:"created_at"`
	ExpiresAt  *lab.Time `json:"expires_at" doc:"null: it holds until it is withdrawn."`
	LastUsedAt *lab.Time `json:"last_used_at" doc:"To the minute; null: never."`
	// Token is set in the answer that made it, and never again.
	Token string `json:"token,omitempty" doc:"Only in the answer that made it: it is not kept."`
}

// TokenList answers GET /tokens.
type TokenList struct {
	Tokens []TokenView `json:"tokens"`
}

// TokenRequest makes a token.
type TokenRequest struct {
	Name string `json:"name" maxLength:"64" doc:"What the token is for."`
	Role string `json:"role" enum:"viewer,operator,lead" doc:"What it may do."`
	Days int    `json:"days,omitempty" minimum:"1" maximum:"3650" default:"365" doc:"For how many days it holds."`
}

// UnitKeyList answers GET /unit-keys.
type UnitKeyList struct {
	Keys []lab.UnitKeyInfo `json:"keys"`
}

// UnitKeyMade is a unit's new key, shown once.
type UnitKeyMade struct {
	Unit string `json:"unit"`
	Key  string `json:"key" doc:"The password of the unit at the broker; its user is lab/unit. It is not kept."`
}

// WithdrawLinksRequest says which links in pages end.
type WithdrawLinksRequest struct {
	Person string `json:"person,omitempty" maxLength:"64" doc:"Those sent to this person until now."`
	Alert  string `json:"alert,omitempty" maxLength:"200" doc:"Those about this alert until now."`
}

func lead(id, method, path, tag, summary, text string, errs ...int) huma.Operation {
	return huma.Operation{OperationID: id, Method: method, Path: path, Tags: []string{tag}, Summary: summary, Description: text, Errors: errs}
}

func (s *Server) withdrawRoutes() {
	register(s, lab.RoleLead, lead("set-role", http.MethodPatch, "/users/{name}", "people", "Change what a person may do",
		"It counts from the next request on, also for links in pages that were sent before. The last lead stays one.",
		http.StatusNotFound, http.StatusConflict), s.setRole)
	remove := lead("remove-user", http.MethodDelete, "/users/{name}", "people", "Remove a person",
		"Their sign-ins, sockets and links in pages end at once, and nothing is sent to them any more. What they did stays in the books under their name. The last lead stays.",
		http.StatusNotFound, http.StatusConflict)
	remove.DefaultStatus = http.StatusNoContent
	register(s, lab.RoleLead, remove, func(ctx context.Context, in *PersonPath) (*struct{}, error) {
		err := s.cfg.Store.DeleteUser(ctx, in.Name, identityOf(ctx).Name)
		s.live.RecheckSoon()
		return nil, err
	})
	reset := lead("reset-password", http.MethodPost, "/users/{name}/password", "people", "Give a person a new password",
		"Ends all their sign-ins. They change it themselves at their next one.", http.StatusNotFound)
	reset.DefaultStatus = http.StatusNoContent
	register(s, lab.RoleLead, reset, func(ctx context.Context, in *struct {
		PersonPath
		Body NewPasswordRequest
	}) (*struct{}, error) {
		err := access.SetPassword(ctx, s.cfg.Store, in.Name, in.Body.Password)
		if lab.KindOf(err) == lab.KindNotFound && err != nil {
			err = lab.Errorf(lab.KindNotFound, "there is nobody called %q", in.Name)
		}
		s.live.RecheckSoon()
		return nil, err
	})
	links := lead("withdraw-links", http.MethodPost, "/page-links/withdraw", "people", "Withdraw links in pages",
		"Those sent to a person, or those about an alert, until now. Pages sent later have links that work.", http.StatusNotFound)
	links.DefaultStatus = http.StatusNoContent
	register(s, lab.RoleLead, links, func(ctx context.Context, in *struct{ Body WithdrawLinksRequest }) (*struct{}, error) {
		if (in.Body.Person == "") == (in.Body.Alert == "") {
			return nil, lab.Errorf(lab.KindInvalid, "body: give person or alert, one of them")
		}
		return nil, s.cfg.Store.WithdrawLinks(ctx, in.Body.Person, in.Body.Alert, identityOf(ctx).Name)
	})
	s.tokenRoutes()
	s.unitKeyRoutes()
}

func (s *Server) setRole(ctx context.Context, in *struct {
	PersonPath
	Body RoleRequest
}) (*body[Person], error) {
	if err := s.cfg.Store.SetRole(ctx, in.Name, in.Body.Role, identityOf(ctx).Name); err != nil {
		return nil, err
	}
	s.live.RecheckSoon()
	u, err := s.cfg.Store.UserByName(ctx, in.Name)
	return &body[Person]{Person{u.Name, u.Role, lab.At(u.CreatedAt)}}, err
}

func (s *Server) tokenRoutes() {
	register(s, lab.RoleLead, lead("list-tokens", http.MethodGet, "/tokens", "people", "API tokens",
		"By name, with when each was last used; the tokens themselves are not kept."), s.listTokens)
	add := lead("create-token", http.MethodPost, "/tokens", "people", "Make an API token", "It is in the answer, once.", http.StatusConflict)
	add.DefaultStatus = http.StatusCreated
	register(s, lab.RoleLead, add, s.makeToken)
	end := lead("withdraw-token", http.MethodDelete, "/tokens/{name}", "people", "Withdraw an API token",
		"It counts from the next request on; its sockets end at once.", http.StatusNotFound)
	end.DefaultStatus = http.StatusNoContent
	register(s, lab.RoleLead, end, func(ctx context.Context, in *struct {
		Name string `path:"name" maxLength:"64" doc:"The token's name."`
	}) (*struct{}, error) {
		if strings.HasPrefix(in.Name, access.ScreenPrefix) {
			return nil, lab.Errorf(lab.KindNotFound, "there is no token %q; the links of screens are under /wall-links", in.Name)
		}
		err := s.cfg.Store.DeleteToken(ctx, in.Name)
		s.live.RecheckSoon()
		return nil, err
	})
}

func (s *Server) listTokens(ctx context.Context, _ *struct{}) (*body[TokenList], error) {
	tokens, err := s.cfg.Store.Tokens(ctx)
	out := TokenList{Tokens: []TokenView{}}
	for _, t := range tokens {
		if !strings.HasPrefix(t.Name, access.ScreenPrefix) {
			out.Tokens = append(out.Tokens, viewOfToken(t))
		}
	}
	return &body[TokenList]{out}, err
}

func viewOfToken(t lab.Token) TokenView {
	return TokenView{Name: t.Name, Role: t.Role, CreatedAt: lab.At(t.CreatedAt), ExpiresAt: lab.AtPtr(t.ExpiresAt), LastUsedAt: lab.AtPtr(t.LastUsed)}
}

func (s *Server) makeToken(ctx context.Context, in *struct{ Body TokenRequest }) (*body[TokenView], error) {
	now := s.cfg.Clock.Now()
	t := lab.Token{Name: in.Body.Name, Role: in.Body.Role, CreatedAt: now, ExpiresAt: now.Add(time.Duration(in.Body.Days) * 24 * time.Hour)}
	token, err := access.CreateToken(ctx, s.cfg.Store, t.Name, t.Role, t.ExpiresAt)
	if err != nil {
		return nil, err
	}
	v := viewOfToken(t)
	v.Token = token
	return &body[TokenView]{v}, nil
}

func (s *Server) unitKeyRoutes() {
	register(s, lab.RoleLead, lead("list-unit-keys", http.MethodGet, "/unit-keys", "units", "Units that have a key for the broker",
		"By unit; the keys themselves are not kept."), withKeys(s, func(ctx context.Context, k UnitKeys, _ *struct{}) (*body[UnitKeyList], error) {
		keys, err := k.UnitKeyList(ctx)
		if keys == nil {
			keys = []lab.UnitKeyInfo{}
		}
		return answer(UnitKeyList{keys}, err)
	}))
	add := lead("create-unit-key", http.MethodPost, "/units/{lab}/{unit}/key", "units", "Give a unit a new key for the broker",
		"It is in the answer, once. It replaces the one before, and a connection made with that one ends.")
	add.DefaultStatus = http.StatusCreated
	register(s, lab.RoleLead, add, withKeys(s, func(ctx context.Context, k UnitKeys, in *UnitPath) (*body[UnitKeyMade], error) {
		key, err := k.MakeUnitKey(ctx, in.id())
		return answer(UnitKeyMade{in.id().String(), key}, err)
	}))
	end := lead("withdraw-unit-key", http.MethodDelete, "/units/{lab}/{unit}/key", "units", "Withdraw a unit's key for the broker",
		"Its connection ends.", http.StatusNotFound)
	end.DefaultStatus = http.StatusNoContent
	register(s, lab.RoleLead, end, withKeys(s, func(ctx context.Context, k UnitKeys, in *UnitPath) (*struct{}, error) {
		return nil, k.DeleteUnitKey(ctx, in.id())
	}))
}

// withKeys gives an operation the keys of units.
func withKeys[I, O any](s *Server, h func(context.Context, UnitKeys, *I) (*O, error)) func(context.Context, *I) (*O, error) {
	return func(ctx context.Context, in *I) (*O, error) {
		if s.cfg.Keys == nil {
			return nil, lab.Errorf(lab.KindConflict, "this wetside has no broker of its own; keys of units are made at the broker")
		}
		return h(ctx, s.cfg.Keys, in)
	}
}
