package web

import (
	"context"
	"crypto/subtle"
	"math"
	"net/http"
	"strings"
	"sync"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// Session says who is signed in; all nil where nobody is.
type Session struct {
	SetupNeeded bool    `json:"setup_needed" doc:"Nobody has set a password yet: see POST /setup."`
	Name        *string `json:"name" doc:"Who; null where nobody is signed in."`
	Role        *string `json:"role" enum:"viewer,operator,lead" doc:"What they may do; null where nobody is signed in."`
	By          *string `json:"by" enum:"session,token" doc:"How they are known; null where nobody is signed in."`
}

// SignInRequest is a name and a password.
type SignInRequest struct {
	Name     string `json:"name" maxLength:"64" doc:"The name to sign in with."`
	Password string `json:"password" maxLength:"256" doc:"The password."`
}

// SetupRequest makes the first lead.
type SetupRequest struct {
	Name     string `json:"name" maxLength:"64" doc:"The first lead's name."`
	Password string `json:"password" maxLength:"256" doc:"Their password, 8 to 256 bytes; none of those that everybody uses."`
	Code     string `json:"code,omitempty" maxLength:"64" doc:"The set-up code that wetside prints where it was started, and in its log."`
}

// signedIn answers a sign-in: who it is now, and the cookie.
type signedIn struct {
	SetCookie []http.Cookie `header:"Set-Cookie"`
	Body      Session
}

func (s *Server) sessionRoutes() {
	register(s, public, huma.Operation{
		OperationID: "sign-in", Method: http.MethodPost, Path: "/session", Tags: []string{"session"},
		Summary: "Sign in", Description: "Sets the session cookie. Open to all; after several failures it makes you wait, longer each time; a device that you signed in from before waits for nobody else's failures.",
		Errors: []int{http.StatusUnauthorized, http.StatusTooManyRequests},
	}, s.signIn)
	register(s, public, huma.Operation{
		OperationID: "who-am-i", Method: http.MethodGet, Path: "/session", Tags: []string{"session"},
		Summary: "Who is signed in", Description: "Open to all: a page learns from it whether to ask for a name and a password.",
	}, s.whoAmI)
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "sign-out", Method: http.MethodDelete, Path: "/session", Tags: []string{"session"},
		Summary: "Sign out", Description: "Ends the session and closes its live sockets.", DefaultStatus: http.StatusNoContent,
		Errors: []int{http.StatusConflict},
	}, s.signOut)
	register(s, public, huma.Operation{
		OperationID: "set-up", Method: http.MethodPost, Path: "/setup", Tags: []string{"session"},
		Summary: "Make the first lead", Description: "With the code that wetside prints where it was started, and only while nobody has set a password. Signs the new lead in.",
		Errors: []int{http.StatusForbidden, http.StatusConflict, http.StatusTooManyRequests},
	}, s.setUp)
}

func sessionOf(id identity) Session {
	by := "session"
	if id.token != "" {
		by = "token"
	}
	return Session{Name: &id.Name, Role: &id.Role, By: &by}
}

func (s *Server) whoAmI(ctx context.Context, _ *struct{}) (*body[Session], error) {
	who, err := s.authenticate(requestOf(ctx))
	switch {
	case err == nil:
		return &body[Session]{sessionOf(who)}, nil
	case lab.KindOf(err) != lab.KindForbidden:
		return nil, err
	}
	return &body[Session]{Session{SetupNeeded: s.setupNeeded(ctx)}}, nil
}

// unknownHash is what the password of an unknown name is compared with, so
// that the time taken does not tell which names there are.
var unknownHash = sync.OnceValues(func() (string, error) {
	return HashPassword(context.Background(), "a password that nobody has")
})

func (s *Server) signIn(ctx context.Context, in *struct{ Body SignInRequest }) (*signedIn, error) {
	r := requestOf(ctx)
	addr := s.clientAddr(r)
	try := signInAttempt(in.Body.Name, addr, s.knownDevice(r, in.Body.Name))
	if wait := s.attempts.begin(try); wait > 0 {
		s.metrics.signIns.WithLabelValues("refused").Inc()
		return nil, tooMany(int(math.Ceil(wait.Seconds())))
	}
	defer s.attempts.end(try)
	u, ok, err := s.checkSignIn(ctx, in.Body)
	if err != nil {
		return nil, err
	}
	if !ok {
		s.metrics.signIns.WithLabelValues("bad").Inc()
		s.log.Warn("sign-in failed", "name", in.Body.Name, "from", addr)
		return nil, huma.Error401Unauthorized("name and password do not go together")
	}
	s.attempts.succeed(try)
	s.metrics.signIns.WithLabelValues("good").Inc()
	return s.signedIn(ctx, u)
}

func (s *Server) signedIn(ctx context.Context, u lab.User) (*signedIn, error) {
	cookie, err := s.openSession(ctx, requestOf(ctx), u)
	if err != nil {
		return nil, err
	}
	return &signedIn{SetCookie: []http.Cookie{cookie, s.deviceOf(requestOf(ctx), u.Name)}, Body: sessionOf(identity{Name: u.Name, Role: u.Role})}, nil
}

func (s *Server) checkSignIn(ctx context.Context, in SignInRequest) (lab.User, bool, error) {
	u, err := s.cfg.Store.UserByName(ctx, in.Name)
	known := err == nil
	if err != nil {
		if lab.KindOf(err) != lab.KindNotFound {
			return u, false, err
		}
		if u.PasswordHash, err = unknownHash(); err != nil {
			return u, false, err
		}
	}
	ok, err := verifyPassword(ctx, u.PasswordHash, in.Password)
	return u, ok && known, err
}

func (s *Server) signOut(ctx context.Context, _ *struct{}) (*struct {
	SetCookie http.Cookie `header:"Set-Cookie"`
}, error) {
	who := identityOf(ctx)
	if who.session == "" {
		return nil, lab.Errorf(lab.KindConflict, "a token does not sign out; it holds until it is revoked")
	}
	cookie, err := s.closeSession(ctx, requestOf(ctx), who.session)
	if err != nil {
		return nil, err
	}
	s.hub.endSession(who.session)
	return &struct {
		SetCookie http.Cookie `header:"Set-Cookie"`
	}{cookie}, nil
}

func (s *Server) setUp(ctx context.Context, in *struct{ Body SetupRequest }) (*signedIn, error) {
	try := passwordAttempt("set-up", s.clientAddr(requestOf(ctx)))
	if wait := s.attempts.begin(try); wait > 0 {
		return nil, tooMany(int(math.Ceil(wait.Seconds())))
	}
	defer s.attempts.end(try)
	code := strings.ToUpper(strings.TrimSpace(in.Body.Code))
	if subtle.ConstantTimeCompare([]byte(code), []byte(s.setupCode)) != 1 {
		return nil, lab.Errorf(lab.KindForbidden, "body.code is not the set-up code; wetside prints it where it was started, and in its log")
	}
	s.attempts.succeed(try)
	s.setup.Lock() // two at once: the second finds the first's user
	defer s.setup.Unlock()
	set, err := PasswordSet(ctx, s.cfg.Store)
	if err != nil {
		return nil, err
	}
	if set {
		return nil, lab.Errorf(lab.KindConflict, "wetside is set up already; sign in, or have a lead add you")
	}
	if err := CreateUser(ctx, s.cfg.Store, in.Body.Name, lab.RoleLead, in.Body.Password); err != nil {
		return nil, err
	}
	s.anyUser.Store(true)
	u, err := s.cfg.Store.UserByName(ctx, in.Body.Name)
	if err != nil {
		return nil, err
	}
	return s.signedIn(ctx, u)
}
