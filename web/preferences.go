package web

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// Preferences is the part of the store that knows how people want the pages.
type Preferences interface {
	Preferences(ctx context.Context, person string) (lab.Preferences, error)
	SetPreferences(ctx context.Context, person string, p lab.Preferences) error
}

func (s *Server) preferenceRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "get-preferences", Method: http.MethodGet, Path: "/me/preferences", Tags: []string{"session"},
		Summary: "Your own settings", Description: "Units of measure, light or dark, sound. A token has the defaults.",
	}, func(ctx context.Context, _ *struct{}) (*body[lab.Preferences], error) {
		p, err := s.cfg.Store.Preferences(ctx, identityOf(ctx).Name)
		return &body[lab.Preferences]{p}, err
	})
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "set-preferences", Method: http.MethodPut, Path: "/me/preferences", Tags: []string{"session"},
		Summary: "Change your own settings", Description: "All of them. Only a person who signs in has any.",
		Errors: []int{http.StatusConflict},
	}, s.setPreferences)
}

func (s *Server) setPreferences(ctx context.Context, in *struct{ Body lab.Preferences }) (*body[lab.Preferences], error) {
	who := identityOf(ctx)
	if who.ByToken() || who.ByScreen() {
		return nil, lab.Errorf(lab.KindConflict, "a token or a screen has no preferences; sign in to set yours")
	}
	if err := s.cfg.Store.SetPreferences(ctx, who.Name, in.Body); err != nil {
		return nil, err
	}
	return &body[lab.Preferences]{in.Body}, nil
}
