package web

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"net"
	"net/http"
	"strings"

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
	if c, err := r.Cookie(sessionCookie); err == nil && c.Value != "" {
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
	id.Name, id.Role = t.Name, t.Role
	return id, nil
}

// passwordMark ties a session to the password it was opened with: a changed
// password ends the sessions that the former one opened.
func passwordMark(u lab.User) []byte {
	h := sha256.Sum256([]byte(u.PasswordHash))
	return h[:16]
}

// local tells whether a request comes from this very machine, by a name that
// means this machine: a page elsewhere whose name was pointed here does not
// pass, nor does what a proxy hands on.
func local(r *http.Request) bool {
	remote, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil || !loopbackHost(remote) {
		return false
	}
	for _, h := range []string{"Forwarded", "X-Forwarded-For", "X-Real-Ip"} {
		if r.Header.Get(h) != "" {
			return false
		}
	}
	host := r.Host
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	return loopbackHost(strings.Trim(host, "[]"))
}
