package web

import (
	"context"
	"net/http"
	"slices"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// DecisionsRequest decides about several runs in one go.
type DecisionsRequest struct {
	Runs     []string `json:"runs" minItems:"1" maxItems:"200" doc:"Ids of the runs."`
	Decision string   `json:"decision" enum:"release,hold,reprocess,correct,lost" doc:"What becomes of their film."`
	Note     string   `json:"note,omitempty" maxLength:"4000" doc:"Why, and what was agreed."`
}

// DecisionsAnswer says what was decided, run by run.
type DecisionsAnswer struct {
	Decided []string          `json:"decided"`
	Refused []RefusedDecision `json:"refused"`
}

// RefusedDecision is a run that could not be decided about, and why.
type RefusedDecision struct {
	Run   string `json:"run"`
	Error string `json:"error"`
}

func (s *Server) decisionRoutes() {
	register(s, lab.RoleOperator, huma.Operation{OperationID: "decide-runs", Method: http.MethodPost, Path: "/decisions", Tags: []string{"runs"},
		Summary: "Decide about several runs in one go", Description: "As POST /runs/{id}/decision for each. Rolls that have a decision of their own keep it. A run that goes on, or was decided about meanwhile, is refused by itself."},
		s.decideRuns)
}

func (s *Server) decideRuns(ctx context.Context, in *struct {
	Stating
	Body DecisionsRequest
}) (*body[DecisionsAnswer], error) {
	d, err := s.decisionOf(DecisionRequest{Decision: in.Body.Decision, Note: in.Body.Note})
	if err != nil {
		return nil, err
	}
	out := DecisionsAnswer{Decided: []string{}, Refused: []RefusedDecision{}}
	for _, id := range slices.Compact(slices.Sorted(slices.Values(in.Body.Runs))) {
		if err := s.decideOne(ctx, in.Key, id, d); err != nil {
			if kind := lab.KindOf(err); kind != lab.KindNotFound && kind != lab.KindConflict && kind != lab.KindInvalid {
				return nil, err
			}
			out.Refused = append(out.Refused, RefusedDecision{id, err.Error()})
			continue
		}
		out.Decided = append(out.Decided, id)
	}
	return &body[DecisionsAnswer]{out}, nil
}

// decideOne decides about a run that nobody has decided about yet.
func (s *Server) decideOne(ctx context.Context, key, id string, d decisionBody) error {
	e, run, err := s.ofRun(ctx, id, lab.EntryDecision)
	switch {
	case err != nil:
		return err
	case run.EndedAt == nil:
		return lab.Errorf(lab.KindConflict, "run %s goes on; decide once it has ended", run.Run)
	case run.Decision != nil && run.Decision.Decision != d.Decision:
		return lab.Errorf(lab.KindConflict, "run %s was decided about meanwhile: %s, by %s", run.Run, run.Decision.Decision, run.Decision.By)
	case run.Decision != nil:
		return nil // so it is
	}
	if key != "" {
		key += " " + id
	}
	_, err = s.enter(ctx, key, nil, e, d)
	return err
}
