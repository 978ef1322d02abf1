package web

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// FigureNotices is the part of the store that knows which changes of the
// program's own figures the lab was told of.
type FigureNotices interface {
	FiguresSeen(ctx context.Context) (lab.FiguresSeen, error)
	SetFiguresSeen(ctx context.Context, v lab.FiguresSeen) error
}

// FigureNotice answers GET /figure-changes.
type FigureNotice struct {
	Lot     int                `json:"lot" doc:"The last lot of changes."`
	Changes []FigureChangeView `json:"changes" doc:"Those to be shown; empty: nothing."`
	Seen    *lab.FiguresSeen   `json:"seen" doc:"The last lot that a lead said was read; null: none."`
}

// FigureChangeView is what changed in one figure.
type FigureChangeView struct {
	Process string `json:"process"` // "": of no process
	Name    string `json:"name"`    // of the process
	Step    string `json:"step"`
	Label   string `json:"label"` // of the step
	Figure  string `json:"figure"`
	Text    string `json:"text"`
	Own     bool   `json:"own" doc:"This lab has its own figure there, which stands."`
}

// FiguresSeenRequest says that changes were read.
type FiguresSeenRequest struct {
	Lot int `json:"lot" minimum:"1" maximum:"1000000" doc:"The lot that was read, as GET /figure-changes gives it."`
}

func (s *Server) figureChangeRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "get-figure-changes", Method: http.MethodGet, Path: "/figure-changes", Tags: []string{"settings"},
		Summary: "What changed in the program's own figures", Description: "What this lab has not said it has read. A lab's own figures stand, whatever changed beneath them.",
	}, func(ctx context.Context, _ *struct{}) (*body[FigureNotice], error) {
		n, err := s.figureNotice(ctx)
		return &body[FigureNotice]{n}, err
	})
	register(s, lab.RoleLead, huma.Operation{
		OperationID: "see-figure-changes", Method: http.MethodPost, Path: "/figure-changes/seen", Tags: []string{"settings"},
		Summary: "Say that changed figures were read", Description: "They are not shown again, to nobody of this lab.",
	}, func(ctx context.Context, in *struct{ Body FiguresSeenRequest }) (*body[FigureNotice], error) {
		if last := process.LastLot(); in.Body.Lot > last {
			return nil, lab.Errorf(lab.KindInvalid, "body.lot: %d is to come; the last is %d", in.Body.Lot, last)
		}
		err := s.cfg.Store.SetFiguresSeen(ctx, lab.FiguresSeen{Lot: in.Body.Lot, By: identityOf(ctx).Name, At: lab.At(s.cfg.Clock.Now())})
		if err != nil {
			return nil, err
		}
		n, err := s.figureNotice(ctx)
		return &body[FigureNotice]{n}, err
	})
}

func (s *Server) figureNotice(ctx context.Context) (FigureNotice, error) {
	n := FigureNotice{Lot: process.LastLot(), Changes: []FigureChangeView{}}
	seen, err := s.cfg.Store.FiguresSeen(ctx)
	if err != nil {
		return n, err
	}
	settings, err := s.cfg.Store.LabSettings(ctx)
	if err != nil {
		return n, err
	}
	if seen.Lot > 0 {
		n.Seen = &seen
	}
	book := s.book()
	for _, c := range process.ChangesSince(seen.Lot) {
		v := FigureChangeView{Process: c.Sheet, Step: c.Step, Figure: process.FigureLabel(c.Figure), Text: c.Text, Own: c.Own(book, settings.CheckDays)}
		if sheet, ok := book.Sheet(c.Sheet); ok {
			v.Name = sheet.Name
			if st, ok := sheet.Step(c.Step); ok {
				v.Label = st.Label
			}
		}
		n.Changes = append(n.Changes, v)
	}
	return n, nil
}
