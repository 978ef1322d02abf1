package web

import (
	"bytes"
	"context"
	"net/http"
	"time"

	"github.com/alexedwards/scs/v2"

	"wetside/internal/lab"
)

const (
	sessionCookie   = "wetside_session"
	sessionLifetime = 14 * 24 * time.Hour // a board on a wall stays signed in for a fortnight
	sessionName     = "name"
	sessionMark     = "mark"
)

// newSessions makes the session manager over store. The store sees hashes of
// session tokens only.
func newSessions(store scs.Store) *scs.SessionManager {
	// Not scs.New: it begins with a store in memory, whose goroutine cannot be
	// ended without a race.
	return &scs.SessionManager{
		Store: store, HashTokenInStore: true,
		Codec: scs.GobCodec{}, Lifetime: sessionLifetime,
	}
}

// openSession signs u in and gives the cookie that says so.
func (s *Server) openSession(ctx context.Context, r *http.Request, u lab.User) (http.Cookie, error) {
	return s.startSession(ctx, r, map[string]any{sessionName: u.Name, sessionMark: passwordMark(u)})
}

// startSession begins a session with what it rests on, and gives its cookie.
func (s *Server) startSession(ctx context.Context, r *http.Request, rests map[string]any) (http.Cookie, error) {
	// A fresh token at each sign-in: one that somebody planted gains nothing.
	ctx, err := s.sessions.Load(ctx, "")
	if err != nil {
		return http.Cookie{}, err
	}
	for key, value := range rests {
		s.sessions.Put(ctx, key, value)
	}
	token, expiry, err := s.sessions.Commit(ctx)
	if err != nil {
		return http.Cookie{}, err
	}
	c := s.cookie(r)
	c.Value = token
	c.Expires = expiry.UTC()
	c.MaxAge = int(sessionLifetime.Seconds())
	return c, nil
}

// closeSession forgets the session and gives the cookie that clears it.
func (s *Server) closeSession(ctx context.Context, r *http.Request, token string) (http.Cookie, error) {
	ctx, err := s.sessions.Load(ctx, token)
	if err != nil {
		return http.Cookie{}, err
	}
	if err := s.sessions.Destroy(ctx); err != nil {
		return http.Cookie{}, err
	}
	c := s.cookie(r)
	c.MaxAge = -1
	return c, nil
}

func (s *Server) cookie(r *http.Request) http.Cookie {
	return http.Cookie{
		Name: s.cookieName(r, sessionCookie), Path: "/", HttpOnly: true,
		SameSite: http.SameSiteLaxMode,
		Secure:   s.secure(r),
	}
}

func (s *Server) identifySession(ctx context.Context, id identity) (identity, error) {
	gone := lab.Errorf(lab.KindForbidden, "this sign-in has ended; sign in again")
	sctx, err := s.sessions.Load(ctx, id.session)
	if err != nil {
		return identity{}, err
	}
	if hash := s.sessions.GetString(sctx, sessionToken); hash != "" {
		return s.identifyScreen(ctx, id, hash)
	}
	name := s.sessions.GetString(sctx, sessionName)
	if name == "" {
		return identity{}, gone
	}
	u, err := s.cfg.Store.UserByName(ctx, name)
	if lab.KindOf(err) == lab.KindNotFound {
		return identity{}, gone
	}
	if err != nil {
		return identity{}, err
	}
	if !bytes.Equal(s.sessions.GetBytes(sctx, sessionMark), passwordMark(u)) {
		return identity{}, gone
	}
	id.Name, id.Role = u.Name, u.Role
	return id, nil
}
