package web

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// LabSettings keeps what holds for the whole lab, and counts how its alerting
// did.
type LabSettings interface {
	LabSettings(ctx context.Context) (lab.LabSettings, error)
	SetLabSettings(ctx context.Context, h lab.LabSettings, by string) error
	SettingChanges(ctx context.Context, key string, limit int) ([]lab.SettingChange, error)
	AlertFigures(ctx context.Context, from, to time.Time) (lab.AlertFigures, error)
}

// ChangeList answers GET /setting-changes.
type ChangeList struct {
	Changes []lab.SettingChange `json:"changes"`
}

// CloseRequest closes the lab or opens it.
type CloseRequest struct {
	Closed bool      `json:"closed" doc:"true: nobody is here, pages that concern no run wait. false: open again."`
	Until  *lab.Time `json:"until,omitempty" doc:"When it opens by itself; absent: when somebody opens it."`
}

// figuresMost bounds what is counted in one go.
const figuresMost = 366 * 24 * time.Hour

func (s *Server) labSettingsRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "get-house", Method: http.MethodGet, Path: "/house", Tags: []string{"settings"},
		Summary: "What holds for the whole lab", Description: "Time zone, opening hours, whether it is closed, and which units share a circuit or a network.",
	}, func(ctx context.Context, _ *struct{}) (*body[lab.LabSettings], error) {
		h, err := s.cfg.Store.LabSettings(ctx)
		return &body[lab.LabSettings]{h}, err
	})
	register(s, lab.RoleLead, huma.Operation{
		OperationID: "get-reach", Method: http.MethodGet, Path: "/reach", Tags: []string{"settings"},
		Summary: "Where phones, screens and units find this wetside", Description: "The addresses that it listens on as other machines see them, or the flag to start it with so that they can.",
	}, func(context.Context, *struct{}) (*body[lab.Reach], error) {
		out := lab.Reach{Board: []string{}, Units: []string{}}
		if s.cfg.Reach != nil {
			out = s.cfg.Reach()
		}
		return &body[lab.Reach]{out}, nil
	})
	register(s, lab.RoleLead, huma.Operation{
		OperationID: "set-house", Method: http.MethodPut, Path: "/house", Tags: []string{"settings"},
		Summary: "Change what holds for the whole lab", Description: "The whole of it; whether the lab is closed stays as it is.",
	}, s.setLabSettings)
	register(s, lab.RoleOperator, huma.Operation{
		OperationID: "close-lab", Method: http.MethodPost, Path: "/house/closed", Tags: []string{"settings"},
		Summary:     "Close the lab, or open it",
		Description: "While it is closed, alerts that concern no run page nobody; they are shown, and page when it opens if they still last.",
	}, s.closeLab)
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-setting-changes", Method: http.MethodGet, Path: "/setting-changes", Tags: []string{"settings"},
		Summary: "Who changed which setting, newest first", Description: "Append-only.",
	}, func(ctx context.Context, in *struct {
		Listing
		Key string `query:"key" doc:"Only of this setting: house, or unit lab/unit." example:"unit tern-street/plover"`
	}) (*body[ChangeList], error) {
		changes, err := s.cfg.Store.SettingChanges(ctx, in.Key, in.capped())
		return &body[ChangeList]{ChangeList{changes}}, err
	})
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "get-alert-figures", Method: http.MethodGet, Path: "/alert-figures", Tags: []string{"alerts"},
		Summary: "How the alerting did", Description: "Alerts and pages of a period beside the numbers of alarm practice; the rules that page most first. Without from and to: the last seven days.",
	}, s.alertFigures)
}

func (s *Server) setLabSettings(ctx context.Context, in *struct{ Body lab.LabSettings }) (*body[lab.LabSettings], error) {
	was, err := s.cfg.Store.LabSettings(ctx)
	if err != nil {
		return nil, err
	}
	h := in.Body
	h.Closed, h.ClosedUntil, h.ClosedBy = was.Closed, was.ClosedUntil, was.ClosedBy
	if err := s.cfg.Store.SetLabSettings(ctx, h, identityOf(ctx).Name); err != nil {
		return nil, err
	}
	return &body[lab.LabSettings]{h}, nil
}

func (s *Server) closeLab(ctx context.Context, in *struct{ Body CloseRequest }) (*body[lab.LabSettings], error) {
	h, err := s.cfg.Store.LabSettings(ctx)
	if err != nil {
		return nil, err
	}
	until := in.Body.Until
	if until != nil && !until.After(s.cfg.Clock.Now()) {
		return nil, lab.Errorf(lab.KindInvalid, "body.until must be in the future; got %s", until)
	}
	h.Closed, h.ClosedUntil, h.ClosedBy = in.Body.Closed, until, identityOf(ctx).Name
	if !h.Closed {
		h.ClosedUntil, h.ClosedBy = nil, ""
	}
	if err := s.cfg.Store.SetLabSettings(ctx, h, identityOf(ctx).Name); err != nil {
		return nil, err
	}
	return &body[lab.LabSettings]{h}, nil
}

func (s *Server) alertFigures(ctx context.Context, in *struct {
	From time.Time `query:"from" doc:"The first moment, RFC 3339."`
	To   time.Time `query:"to" doc:"The moment after the last, RFC 3339."`
}) (*body[lab.AlertFigures], error) {
	to := in.To
	if to.IsZero() {
		to = s.cfg.Clock.Now()
	}
	from := in.From
	if from.IsZero() {
		from = to.AddDate(0, 0, -7)
	}
	if err := checkSpan(from, to); err != nil {
		return nil, err
	}
	if to.Sub(from) > figuresMost {
		return nil, lab.Errorf(lab.KindInvalid, "from and to must be at most a year apart; got %.0f days", to.Sub(from).Hours()/24)
	}
	f, err := s.cfg.Store.AlertFigures(ctx, from, to)
	return &body[lab.AlertFigures]{f}, err
}
