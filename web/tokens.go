package web

import (
	"context"
	"net/http"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/web/access"
)

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
