package web

import (
	"context"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// FilmRequest says what was done with film that no run goes on with.
type FilmRequest struct {
	What string     `json:"what" enum:"drained,moved,dried,discarded" doc:"drained: its bath, by hand; the film stays in the tank. moved: to another unit or tank. dried: finished by hand and dried. discarded: given up."`
	At   *time.Time `json:"at,omitempty" doc:"When it was done. Absent: now."`
	Note string     `json:"note,omitempty" maxLength:"1000" doc:"What else is to be known."`
}

// ContinuesRequest says of which run a run takes on the film.
type ContinuesRequest struct {
	Run *string `json:"run" nullable:"true" maxLength:"64" doc:"The id of the earlier run of the same unit; null: of none, it has its own film."`
}

// linkedWithin is how long ago a run may have begun whose film is linked: the
// judgement of older runs is not made again.
const linkedWithin = 24 * time.Hour

func (s *Server) filmRoutes() {
	register(s, lab.RoleOperator, huma.Operation{
		OperationID: "add-film", Method: http.MethodPost, Path: "/units/{lab}/{unit}/film", Tags: []string{"units"},
		Summary:     "What was done with film that no run goes on with",
		Description: "It ends film-stranded and run-aborted of that film. Undone like any entry.",
		Errors:      []int{http.StatusNotFound, http.StatusConflict}, DefaultStatus: http.StatusCreated,
	}, s.addFilm)
	register(s, lab.RoleOperator, huma.Operation{
		OperationID: "set-continues", Method: http.MethodPost, Path: "/runs/{id}/continues", Tags: []string{"runs"},
		Summary: "Say of which run this one takes on the film",
		Description: "A rescue after an abort, a power cut or stranded film is one film over several runs: they are judged together. " +
			"What the monitor proposed is undone with null. For runs that began within the last 24 hours.",
		Errors: []int{http.StatusNotFound, http.StatusConflict},
	}, s.setContinues)
}

func (s *Server) addFilm(ctx context.Context, in *struct {
	UnitPath
	Stating
	Body FilmRequest
}) (*body[EntryView], error) {
	u, err := s.unit(in.UnitPath)
	if err != nil {
		return nil, err
	}
	e := lab.Entry{Unit: in.id(), What: lab.EntryFilm}
	switch {
	case len(u.Film) > 0:
		e.RunID = u.Film[0].RunID
	case u.Run != nil:
		e.RunID = u.Run.ID
	default:
		return nil, lab.Errorf(lab.KindConflict, "%s has no film that is wet: its last film was dried, or somebody said already what was done with it", u.Name)
	}
	b := in.Body
	if now := s.cfg.Clock.Now(); b.At != nil && b.At.After(now.Add(time.Minute)) {
		return nil, lab.Errorf(lab.KindInvalid, "body.at (%s) is still to come; it is %s now", lab.At(*b.At), lab.At(now))
	}
	if b.At != nil && len(u.Film) > 0 && u.Film[0].LeftAt != nil && b.At.Before(u.Film[0].LeftAt.Add(-aroundRun)) {
		return nil, lab.Errorf(lab.KindInvalid, "body.at (%s) is before the film was left, at %s", lab.At(*b.At), *u.Film[0].LeftAt)
	}
	return s.entered(ctx, in.Key, b.At, e, lab.FilmDoing{What: b.What, Note: strings.TrimSpace(b.Note)})
}

func (s *Server) setContinues(ctx context.Context, in *struct {
	RunPath
	Stating
	Body ContinuesRequest
}) (*body[lab.Run], error) {
	_, run, err := s.ofRun(ctx, in.ID, lab.EntryContinues)
	if err != nil {
		return nil, err
	}
	if run.Kind != lab.KindOfRunFilm {
		return nil, lab.Errorf(lab.KindConflict, "this run is of type %s: it carries no customers' film", run.Kind)
	}
	link := lab.Continues{}
	if in.Body.Run != nil && *in.Body.Run != "" {
		if err := s.mayContinue(ctx, run, *in.Body.Run); err != nil {
			return nil, err
		}
		link.Run = *in.Body.Run
	}
	if began := s.cfg.Clock.Now().Add(-linkedWithin); run.StartedAt.Before(began) {
		return nil, lab.Errorf(lab.KindConflict, "this run began at %s; runs are linked within 24 hours", run.StartedAt)
	}
	return s.enteredOfRun(ctx, in.Key, in.ID, lab.EntryContinues, link)
}

// mayContinue says what is wrong with a link to an earlier run.
func (s *Server) mayContinue(ctx context.Context, run lab.Run, id string) error {
	earlier, err := s.cfg.Store.Run(ctx, id)
	switch {
	case lab.KindOf(err) == lab.KindNotFound:
		return lab.Errorf(lab.KindInvalid, "body.run: there is no run %q; give the id of an earlier run of %s", id, run.Unit)
	case err != nil:
		return err
	case earlier.Unit != run.Unit:
		return lab.Errorf(lab.KindInvalid, "body.run: run %s was on unit %s; give a run of %s", earlier.Run, earlier.Unit, run.Unit)
	case id == run.ID || !earlier.StartedAt.Before(run.StartedAt.Time):
		return lab.Errorf(lab.KindInvalid, "body.run: run %s did not begin before this one", earlier.Run)
	case earlier.Kind != lab.KindOfRunFilm:
		return lab.Errorf(lab.KindInvalid, "body.run: run %s is of type %s: it carried no customers' film", earlier.Run, earlier.Kind)
	}
	return nil
}
