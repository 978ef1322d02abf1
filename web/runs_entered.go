package web

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// KindRequest corrects the kind of a run.
type KindRequest struct {
	Kind string `json:"kind" enum:"film,strip,flush,water,prime" doc:"What it was."`
}

func (s *Server) runEntryRoutes() {
	op := func(id, path, summary, text string) huma.Operation {
		return huma.Operation{OperationID: id, Method: http.MethodPost, Path: path, Tags: []string{"runs"}, Summary: summary, Description: text,
			Errors: []int{http.StatusNotFound, http.StatusConflict}}
	}
	created := func(o huma.Operation) huma.Operation { o.DefaultStatus = http.StatusCreated; return o }
	register(s, lab.RoleOperator, op("change-rolls", "/runs/{id}/rolls", "Rolls that are in a run, or are not",
		"During the run or after it. What the run was loaded with stays but for what is said here."), s.changeRolls)
	register(s, lab.RoleOperator, op("set-run-kind", "/runs/{id}/kind", "Correct the run type",
		"Only film counts among good runs."), func(ctx context.Context, in *struct {
		RunPath
		Stating
		Body KindRequest
	}) (*body[lab.Run], error) {
		return s.enteredOfRun(ctx, in.Key, in.ID, lab.EntryKindOfRun, lab.KindChange{Kind: in.Body.Kind})
	})
	register(s, lab.RoleOperator, op("decide-run", "/runs/{id}/decision", "Decide what becomes of the film",
		"Of the run, or of some rolls of it: a roll's own decision counts before the run's. A later decision stands in the place of the one before; both are saved."), s.decideRun)
	register(s, lab.RoleOperator, op("own-film", "/runs/{id}/owner", "Who sees to the film until it is decided about",
		"Nobody named: who is on call."), s.ownFilm)
	register(s, lab.RoleOperator, created(op("add-symptom", "/runs/{id}/symptoms", "A fault on the film",
		"The report then names the causes that fit both the fault and this run.")), s.addSymptom)
	register(s, lab.RoleOperator, created(op("add-statement", "/runs/{id}/statements", "What people did during a run",
		"It is counted in: the report and the advice follow from it.")), s.addStatement)
	register(s, lab.RoleOperator, created(op("add-measured", "/runs/{id}/measured", "A thermometer's reading of the bath",
		"Where the unit's probe was steady it becomes the probe's offset for this bath; else the bath is taken to stand at it.")), s.addMeasured)
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-run-entries", Method: http.MethodGet, Path: "/runs/{id}/entries", Tags: []string{"runs"},
		Summary: "What people stated of a run, oldest first", Description: "What was undone is in it and says so.",
		Errors: []int{http.StatusNotFound},
	}, func(ctx context.Context, in *RunPath) (*body[EntryList], error) {
		if _, err := s.cfg.Store.Run(ctx, in.ID); err != nil {
			return nil, err
		}
		all, err := s.cfg.Store.Entries(ctx, lab.EntryFilter{RunID: in.ID})
		if err != nil {
			return nil, err
		}
		return &body[EntryList]{EntryList{viewEntries(all)}}, nil
	})
}

// ofRun is an entry of a run, with the run.
func (s *Server) ofRun(ctx context.Context, id, what string) (lab.Entry, lab.Run, error) {
	run, err := s.cfg.Store.Run(ctx, id)
	if err != nil {
		return lab.Entry{}, run, err
	}
	unit, err := lab.ParseUnitID(run.Unit)
	return lab.Entry{Unit: unit, RunID: run.ID, What: what}, run, err
}

// enteredOfRun enters something of a run and answers with the run as it is
// then.
func (s *Server) enteredOfRun(ctx context.Context, key, id, what string, content any) (*body[lab.Run], error) {
	e, _, err := s.ofRun(ctx, id, what)
	if err != nil {
		return nil, err
	}
	if _, err := s.enter(ctx, key, nil, e, content); err != nil {
		return nil, err
	}
	run, err := s.cfg.Store.Run(ctx, id)
	if err != nil {
		return nil, err
	}
	return &body[lab.Run]{run}, nil
}
