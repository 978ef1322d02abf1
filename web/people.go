package web

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/web/access"
)

// People is the part of the store that knows who may do what, and takes it
// from them.
type People interface {
	access.Store
	// SetRole and DeleteUser refuse with KindConflict what leaves no lead.
	SetRole(ctx context.Context, name, role, by string) error
	DeleteUser(ctx context.Context, name, by string) error
	// WithdrawLinks ends the links in pages to a person, or about an alert.
	WithdrawLinks(ctx context.Context, person, alertID, by string) error
}

// Person is somebody who may sign in.
type Person struct {
	Name      string   `json:"name"`
	Role      string   `json:"role" enum:"viewer,operator,lead" doc:"What they may do."`
	CreatedAt lab.Time `json:"created_at"`
}

// PersonList answers GET /users.
type PersonList struct {
	Users []Person `json:"users"`
}

// PersonRequest adds a person.
type PersonRequest struct {
	Name     string `json:"name" maxLength:"64" doc:"The name to sign in with."`
	Role     string `json:"role" enum:"viewer,operator,lead" doc:"viewer reads, operator also acknowledges and shelves, lead also sets up."`
	Password string `json:"password" maxLength:"256" doc:"8 to 256 bytes."`
}

// PasswordRequest changes one's own password.
type PasswordRequest struct {
	Current string `json:"current" maxLength:"256" doc:"The password until now."`
	New     string `json:"new" maxLength:"256" doc:"The password from now on, 8 to 256 bytes."`
}

// RoleRequest changes what a person may do.
type RoleRequest struct {
	Role string `json:"role" enum:"viewer,operator,lead" doc:"viewer reads, operator also acknowledges and shelves, lead also sets up."`
}

// NewPasswordRequest gives a person a new password.
type NewPasswordRequest struct {
	Password string `json:"password" maxLength:"256" doc:"8 to 256 bytes; none of those that everybody uses."`
}

// WithdrawLinksRequest says which links in pages end.
type WithdrawLinksRequest struct {
	Person string `json:"person,omitempty" maxLength:"64" doc:"Those sent to this person until now."`
	Alert  string `json:"alert,omitempty" maxLength:"200" doc:"Those about this alert until now."`
}

func (s *Server) peopleRoutes() {
	register(s, lab.RoleLead, huma.Operation{
		OperationID: "list-users", Method: http.MethodGet, Path: "/users", Tags: []string{"people"},
		Summary: "Who may sign in", Description: "By name.",
	}, func(ctx context.Context, _ *struct{}) (*body[PersonList], error) {
		users, err := s.cfg.Store.Users(ctx)
		if err != nil {
			return nil, err
		}
		out := make([]Person, len(users))
		for i, u := range users {
			out[i] = Person{u.Name, u.Role, lab.At(u.CreatedAt)}
		}
		return &body[PersonList]{PersonList{out}}, nil
	})
	register(s, lab.RoleLead, huma.Operation{
		OperationID: "add-user", Method: http.MethodPost, Path: "/users", Tags: []string{"people"},
		Summary: "Add a person", Description: "They can sign in at once.", DefaultStatus: http.StatusCreated,
		Errors: []int{http.StatusConflict},
	}, func(ctx context.Context, in *struct{ Body PersonRequest }) (*body[Person], error) {
		if err := access.CreateUser(ctx, s.cfg.Store, in.Body.Name, in.Body.Role, in.Body.Password); err != nil {
			return nil, err
		}
		u, err := s.cfg.Store.UserByName(ctx, in.Body.Name)
		if err != nil {
			return nil, err
		}
		return &body[Person]{Person{u.Name, u.Role, lab.At(u.CreatedAt)}}, nil
	})
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "change-password", Method: http.MethodPost, Path: "/session/password", Tags: []string{"session"},
		Summary: "Change one's own password", Description: "Ends every other session of that person and keeps this one.",
		Errors: []int{http.StatusConflict, http.StatusTooManyRequests},
	}, s.changePassword)
	s.withdrawRoutes()
}

func (s *Server) changePassword(ctx context.Context, in *struct{ Body PasswordRequest }) (*signedIn, error) {
	return answerSignIn(s.access.ChangePassword(requestOf(ctx), identityOf(ctx), in.Body.Current, in.Body.New))
}

// withdrawRoutes take back what was given to somebody: a role, a password, a
// sign-in, the links in pages. It counts from the next request on, and open
// sockets end at once.
func (s *Server) withdrawRoutes() {
	register(s, lab.RoleLead, lead("set-role", http.MethodPatch, "/users/{name}", "people", "Change what a person may do",
		"It counts from the next request on, also for links in pages that were sent before. The last lead stays one.",
		http.StatusNotFound, http.StatusConflict), s.setRole)
	remove := lead("remove-user", http.MethodDelete, "/users/{name}", "people", "Remove a person",
		"Their sign-ins, sockets and links in pages end at once, and nothing is sent to them any more. What they did stays in the books under their name. The last lead stays.",
		http.StatusNotFound, http.StatusConflict)
	remove.DefaultStatus = http.StatusNoContent
	register(s, lab.RoleLead, remove, func(ctx context.Context, in *PersonPath) (*struct{}, error) {
		err := s.cfg.Store.DeleteUser(ctx, in.Name, identityOf(ctx).Name)
		s.live.RecheckSoon()
		return nil, err
	})
	reset := lead("reset-password", http.MethodPost, "/users/{name}/password", "people", "Give a person a new password",
		"Ends all their sign-ins. They change it themselves at their next one.", http.StatusNotFound)
	reset.DefaultStatus = http.StatusNoContent
	register(s, lab.RoleLead, reset, func(ctx context.Context, in *struct {
		PersonPath
		Body NewPasswordRequest
	}) (*struct{}, error) {
		err := access.SetPassword(ctx, s.cfg.Store, in.Name, in.Body.Password)
		if lab.KindOf(err) == lab.KindNotFound && err != nil {
			err = lab.Errorf(lab.KindNotFound, "there is nobody called %q", in.Name)
		}
		s.live.RecheckSoon()
		return nil, err
	})
	links := lead("withdraw-links", http.MethodPost, "/page-links/withdraw", "people", "Withdraw links in pages",
		"Those sent to a person, or those about an alert, until now. Pages sent later have links that work.", http.StatusNotFound)
	links.DefaultStatus = http.StatusNoContent
	register(s, lab.RoleLead, links, func(ctx context.Context, in *struct{ Body WithdrawLinksRequest }) (*struct{}, error) {
		if (in.Body.Person == "") == (in.Body.Alert == "") {
			return nil, lab.Errorf(lab.KindInvalid, "body: give person or alert, one of them")
		}
		return nil, s.cfg.Store.WithdrawLinks(ctx, in.Body.Person, in.Body.Alert, identityOf(ctx).Name)
	})
}

func (s *Server) setRole(ctx context.Context, in *struct {
	PersonPath
	Body RoleRequest
}) (*body[Person], error) {
	if err := s.cfg.Store.SetRole(ctx, in.Name, in.Body.Role, identityOf(ctx).Name); err != nil {
		return nil, err
	}
	s.live.RecheckSoon()
	u, err := s.cfg.Store.UserByName(ctx, in.Name)
	return &body[Person]{Person{u.Name, u.Role, lab.At(u.CreatedAt)}}, err
}
