package web

import (
	"context"
	"net/http"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// RollPage answers GET /rolls/{twin_check}.
type RollPage struct {
	TwinCheck string       `json:"twin_check"`
	Runs      []lab.Run    `json:"runs"`
	Loaded    []LoadedRoll `json:"loaded"`
	// Known is what is known of it; null where nobody told of it.
	Known *lab.KnownRoll `json:"known"`
}

// LoadedRoll is a roll that is loaded now.
type LoadedRoll struct {
	Unit string   `json:"unit"`
	Roll lab.Roll `json:"roll"`
}

// Batch answers GET /runs/{id}/batch.
type Batch struct {
	Unit     string     `json:"unit"`
	Process  string     `json:"process"`
	LastGood *string    `json:"last_good" doc:"The id of the last good run before; null where none was found."`
	NextGood *string    `json:"next_good" doc:"The id of the next good run after; null while there is none."`
	Runs     []BatchRun `json:"runs"`
}

// BatchRun is a run between two good ones.
type BatchRun struct {
	Run    lab.Run  `json:"run"`
	Codes  []string `json:"codes" doc:"The codes of its reasons."`
	Shared []string `json:"shared" doc:"Those that it has in common with the run asked about."`
}

func (s *Server) rollRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "get-roll", Method: http.MethodGet, Path: "/rolls/{twin_check}", Tags: []string{"runs"},
		Summary: "Where a roll went", Description: "The runs that carried it, newest first, the units that are loaded with it and have not begun, and what is known of it. A twin check that nobody scanned or listed gives none of these.",
	}, s.getRoll)
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "get-batch", Method: http.MethodGet, Path: "/runs/{id}/batch", Tags: []string{"runs"},
		Summary:     "The batch that may share a fault",
		Description: "All runs of the unit and process after the last good one before this run, up to the next good one after it, oldest first. Good: film or a control strip, done and in control. `shared` are the reasons that a run has in common with this one.",
		Errors:      []int{http.StatusNotFound},
	}, s.getBatch)
}

func (s *Server) getRoll(ctx context.Context, in *RollPath) (*body[RollPage], error) {
	check, err := lab.TwinCheck(in.TwinCheck)
	if err != nil {
		return nil, err
	}
	runs, err := s.cfg.Store.Runs(ctx, lab.RunFilter{Roll: check, Limit: defaultLimit})
	if err != nil {
		return nil, err
	}
	page := RollPage{TwinCheck: check, Runs: runs, Loaded: []LoadedRoll{}}
	for _, u := range s.views() {
		if r, ok := rollIn(nextLoad(u), check); ok {
			page.Loaded = append(page.Loaded, LoadedRoll{u.ID, r})
		}
	}
	known, err := s.cfg.Store.KnownRolls(ctx, []string{check})
	if err != nil {
		return nil, err
	}
	if len(known) > 0 {
		page.Known = &known[0]
	}
	return &body[RollPage]{page}, nil
}

func rollIn(l *lab.Load, check string) (lab.Roll, bool) {
	if l == nil {
		return lab.Roll{}, false
	}
	i := slices.IndexFunc(l.Rolls, func(r lab.Roll) bool {
		have, err := lab.TwinCheck(r.TwinCheck)
		return err == nil && have == check
	})
	if i < 0 {
		return lab.Roll{}, false
	}
	return l.Rolls[i], true
}

// batchMost is how many runs on either side are looked at for a good one.
const batchMost = 500

func (s *Server) getBatch(ctx context.Context, in *RunPath) (*body[Batch], error) {
	run, err := s.cfg.Store.Run(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	f := lab.RunFilter{Unit: run.Unit, Process: run.Process, Limit: batchMost, To: run.StartedAt.Time}
	before, err := s.cfg.Store.Runs(ctx, f)
	if err != nil {
		return nil, err
	}
	f.From, f.To, f.OldestFirst = run.StartedAt.Time, time.Time{}, true
	after, err := s.cfg.Store.Runs(ctx, f)
	if err != nil {
		return nil, err
	}
	after = slices.DeleteFunc(after, func(r lab.Run) bool { return r.ID == run.ID })
	return &body[Batch]{batchOf(run, before, after)}, nil
}

// batchOf gathers the runs around one: before are those before it, the newest
// first; after those after it, the oldest first.
func batchOf(run lab.Run, before, after []lab.Run) Batch {
	b := Batch{Unit: run.Unit, Process: run.Process, Runs: []BatchRun{}}
	codes := reasonCodes(run)
	add := func(r lab.Run) {
		own := reasonCodes(r)
		shared := slices.DeleteFunc(slices.Clone(own), func(c string) bool { return !slices.Contains(codes, c) })
		b.Runs = append(b.Runs, BatchRun{Run: r, Codes: own, Shared: shared})
	}
	for _, r := range before {
		if goodRun(r) {
			b.LastGood = &r.ID
			break
		}
		add(r)
	}
	slices.Reverse(b.Runs)
	add(run)
	for _, r := range after {
		if goodRun(r) {
			b.NextGood = &r.ID
			break
		}
		add(r)
	}
	return b
}

// goodRun tells whether a run shows that the unit was in order.
func goodRun(r lab.Run) bool {
	return r.Outcome == lab.OutcomeDone && r.Verdict != nil && *r.Verdict == lab.InControl &&
		(r.Kind == lab.KindOfRunFilm || r.Kind == lab.KindOfRunStrip)
}

func reasonCodes(r lab.Run) []string {
	codes := []string{}
	for _, reason := range r.Reasons {
		if !slices.Contains(codes, reason.Code) {
			codes = append(codes, reason.Code)
		}
	}
	return codes
}
