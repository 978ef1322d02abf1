package web

import (
	"context"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// UnitList answers GET /units.
type UnitList struct {
	Units             []lab.Unit `json:"units"`
	NotReceivingSince *lab.Time  `json:"not_receiving_since" doc:"Since when nothing is received from any unit, because the broker is away: the units stand as they were last known. Null where telemetry comes in."`
}

// JobList answers GET /next-jobs.
type JobList struct {
	Jobs []lab.Job `json:"jobs"`
}

// TraceList answers GET /units/{lab}/{unit}/trace.
type TraceList struct {
	Points []lab.TracePoint `json:"points"`
}

// LevelList answers GET /units/{lab}/{unit}/levels.
type LevelList struct {
	Points []lab.LevelPoint `json:"points"`
}

// levelsMost bounds the points of a level list.
const levelsMost = 2000

// UnitRequest changes what people decided about a unit. What is left out
// stays.
type UnitRequest struct {
	Name     *string `json:"name,omitempty" minLength:"1" maxLength:"64" doc:"What people call the unit."`
	Standing *string `json:"standing,omitempty" enum:"accepted,out-of-service,retired" doc:"accepted: watched and shown. out-of-service: not to be used for now. retired: gone for good."`
}

// Bounds of a trace.
const (
	traceDefault = time.Hour
	traceMost    = 48 * time.Hour
)

func (s *Server) unitRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-units", Method: http.MethodGet, Path: "/units", Tags: []string{"units"},
		Summary: "All units, live", Description: "Every unit that was ever heard, as it stands now, by id; or as it was last known, where nothing is received from any.",
	}, func(context.Context, *struct{}) (*body[UnitList], error) {
		out := UnitList{Units: s.views()}
		if s.cfg.Silent != nil {
			out.NotReceivingSince = lab.AtPtr(s.cfg.Silent())
		}
		return &body[UnitList]{out}, nil
	})
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "get-unit", Method: http.MethodGet, Path: "/units/{lab}/{unit}", Tags: []string{"units"},
		Summary: "One unit, live", Description: "The unit as it stands now.",
		Errors: []int{http.StatusNotFound},
	}, s.getUnit)
	register(s, lab.RoleLead, huma.Operation{
		OperationID: "set-unit", Method: http.MethodPatch, Path: "/units/{lab}/{unit}", Tags: []string{"units"},
		Summary: "Name, accept or retire a unit", Description: "A unit whose data comes for the first time is new until a person accepts it here.",
		Errors: []int{http.StatusNotFound},
	}, s.setUnit)
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "get-trace", Method: http.MethodGet, Path: "/units/{lab}/{unit}/trace", Tags: []string{"units"},
		Summary: "A unit's temperatures over time", Description: "Readings in degrees Celsius by the unit's own clock, oldest first. Without `from` the last hour before `to`; without `to` until now; 48 hours at most.",
		Errors: []int{http.StatusNotFound},
	}, s.getTrace)
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "get-levels", Method: http.MethodGet, Path: "/units/{lab}/{unit}/levels", Tags: []string{"units"},
		Summary: "Levels of a unit's containers over time", Description: "Liters by container, oldest first, thinned out to 2,000 points; the last hour unless said otherwise, 48 hours at most.",
		Errors: []int{http.StatusNotFound},
	}, s.getLevels)
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "next-jobs", Method: http.MethodGet, Path: "/next-jobs", Tags: []string{"units"},
		Summary: "Where a person is needed next", Description: "Soonest first.",
	}, func(ctx context.Context, _ *struct{}) (*body[JobList], error) {
		jobs, err := s.allJobs(ctx)
		return &body[JobList]{JobList{jobs}}, err
	})
}

// unit finds a unit that was heard.
func (s *Server) unit(p UnitPath) (lab.Unit, error) {
	u, ok := s.cfg.Live.Unit(p.id())
	if !ok {
		return u, lab.Errorf(lab.KindNotFound, "no unit %s was ever heard; a unit appears with its first message", p.id())
	}
	return u, nil
}

func (s *Server) getUnit(_ context.Context, in *UnitPath) (*body[lab.Unit], error) {
	u, err := s.unit(*in)
	if err != nil {
		return nil, err
	}
	return &body[lab.Unit]{s.view(u)}, nil
}

func (s *Server) setUnit(ctx context.Context, in *struct {
	UnitPath
	Body UnitRequest
}) (*body[lab.Unit], error) {
	u, err := s.unit(in.UnitPath)
	if err != nil {
		return nil, err
	}
	if in.Body.Name == nil && in.Body.Standing == nil {
		return nil, lab.Errorf(lab.KindInvalid, "nothing to change; give name, standing or both")
	}
	// Read anew: another person may have changed it since.
	if err := s.settings.load(ctx); err != nil {
		return nil, err
	}
	set, known := s.settings.get(u.ID)
	if !known {
		set = lab.UnitSetting{Unit: u.ID, Standing: lab.UnitNew}
	}
	if in.Body.Name != nil {
		if set.Name = strings.TrimSpace(*in.Body.Name); set.Name == "" {
			return nil, lab.Errorf(lab.KindInvalid, "body.name: only spaces; give a name to call the unit by")
		}
	}
	if in.Body.Standing != nil {
		set.Standing = *in.Body.Standing
	}
	if err := s.cfg.Store.SetUnit(ctx, set, identityOf(ctx).Name); err != nil {
		return nil, err
	}
	if err := s.settings.load(ctx); err != nil {
		return nil, err
	}
	s.PublishUnits([]lab.Unit{u})
	return &body[lab.Unit]{s.view(u)}, nil
}

func (s *Server) getTrace(ctx context.Context, in *SpanOfUnit) (*body[TraceList], error) {
	from, to, err := s.span(in)
	if err != nil {
		return nil, err
	}
	points, err := s.cfg.Store.Trace(ctx, in.id(), from, to)
	if err != nil {
		return nil, err
	}
	return &body[TraceList]{TraceList{points}}, nil
}

func (s *Server) getLevels(ctx context.Context, in *SpanOfUnit) (*body[LevelList], error) {
	from, to, err := s.span(in)
	if err != nil {
		return nil, err
	}
	points, err := s.cfg.Store.Levels(ctx, in.id(), from, to, levelsMost)
	if err != nil {
		return nil, err
	}
	return &body[LevelList]{LevelList{points}}, nil
}

// SpanOfUnit is a stretch of time of a unit.
type SpanOfUnit struct {
	UnitPath
	From time.Time `query:"from" doc:"The first moment, RFC 3339."`
	To   time.Time `query:"to" doc:"The moment after the last, RFC 3339."`
}

// span gives the stretch that is asked for: the last hour where nothing is
// said.
func (s *Server) span(in *SpanOfUnit) (from, to time.Time, err error) {
	if _, err := s.unit(in.UnitPath); err != nil {
		return from, to, err
	}
	from, to = in.From, in.To
	if to.IsZero() {
		to = s.cfg.Clock.Now()
	}
	if from.IsZero() {
		from = to.Add(-traceDefault)
	}
	if err := checkSpan(from, to); err != nil {
		return from, to, err
	}
	if to.Sub(from) > traceMost {
		return from, to, lab.Errorf(lab.KindInvalid, "from and to must be at most 48 hours apart; got %s. Ask in parts", to.Sub(from))
	}
	return from, to, nil
}

func checkSpan(from, to time.Time) error {
	if !from.IsZero() && !to.IsZero() && !from.Before(to) {
		return lab.Errorf(lab.KindInvalid, "from (%s) is not before to (%s)", lab.At(from), lab.At(to))
	}
	return nil
}
