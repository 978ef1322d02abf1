package access

import (
	"bytes"
	"context"
	"crypto/sha256"
	"net/http"
	"time"

	"github.com/alexedwards/scs/v2"

	"wetside/internal/lab"
)

// SessionCookie is what the name of a session's cookie begins with: cookieName
// puts more to it.
const SessionCookie = "wetside_session"

const (
	sessionLifetime = 14 * 24 * time.Hour // a board on a wall stays signed in for a fortnight
	sessionName     = "name"
	sessionMark     = "mark"
)

// newSessions makes the session manager over store. The store sees hashes of
// session tokens only.
func newSessions(store scs.Store) *scs.SessionManager {
	// Not scs.New: that starts a store in memory first, and its goroutine cannot
	// be ended without a race.
	return &scs.SessionManager{
		Store: store, HashTokenInStore: true,
		Codec: scs.GobCodec{}, Lifetime: sessionLifetime,
	}
}

// openSession signs u in and gives the cookie that says so.
func (a *Authenticator) openSession(ctx context.Context, r *http.Request, u lab.User) (http.Cookie, error) {
	return a.startSession(ctx, r, map[string]any{sessionName: u.Name, sessionMark: passwordMark(u)})
}

// startSession begins a session with its basis, and gives its cookie.
func (a *Authenticator) startSession(ctx context.Context, r *http.Request, basis map[string]any) (http.Cookie, error) {
	// A fresh token at each sign-in: a cookie that somebody planted in the
	// browser beforehand does not become a session.
	ctx, err := a.sessions.Load(ctx, "")
	if err != nil {
		return http.Cookie{}, err
	}
	for key, value := range basis {
		a.sessions.Put(ctx, key, value)
	}
	token, expiry, err := a.sessions.Commit(ctx)
	if err != nil {
		return http.Cookie{}, err
	}
	c := a.cookie(r)
	c.Value = token
	c.Expires = expiry.UTC()
	c.MaxAge = int(sessionLifetime.Seconds())
	return c, nil
}

// closeSession forgets the session and gives the cookie that clears it.
func (a *Authenticator) closeSession(ctx context.Context, r *http.Request, token string) (http.Cookie, error) {
	ctx, err := a.sessions.Load(ctx, token)
	if err != nil {
		return http.Cookie{}, err
	}
	if err := a.sessions.Destroy(ctx); err != nil {
		return http.Cookie{}, err
	}
	c := a.cookie(r)
	c.MaxAge = -1
	return c, nil
}

func (a *Authenticator) cookie(r *http.Request) http.Cookie {
	return http.Cookie{
		Name: a.cookieName(r, SessionCookie), Path: "/", HttpOnly: true,
		SameSite: http.SameSiteLaxMode,
		Secure:   a.Secure(r),
	}
}

func (a *Authenticator) identifySession(ctx context.Context, session string) (Identity, error) {
	gone := lab.Errorf(lab.KindForbidden, "this sign-in has ended; sign in again")
	sctx, err := a.sessions.Load(ctx, session)
	if err != nil {
		return Identity{}, err
	}
	if hash := a.sessions.GetString(sctx, sessionToken); hash != "" {
		return a.identifyScreen(ctx, session, hash)
	}
	name := a.sessions.GetString(sctx, sessionName)
	if name == "" {
		return Identity{}, gone
	}
	u, err := a.store.UserByName(ctx, name)
	if lab.KindOf(err) == lab.KindNotFound {
		return Identity{}, gone
	}
	if err != nil {
		return Identity{}, err
	}
	if !bytes.Equal(a.sessions.GetBytes(sctx, sessionMark), passwordMark(u)) {
		return Identity{}, gone
	}
	return Identity{u.Name, u.Role, Credential{session: session}}, nil
}

// passwordMark ties a session to the password it was opened with: a changed
// password ends the sessions that the former one opened.
func passwordMark(u lab.User) []byte {
	h := sha256.Sum256([]byte(u.PasswordHash))
	return h[:16]
}
