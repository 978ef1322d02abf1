package web

import (
	"cmp"
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

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

// DecisionRequest decides what becomes of the film of a run.
type DecisionRequest struct {
	Decision       string     `json:"decision" enum:"release,hold,reprocess,correct,lost" doc:"correct: in scan or print. lost: the film is lost."`
	Note           string     `json:"note,omitempty" maxLength:"4000" doc:"Why, and what was agreed."`
	CustomerToldAt *time.Time `json:"customer_told_at,omitempty" doc:"When the customer was told."`
	Rolls          []string   `json:"rolls,omitempty" maxItems:"200" doc:"Twin checks of the rolls that it is about. Absent: the run, and with it every roll that has no decision of its own."`
}

// OwnerRequest names who sees to film.
type OwnerRequest struct {
	Owner string `json:"owner,omitempty" maxLength:"128" doc:"The person's name. Absent: who asks."`
}

type decisionBody struct {
	Decision string    `json:"decision"`
	Note     string    `json:"note,omitempty"`
	ToldAt   *lab.Time `json:"customer_told_at,omitempty"`
	Rolls    []string  `json:"rolls,omitempty"`
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

func (s *Server) decideRun(ctx context.Context, in *struct {
	RunPath
	Stating
	Body DecisionRequest
}) (*body[lab.Run], error) {
	d, err := s.decisionOf(in.Body)
	if err != nil {
		return nil, err
	}
	if len(d.Rolls) > 0 {
		run, err := s.cfg.Store.Run(ctx, in.ID)
		if err != nil {
			return nil, err
		}
		if err := inRun(run, d.Rolls); err != nil {
			return nil, err
		}
	}
	return s.enteredOfRun(ctx, in.Key, in.ID, lab.EntryDecision, d)
}

// decisionOf checks a decision. By whom and when stand in the entry.
func (s *Server) decisionOf(r DecisionRequest) (decisionBody, error) {
	d := decisionBody{Decision: r.Decision, Note: strings.TrimSpace(r.Note)}
	if t := r.CustomerToldAt; t != nil {
		if now := s.cfg.Clock.Now(); t.After(now.Add(time.Minute)) {
			return d, lab.Errorf(lab.KindInvalid, "body.customer_told_at (%s) is still to come; it is %s now", lab.At(*t), lab.At(now))
		}
		d.ToldAt = lab.AtPtr(*t)
	}
	var err error
	d.Rolls, err = twinChecks(r.Rolls, "body.rolls")
	return d, err
}

// inRun says which roll is not in a run.
func inRun(run lab.Run, rolls []string) error {
	for _, check := range rolls {
		if !slices.ContainsFunc(run.Rolls, func(r lab.Roll) bool { return strings.EqualFold(r.TwinCheck, check) }) {
			return lab.Errorf(lab.KindInvalid, "body.rolls: roll %s is not in this run; add it first, by POST /runs/%s/rolls", check, run.ID)
		}
	}
	return nil
}

func (s *Server) ownFilm(ctx context.Context, in *struct {
	RunPath
	Stating
	Body OwnerRequest
}) (*body[EntryView], error) {
	e, _, err := s.ofRun(ctx, in.ID, lab.EntryOwner)
	if err != nil {
		return nil, err
	}
	return s.entered(ctx, in.Key, nil, e, lab.FilmOwner{Owner: cmp.Or(strings.TrimSpace(in.Body.Owner), identityOf(ctx).Name)})
}
