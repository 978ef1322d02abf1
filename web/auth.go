package web

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"net/http"
	"strings"
	"time"

	"wetside/internal/lab"
)

// identity is who a request comes from, and what it showed for it.
type identity struct {
	Name, Role string
	// Exactly one of them is set: the credential, to look at it again later.
	token   string // a bearer token
	session string // a session cookie
}

func (id identity) may(role string) bool { return roleRank(id.Role) >= roleRank(role) }

type contextKey int

const (
	identityKey contextKey = iota
	requestKey
)

// identityOf gives who asked; the zero identity may nothing.
func identityOf(ctx context.Context) identity {
	id, _ := ctx.Value(identityKey).(identity)
	return id
}

// requestOf gives the HTTP request behind an operation.
func requestOf(ctx context.Context) *http.Request {
	r, _ := ctx.Value(requestKey).(*http.Request)
	return r
}

// errNoCredential says that a request came with nothing to know it by.
var errNoCredential = &lab.Error{Kind: lab.KindForbidden,
	Text: "sign in, or send a token as Authorization: Bearer TOKEN"}

// authenticate finds who a request comes from. Its KindForbidden errors mean
// that the credential is missing or no longer good; others that it could not
// be looked at.
func (s *Server) authenticate(r *http.Request) (identity, error) {
	if h := r.Header.Get("Authorization"); h != "" {
		scheme, token, _ := strings.Cut(h, " ")
		if !strings.EqualFold(scheme, "Bearer") {
			return identity{}, lab.Errorf(lab.KindForbidden, "the Authorization header is not of the form: Bearer TOKEN")
		}
		return s.identify(r.Context(), identity{token: strings.TrimSpace(token)})
	}
	if c, err := r.Cookie(s.cookieName(r, sessionCookie)); err == nil && c.Value != "" {
		return s.identify(r.Context(), identity{session: c.Value})
	}
	return identity{}, errNoCredential
}

// identify looks a credential up, anew each time, so that what was revoked or
// changed counts from the next request on.
func (s *Server) identify(ctx context.Context, id identity) (identity, error) {
	if id.token != "" {
		return s.identifyToken(ctx, id)
	}
	return s.identifySession(ctx, id)
}

func (s *Server) identifyToken(ctx context.Context, id identity) (identity, error) {
	hash := hashToken(id.token)
	t, err := s.cfg.Store.TokenByHash(ctx, hash)
	if lab.KindOf(err) == lab.KindNotFound {
		return identity{}, lab.Errorf(lab.KindForbidden, "this token is not known; make one with: wetside token create")
	}
	if err != nil {
		return identity{}, err
	}
	if subtle.ConstantTimeCompare(t.Hash, hash) != 1 {
		return identity{}, lab.Errorf(lab.KindForbidden, "this token is not known; make one with: wetside token create")
	}
	if s.expired(t) {
		return identity{}, lab.Errorf(lab.KindForbidden, "this token ended on %s; a lead makes a new one", t.ExpiresAt.Format("2 January 2006"))
	}
	if now := s.cfg.Clock.Now(); now.Sub(t.LastUsed) >= time.Minute {
		if err := s.cfg.Store.TokenUsed(ctx, t.Name, now.Truncate(time.Minute)); err != nil {
			s.log.Warn("when a token was last used is not noted", "token", t.Name, "error", err)
		}
	}
	id.Name, id.Role = t.Name, t.Role
	return id, nil
}

func (s *Server) expired(t lab.Token) bool {
	return !t.ExpiresAt.IsZero() && !s.cfg.Clock.Now().Before(t.ExpiresAt)
}

// passwordMark ties a session to the password it was opened with: a changed
// password ends the sessions that the former one opened.
func passwordMark(u lab.User) []byte {
	h := sha256.Sum256([]byte(u.PasswordHash))
	return h[:16]
}
