package web

import (
	"context"
	"encoding/json"
	"net/http"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// StepNameFigure is what a name that the unit gives a step means.
type StepNameFigure struct {
	lab.StepName
	SetBy
}

// StepTimeFigure is how the unit counts the time in a step.
type StepTimeFigure struct {
	lab.StepTime
	SetBy
}

// StepNameRequest says what a name that the unit gives a step means.
type StepNameRequest struct {
	Process string `json:"process" minLength:"1" maxLength:"64" example:"c41" doc:"The process of the unit's runs in which the name means this."`
	Name    string `json:"name" minLength:"1" maxLength:"64" example:"dev-1" doc:"The step as the unit names it."`
	Step    string `json:"step,omitempty" maxLength:"64" example:"developer" doc:"The step of the sheet that it means. Absent: it is an extra step that the sheet does not have, and is accepted as that."`
	Run     string `json:"run,omitempty" maxLength:"64" doc:"The id of a run that is judged by it too, besides all that begin from now on."`
}

func (s *Server) stepNameRoute() {
	register(s, lab.RoleOperator, huma.Operation{
		OperationID: "name-step", Method: http.MethodPost, Path: "/units/{lab}/{unit}/step-names", Tags: []string{"entries"},
		Summary: "Say what a unit's own name of a step means",
		Description: "For units that name steps otherwise than the process sheet. It ends step-unknown for that name on this unit. " +
			"What the sheet's own names mean cannot be changed. Undone like any entry.",
		Errors: []int{http.StatusNotFound, http.StatusConflict}, DefaultStatus: http.StatusCreated,
	}, s.nameStep)
}

func (s *Server) nameStep(ctx context.Context, in *struct {
	UnitPath
	Stating
	Body StepNameRequest
}) (*body[EntryView], error) {
	if _, err := s.unit(in.UnitPath); err != nil {
		return nil, err
	}
	n := lab.StepName{Process: in.Body.Process, Name: strings.TrimSpace(in.Body.Name), Step: in.Body.Step}
	if err := s.checkStepName(n); err != nil {
		return nil, err
	}
	e := lab.Entry{Unit: in.id(), What: lab.EntryStepName}
	if in.Body.Run != "" {
		run, err := s.cfg.Store.Run(ctx, in.Body.Run)
		switch {
		case lab.KindOf(err) == lab.KindNotFound || err == nil && run.Unit != in.id().String():
			return nil, lab.Errorf(lab.KindInvalid, "body.run: %s has no run %q", in.id(), in.Body.Run)
		case err != nil:
			return nil, err
		case run.Process != n.Process:
			return nil, lab.Errorf(lab.KindInvalid, "body.run: run %s is of process %s, not %s", run.Run, run.Process, n.Process)
		}
		e.RunID = run.ID
	}
	return s.entered(ctx, in.Key, nil, e, n)
}

// checkStepName says what is wrong with a name for a step.
func (s *Server) checkStepName(n lab.StepName) error {
	sheet, ok := s.book().Sheet(n.Process)
	switch {
	case !ok:
		return lab.Errorf(lab.KindInvalid, "%s", lab.MustBeOneOf("body.process", n.Process, s.book().IDs()))
	case sheet.Index(n.Name) >= 0:
		return lab.Errorf(lab.KindInvalid, "body.name: %q is a step of the sheet %s already and means that", n.Name, n.Process)
	case n.Step != "" && sheet.Index(n.Step) < 0:
		return lab.Errorf(lab.KindInvalid, "%s", lab.MustBeOneOf("body.step (of process "+n.Process+")", n.Step, sheet.StepIDs()))
	}
	return nil
}

// unitsOwn takes in what a unit calls its steps, or how it counts their time.
func (l *FigureList) unitsOwn(e lab.Entry, by SetBy) {
	if e.What == lab.EntryStepTime {
		f := StepTimeFigure{SetBy: by}
		if json.Unmarshal(e.Body, &f.StepTime) == nil {
			l.StepTime = &f
		}
		return
	}
	f := StepNameFigure{SetBy: by}
	if json.Unmarshal(e.Body, &f.StepName) != nil {
		return
	}
	l.StepNames = slices.DeleteFunc(l.StepNames, func(o StepNameFigure) bool { return o.Process == f.Process && o.Name == f.Name })
	l.StepNames = append(l.StepNames, f)
}
