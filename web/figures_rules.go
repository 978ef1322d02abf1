package web

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// RuleFigure is one figure that the rules judge by.
type RuleFigure struct {
	Figure     string  `json:"figure" doc:"As figures.yaml names it; seconds unless the name says otherwise."`
	Value      float64 `json:"value"`
	Provenance string  `json:"standing"` // published, quoted elsewhere, unconfirmed or the lab's own
	From       string  `json:"from"`
}

// RuleFigureList answers GET /rule-figures.
type RuleFigureList struct {
	Figures []RuleFigure `json:"figures"`
}

func (s *Server) ruleFigureRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-rule-figures", Method: http.MethodGet, Path: "/rule-figures", Tags: []string{"settings"},
		Summary: "The figures that the rules judge by", Description: "Holds, limits and waits, with where each is from. They are changed by figures.yaml in the folder that --rules names.",
	}, func(context.Context, *struct{}) (*body[RuleFigureList], error) {
		return &body[RuleFigureList]{RuleFigureList{s.cfg.RuleFigures}}, nil
	})
}
