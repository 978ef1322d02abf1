package web

import (
	"context"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// LoadRequest is what the next run of a unit will carry.
type LoadRequest struct {
	Process string        `json:"process" minLength:"1" maxLength:"64" pattern:"^[A-Za-z0-9._-]+$" doc:"The process the unit will be set to." example:"c41"`
	Push    float64       `json:"push,omitempty" minimum:"-6" maximum:"6" doc:"The push it will be set to, stops."`
	Rolls   []RollRequest `json:"rolls,omitempty" maxItems:"200" doc:"What is on the reels. Left out: nobody scanned it."`
}

// LoadAnswer says whether start may be pressed.
type LoadAnswer struct {
	Unit    string       `json:"unit"`
	Verdict string       `json:"verdict"`
	Reasons []LoadReason `json:"reasons"`
	Load    *lab.Load    `json:"load"`
	Plan    LoadPlan     `json:"plan"`
	Entry   string       `json:"entry"`
}

func (s *Server) loadRoutes() {
	op := func(id, method, summary, text string, more ...int) huma.Operation {
		return huma.Operation{OperationID: id, Method: method, Path: "/units/{lab}/{unit}/load", Tags: []string{"units"},
			Summary: summary, Description: text, Errors: append(more, http.StatusNotFound)}
	}
	register(s, lab.RoleViewer, op("get-load", http.MethodGet, "What is loaded, and whether start may be pressed",
		"With process the verdict is on an empty load of that process: what to know before rolls are scanned. Nothing is stored."), s.getLoad)
	register(s, lab.RoleOperator, op("load-unit", http.MethodPost, "What the next run will carry",
		"Takes the place of what was loaded before. It is kept with either verdict: go, or stop with the reasons. wetside advises; it stops no unit.",
		http.StatusConflict), s.postLoad)
	register(s, lab.RoleOperator, op("unload-unit", http.MethodDelete, "Take the load back",
		"The next run carries nothing that is known. The runs that began meanwhile keep what they were loaded with.", http.StatusConflict),
		func(ctx context.Context, in *UnitPath) (*body[EntryView], error) {
			if _, err := s.unit(*in); err != nil {
				return nil, err
			}
			return s.entered(ctx, "", nil, lab.Entry{Unit: in.id(), What: lab.EntryUnload}, nil)
		})
}

func (s *Server) getLoad(ctx context.Context, in *struct {
	UnitPath
	Process string  `query:"process" maxLength:"64" doc:"Judge an empty load of this process instead." example:"c41"`
	Push    float64 `query:"push" minimum:"-6" maximum:"6" doc:"The push that it would be set to, stops."`
}) (*body[LoadAnswer], error) {
	u, err := s.unit(in.UnitPath)
	if err != nil {
		return nil, err
	}
	u = s.view(u)
	var load lab.Load
	switch {
	case in.Process != "":
		load = lab.Load{Process: in.Process, Push: in.Push}
	case u.Load != nil:
		load = *u.Load
	default:
		return nil, lab.Errorf(lab.KindNotFound, "nothing is loaded on %s; load it, or ask with ?process=", u.ID)
	}
	answer, err := s.judged(ctx, u, load)
	if err != nil {
		return nil, err
	}
	if in.Process != "" {
		answer.Load = nil
	}
	return &body[LoadAnswer]{answer}, nil
}

func (s *Server) postLoad(ctx context.Context, in *struct {
	UnitPath
	Stating
	Body LoadRequest
}) (*body[LoadAnswer], error) {
	u, err := s.unit(in.UnitPath)
	if err != nil {
		return nil, err
	}
	rolls, err := rollsOf(in.Body.Rolls, "body.rolls")
	if err != nil {
		return nil, err
	}
	load := lab.Load{Process: in.Body.Process, Push: in.Body.Push, Rolls: list(rolls)}
	answer, err := s.judged(ctx, s.view(u), load)
	if err != nil {
		return nil, err
	}
	kept, err := s.enter(ctx, in.Key, nil, lab.Entry{Unit: in.id(), What: lab.EntryLoad}, load)
	if err != nil {
		return nil, err
	}
	answer.Entry = kept.ID
	return &body[LoadAnswer]{answer}, nil
}

// How far back a roll that was processed is told of, and a reading of the
// heater counts.
const (
	processedWithin = 24 * time.Hour
	heaterWithin    = 2 * time.Minute
)

// judged gathers what a load is judged by, and judges it.
func (s *Server) judged(ctx context.Context, u lab.Unit, load lab.Load) (LoadAnswer, error) {
	c := loadCheck{unit: u, load: load, elsewhere: map[string]string{}, processed: map[string]string{}}
	c.book = s.book()
	c.sheet, _ = c.book.Sheet(load.Process)
	id, err := lab.ParseUnitID(u.ID)
	if err != nil {
		return LoadAnswer{}, err
	}
	open := true
	if c.open, err = s.cfg.Store.Alerts(ctx, lab.AlertFilter{Open: &open, Unit: u.ID, Limit: defaultLimit}); err != nil {
		return LoadAnswer{}, err
	}
	mix, err := s.lastMix(ctx, u.ID, load.Process)
	if err != nil {
		return LoadAnswer{}, err
	}
	if c.gate, err = s.gate(ctx, u.ID, load.Process, mix); err != nil {
		return LoadAnswer{}, err
	}
	if c.preheatC, err = s.preheat(ctx, id); err != nil {
		return LoadAnswer{}, err
	}
	others := s.views()
	for _, r := range load.Rolls {
		for _, o := range others {
			if _, there := rollIn(o.Load, r.TwinCheck); there && o.ID != u.ID {
				c.elsewhere[r.TwinCheck] = o.Name
			}
		}
		if c.processed[r.TwinCheck], err = s.processedLately(ctx, r.TwinCheck); err != nil {
			return LoadAnswer{}, err
		}
	}
	a := LoadAnswer{Unit: u.ID, Load: &load}
	load.Rolls = list(load.Rolls)
	a.Verdict, a.Reasons, a.Plan = judgeLoad(c)
	return a, nil
}

// preheat is the last reading of the bath being heated, nil where there is
// none of late.
func (s *Server) preheat(ctx context.Context, unit lab.UnitID) (*float64, error) {
	now := s.cfg.Clock.Now()
	points, err := s.cfg.Store.Trace(ctx, unit, now.Add(-heaterWithin), now.Add(time.Minute))
	if err != nil {
		return nil, err
	}
	for i := len(points) - 1; i >= 0; i-- {
		if points[i].PreheatC != nil {
			return points[i].PreheatC, nil
		}
	}
	return nil, nil
}

// processedLately names the run that a roll went through, "" where there is
// none of late.
func (s *Server) processedLately(ctx context.Context, check string) (string, error) {
	runs, err := s.cfg.Store.Runs(ctx, lab.RunFilter{Roll: check, From: s.cfg.Clock.Now().Add(-processedWithin), Limit: 1})
	if err != nil || len(runs) == 0 {
		return "", err
	}
	r := runs[0]
	_, unit, _ := strings.Cut(r.Unit, "/")
	if set, ok := s.settings.get(r.Unit); ok && set.Name != "" {
		unit = set.Name
	}
	return r.Process + " on " + unit + " (run " + r.Run + ")", nil
}
