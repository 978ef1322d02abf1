package web

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/web/access"
)

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
