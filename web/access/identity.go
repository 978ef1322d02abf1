package access

import (
	"context"
	"crypto/subtle"
	"net/http"
	"strings"
	"time"

	"wetside/internal/lab"
)

// Identity is who a request comes from. The zero Identity may do nothing.
type Identity struct {
	Name, Role string
	credential Credential
}

// Credential is what a request showed to be known by. It is compared with ==;
// only this package reads what is in it.
type Credential struct {
	// One of them is set.
	token   string // a bearer token
	session string // a session cookie
}

// May tells whether the role of who asks covers role.
func (id Identity) May(role string) bool { return rank(id.Role) >= rank(role) }

// Credential is what they showed, to look at it again later.
func (id Identity) Credential() Credential { return id.credential }

// ByToken tells whether it is a program, by its token.
func (id Identity) ByToken() bool { return id.credential.token != "" }

// BySession tells whether it is a person or a screen that signed in.
func (id Identity) BySession() bool { return id.credential.session != "" }

// rank orders the roles; 0 is no role.
func rank(role string) int {
	switch role {
	case lab.RoleViewer:
		return 1
	case lab.RoleOperator:
		return 2
	case lab.RoleLead:
		return 3
	}
	return 0
}

func checkRole(role string) error {
	if rank(role) == 0 {
		return lab.Errorf(lab.KindInvalid, "role must be viewer, operator or lead; got %q", role)
	}
	return nil
}

// errNoCredential says that a request came with nothing to know it by.
var errNoCredential = &lab.Error{Kind: lab.KindForbidden,
	Text: "sign in, or send a token as Authorization: Bearer TOKEN"}

// Authenticate finds who a request comes from. Its KindForbidden errors mean
// that the credential is missing or no longer good; any other error that it
// could not be looked up.
func (a *Authenticator) Authenticate(r *http.Request) (Identity, error) {
	if h := r.Header.Get("Authorization"); h != "" {
		scheme, token, _ := strings.Cut(h, " ")
		if !strings.EqualFold(scheme, "Bearer") {
			return Identity{}, lab.Errorf(lab.KindForbidden, "the Authorization header is not of the form: Bearer TOKEN")
		}
		return a.Identify(r.Context(), Credential{token: strings.TrimSpace(token)})
	}
	if c, err := r.Cookie(a.cookieName(r, SessionCookie)); err == nil && c.Value != "" {
		return a.Identify(r.Context(), Credential{session: c.Value})
	}
	return Identity{}, errNoCredential
}

// Identify looks a credential up, anew each time, so that what was withdrawn or
// changed counts from the next request on.
func (a *Authenticator) Identify(ctx context.Context, c Credential) (Identity, error) {
	if c.token != "" {
		return a.identifyToken(ctx, c.token)
	}
	return a.identifySession(ctx, c.session)
}

func (a *Authenticator) identifyToken(ctx context.Context, token string) (Identity, error) {
	hash := hashToken(token)
	t, err := a.store.TokenByHash(ctx, hash)
	if lab.KindOf(err) == lab.KindNotFound {
		return Identity{}, lab.Errorf(lab.KindForbidden, "this token is not known; make one with: wetside token create")
	}
	if err != nil {
		return Identity{}, err
	}
	if subtle.ConstantTimeCompare(t.Hash, hash) != 1 {
		return Identity{}, lab.Errorf(lab.KindForbidden, "this token is not known; make one with: wetside token create")
	}
	if a.expired(t) {
		return Identity{}, lab.Errorf(lab.KindForbidden, "this token ended on %s; a lead makes a new one", t.ExpiresAt.Format("2 January 2006"))
	}
	if now := a.clock.Now(); now.Sub(t.LastUsed) >= time.Minute {
		if err := a.store.TokenUsed(ctx, t.Name, now.Truncate(time.Minute)); err != nil {
			a.log.Warn("when a token was last used is not noted", "token", t.Name, "error", err)
		}
	}
	return Identity{t.Name, t.Role, Credential{token: token}}, nil
}

func (a *Authenticator) expired(t lab.Token) bool {
	return !t.ExpiresAt.IsZero() && !a.clock.Now().Before(t.ExpiresAt)
}
