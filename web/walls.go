package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/web/access"
)

// A wall link is a view-only key for a screen that nobody signs in at: see
// access.OpenScreen.

// WallLinks is the part of the store that keeps them.
type WallLinks interface {
	Tokens(ctx context.Context) ([]lab.Token, error)
	DeleteToken(ctx context.Context, name string) error // KindNotFound where there is none
}

// WallLink is a link as it is listed.
type WallLink struct {
	Name      string   `json:"name"`
	CreatedAt lab.Time `json:"created_at"`
	// Path is set in the answer that made it, and never again: the key in it
	// is not kept.
	Path string `json:"path,omitempty"`
}

// WallLinkList answers GET /wall-links.
type WallLinkList struct {
	Links []WallLink `json:"links"`
}

// WallLinkRequest makes a link.
type WallLinkRequest struct {
	Name string `json:"name" minLength:"1" maxLength:"64" doc:"Where the screen hangs."`
}

// WallRequest trades a link's key for a session.
type WallRequest struct {
	Key string `json:"key" maxLength:"256" doc:"The key of the link."`
}

func (s *Server) wallRoutes() {
	register(s, lab.RoleLead, huma.Operation{
		OperationID: "list-wall-links", Method: http.MethodGet, Path: "/wall-links", Tags: []string{"session"},
		Summary: "View-only links for screens", Description: "Without their keys, which are not kept.",
	}, s.listWallLinks)
	register(s, lab.RoleLead, huma.Operation{
		OperationID: "make-wall-link", Method: http.MethodPost, Path: "/wall-links", Tags: []string{"session"},
		Summary: "Make a view-only link for a screen", Description: "Whoever has the link may look, and change nothing. It is shown once.",
		DefaultStatus: http.StatusCreated, Errors: []int{http.StatusConflict},
	}, s.makeWallLink)
	register(s, lab.RoleLead, huma.Operation{
		OperationID: "withdraw-wall-link", Method: http.MethodDelete, Path: "/wall-links/{name}", Tags: []string{"session"},
		Summary: "Withdraw a link", Description: "Screens that use it are asked to sign in at once.",
		DefaultStatus: http.StatusNoContent, Errors: []int{http.StatusNotFound},
	}, func(ctx context.Context, in *struct {
		Name string `path:"name" doc:"The link's name."`
	}) (*struct{}, error) {
		err := s.cfg.Store.DeleteToken(ctx, access.ScreenPrefix+in.Name)
		s.live.RecheckSoon()
		return nil, err
	})
	register(s, public, huma.Operation{
		OperationID: "open-wall", Method: http.MethodPost, Path: "/session/wall", Tags: []string{"session"},
		Summary: "Open a screen by its link", Description: "Sets the session cookie of a screen that only looks.",
		Errors: []int{http.StatusUnauthorized},
	}, s.openWall)
}

func (s *Server) listWallLinks(ctx context.Context, _ *struct{}) (*body[WallLinkList], error) {
	tokens, err := s.cfg.Store.Tokens(ctx)
	out := WallLinkList{Links: []WallLink{}}
	for _, t := range tokens {
		if name, ok := strings.CutPrefix(t.Name, access.ScreenPrefix); ok {
			out.Links = append(out.Links, WallLink{Name: name, CreatedAt: lab.At(t.CreatedAt)})
		}
	}
	return &body[WallLinkList]{out}, err
}

func (s *Server) makeWallLink(ctx context.Context, in *struct{ Body WallLinkRequest }) (*body[WallLink], error) {
	name := strings.TrimSpace(in.Body.Name)
	if name == "" {
		return nil, lab.Errorf(lab.KindInvalid, "body.name: only spaces; give where the screen hangs")
	}
	key, err := access.CreateScreenKey(ctx, s.cfg.Store, name)
	if err != nil {
		return nil, err
	}
	path := "/#/wall?key=" + url.QueryEscape(key)
	return &body[WallLink]{WallLink{Name: name, CreatedAt: lab.At(s.cfg.Clock.Now()), Path: path}}, nil
}

func (s *Server) openWall(ctx context.Context, in *struct{ Body WallRequest }) (*signedIn, error) {
	return answerSignIn(s.access.OpenScreen(requestOf(ctx), in.Body.Key))
}
