package access

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"sync"
	"time"

	"wetside/internal/lab"
	"wetside/web/access/internal/argon"
)

// SignedIn is who signed in, and the cookies that say so.
type SignedIn struct {
	Who     Identity
	Cookies []http.Cookie
}

// TooManyError says that too many attempts failed: wait.
type TooManyError struct{ Seconds int }

func (e *TooManyError) Error() string {
	return fmt.Sprintf("too many attempts to sign in failed; wait %d s", e.Seconds)
}

func tooMany(wait time.Duration) error { return &TooManyError{int(math.Ceil(wait.Seconds()))} }

// CredentialError says that what somebody signs in with is wrong.
type CredentialError struct{ Text string }

func (e *CredentialError) Error() string { return e.Text }

// SignIn lets in who knows the password of a name.
func (a *Authenticator) SignIn(r *http.Request, name, password string) (SignedIn, error) {
	addr := a.ClientAddr(r)
	try := signInAttempt(name, addr, a.knownDevice(r, name))
	if wait := a.attempts.begin(try); wait > 0 {
		a.signIns.WithLabelValues("refused").Inc()
		return SignedIn{}, tooMany(wait)
	}
	defer a.attempts.end(try)
	u, ok, err := a.checkSignIn(r.Context(), name, password)
	if err != nil {
		return SignedIn{}, err
	}
	if !ok {
		a.signIns.WithLabelValues("bad").Inc()
		// A name that nobody has may be a password typed into the wrong field.
		if u.Name == "" {
			a.log.Warn("sign-in failed: there is nobody of that name", "from", addr)
		} else {
			a.log.Warn("sign-in failed", "name", u.Name, "from", addr)
		}
		return SignedIn{}, &CredentialError{"name and password do not go together"}
	}
	a.attempts.succeed(try)
	a.signIns.WithLabelValues("good").Inc()
	return a.signedIn(r, u)
}

func (a *Authenticator) signedIn(r *http.Request, u lab.User) (SignedIn, error) {
	cookie, err := a.openSession(r.Context(), r, u)
	if err != nil {
		return SignedIn{}, err
	}
	return SignedIn{Identity{u.Name, u.Role, Credential{session: cookie.Value}}, []http.Cookie{cookie, a.deviceOf(r, u.Name)}}, nil
}

// signInAgain signs in who has just got a new password.
func (a *Authenticator) signInAgain(r *http.Request, name string) (SignedIn, error) {
	u, err := a.store.UserByName(r.Context(), name)
	if err != nil {
		return SignedIn{}, err
	}
	return a.signedIn(r, u)
}

// unknownHash is what the password of an unknown name is compared with, so
// that the time taken does not tell which names there are.
var unknownHash = sync.OnceValues(func() (string, error) {
	return argon.Hash(context.Background(), "a password that nobody has")
})

func (a *Authenticator) checkSignIn(ctx context.Context, name, password string) (lab.User, bool, error) {
	u, err := a.store.UserByName(ctx, name)
	known := err == nil
	if err != nil {
		if lab.KindOf(err) != lab.KindNotFound {
			return u, false, err
		}
		if u.PasswordHash, err = unknownHash(); err != nil {
			return u, false, err
		}
	}
	ok, err := argon.Verify(ctx, u.PasswordHash, password)
	return u, ok && known, err
}

// SignOut ends a session and gives the cookie that clears it.
func (a *Authenticator) SignOut(r *http.Request, who Identity) (http.Cookie, error) {
	if !who.BySession() {
		return http.Cookie{}, lab.Errorf(lab.KindConflict, "a token does not sign out; it holds until it is revoked")
	}
	return a.closeSession(r.Context(), r, who.credential.session)
}

// ChangePassword gives somebody another password, for which they say the one
// until now: it ends all their sign-ins and opens a new one.
func (a *Authenticator) ChangePassword(r *http.Request, who Identity, current, wanted string) (SignedIn, error) {
	if !who.BySession() {
		return SignedIn{}, lab.Errorf(lab.KindConflict, "a token has no password; sign in to change yours")
	}
	ctx, addr := r.Context(), a.ClientAddr(r)
	try := passwordAttempt(who.Name, addr)
	if wait := a.attempts.begin(try); wait > 0 {
		return SignedIn{}, &TooManyError{int(wait.Seconds()) + 1}
	}
	defer a.attempts.end(try)
	_, ok, err := a.checkSignIn(ctx, who.Name, current)
	if err != nil {
		return SignedIn{}, err
	}
	if !ok {
		a.log.Warn("change of password refused", "name", who.Name, "from", addr)
		return SignedIn{}, lab.Errorf(lab.KindForbidden, "body.current is not your password")
	}
	a.attempts.succeed(try)
	if err := SetPassword(ctx, a.store, who.Name, wanted); err != nil {
		return SignedIn{}, err
	}
	a.withdrawn()
	return a.signInAgain(r, who.Name)
}
