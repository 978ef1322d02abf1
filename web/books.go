package web

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// BooksUsed says which books the lab writes. What it does not is asked about
// nowhere, and has no page in the bar.
type BooksUsed struct {
	Mixes bool `json:"mixes" doc:"A mix was written, or a limit for one was set."`
	Waste bool `json:"waste" doc:"The waste log has begun."`
}

func (s *Server) bookRoutes() {
	register(s, lab.RoleViewer, huma.Operation{OperationID: "get-books", Method: http.MethodGet, Path: "/books", Tags: []string{"mixes"},
		Summary: "Which books the lab writes", Description: "A book that nobody has begun is asked about nowhere."},
		func(ctx context.Context, _ *struct{}) (*body[BooksUsed], error) {
			out := BooksUsed{}
			lines, err := s.cfg.Store.Lines(ctx, lab.BookMixes)
			if err != nil {
				return nil, err
			}
			settings, err := s.cfg.Store.ChemistrySettings(ctx)
			waste, err2 := s.cfg.Store.WasteSettings(ctx)
			if err2 != nil {
				return nil, err2
			}
			out.Waste = waste.StartedAt != nil
			out.Mixes = mixKeeper{lines: lines, settings: settings}.used()
			return &body[BooksUsed]{out}, err
		})
}
