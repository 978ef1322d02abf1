package web

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/web/access"
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

func sessionOf(id access.Identity) Session {
	by := "session"
	if id.ByToken() {
		by = "token"
	}
	return Session{Name: &id.Name, Role: &id.Role, By: &by}
}

// answerSignIn answers with who signed in, and the cookies.
func answerSignIn(in access.SignedIn, err error) (*signedIn, error) {
	if err != nil {
		return nil, err
	}
	return &signedIn{SetCookie: in.Cookies, Body: sessionOf(in.Who)}, nil
}

func (s *Server) whoAmI(ctx context.Context, _ *struct{}) (*body[Session], error) {
	who, err := s.access.Authenticate(requestOf(ctx))
	switch {
	case err == nil:
		return &body[Session]{sessionOf(who)}, nil
	case lab.KindOf(err) != lab.KindForbidden:
		return nil, err
	}
	return &body[Session]{Session{SetupNeeded: s.access.SetupNeeded(ctx)}}, nil
}

func (s *Server) signIn(ctx context.Context, in *struct{ Body SignInRequest }) (*signedIn, error) {
	return answerSignIn(s.access.SignIn(requestOf(ctx), in.Body.Name, in.Body.Password))
}

func (s *Server) signOut(ctx context.Context, _ *struct{}) (*struct {
	SetCookie http.Cookie `header:"Set-Cookie"`
}, error) {
	who := identityOf(ctx)
	cookie, err := s.access.SignOut(requestOf(ctx), who)
	if err != nil {
		return nil, err
	}
	s.live.EndSession(who.Credential())
	return &struct {
		SetCookie http.Cookie `header:"Set-Cookie"`
	}{cookie}, nil
}

func (s *Server) setUp(ctx context.Context, in *struct{ Body SetupRequest }) (*signedIn, error) {
	return answerSignIn(s.access.SetUp(requestOf(ctx), in.Body.Name, in.Body.Password, in.Body.Code))
}
