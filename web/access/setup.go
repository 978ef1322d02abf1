package access

import (
	"context"
	"crypto/subtle"
	"net"
	"net/http"
	"strings"

	"wetside/internal/lab"
	"wetside/web/problem"
)

// PasswordSet tells whether anybody can sign in yet.
func PasswordSet(ctx context.Context, store Store) (bool, error) {
	users, err := store.Users(ctx)
	return len(users) > 0, err
}

// MayListen is nil where addr may be listened on: a loopback address always,
// any other only once somebody has set a password.
func MayListen(ctx context.Context, store Store, addr string) error {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return lab.Errorf(lab.KindInvalid, "listen address %q is not host:port, such as 127.0.0.1:8080: %w", addr, err)
	}
	if LoopbackHost(host) {
		return nil
	}
	set, err := PasswordSet(ctx, store)
	if err != nil {
		return err
	}
	if !set {
		return lab.Errorf(lab.KindForbidden,
			"%s would be reachable from other machines and nobody has set a password yet; "+
				"listen on 127.0.0.1 first, open the page there, set the first lead's name and password, and start again with this address", addr)
	}
	return nil
}

// SetupCode is what the first lead has to show, "" once there is one: for
// whoever started wetside, and nobody else.
func (a *Authenticator) SetupCode(ctx context.Context) string {
	if !a.SetupNeeded(ctx) {
		return ""
	}
	return a.setupCode
}

// SetupNeeded tells whether nobody can sign in yet. Where the store
// cannot be read it says no: people then see the sign-in page with its error, and
// not an invitation to set up a lab that is set up already.
func (a *Authenticator) SetupNeeded(ctx context.Context) bool {
	if a.anyUser.Load() {
		return false
	}
	set, err := PasswordSet(ctx, a.store)
	if err != nil {
		a.log.Error("cannot read the users", "error", err)
		return false
	}
	if set {
		a.anyUser.Store(true)
	}
	return !set
}

// SetUp makes the first lead, for who shows the set-up code, and signs them in.
func (a *Authenticator) SetUp(r *http.Request, name, password, code string) (SignedIn, error) {
	ctx := r.Context()
	try := passwordAttempt("set-up", a.ClientAddr(r))
	if wait := a.attempts.begin(try); wait > 0 {
		return SignedIn{}, tooMany(wait)
	}
	defer a.attempts.end(try)
	code = strings.ToUpper(strings.TrimSpace(code))
	if subtle.ConstantTimeCompare([]byte(code), []byte(a.setupCode)) != 1 {
		return SignedIn{}, lab.Errorf(lab.KindForbidden, "body.code is not the set-up code; wetside prints it where it was started, and in its log")
	}
	a.attempts.succeed(try)
	a.setup.Lock() // two at once: the second finds the first's user
	defer a.setup.Unlock()
	set, err := PasswordSet(ctx, a.store)
	if err != nil {
		return SignedIn{}, err
	}
	if set {
		return SignedIn{}, lab.Errorf(lab.KindConflict, "wetside is set up already; sign in, or have a lead add you")
	}
	if err := CreateUser(ctx, a.store, name, lab.RoleLead, password); err != nil {
		return SignedIn{}, err
	}
	a.anyUser.Store(true)
	return a.signInAgain(r, name)
}

// ClosedUntilSetUp answers nobody but this machine until somebody has set a
// password: what listens elsewhere by mistake gives nothing away.
func (a *Authenticator) ClosedUntilSetUp(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		health := r.URL.Path == "/healthz" || r.URL.Path == "/readyz"
		if !health && !wireAddr(r).IsLoopback() && a.SetupNeeded(r.Context()) {
			problem.Write(w, http.StatusForbidden,
				"nobody has set a password yet; until then wetside answers only on the machine it runs on, at http://127.0.0.1")
			return
		}
		next.ServeHTTP(w, r)
	})
}
