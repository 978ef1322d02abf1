package web

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/web/load"
	"wetside/web/propose"
)

// proposalRuns is from how many runs of late the units' usual times are taken.
const proposalRuns = 300

func (s *Server) nextLoadRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "next-loads", Method: http.MethodGet, Path: "/next-loads", Tags: []string{"rolls"},
		Summary: "What to load next",
		Description: "The rolls that wait, put together by process and push on the units that are ready, with a time to start each, set beside first come, first served. " +
			"A proposal: nothing is loaded or started by it. Nothing is proposed where no roll waits.",
	}, func(ctx context.Context, _ *struct{}) (*body[propose.Proposal], error) {
		f, err := s.proposalFacts(ctx, s.cfg.Clock.Now())
		if err != nil {
			return nil, err
		}
		s.proposing.Lock() // one at a time: many boards ask at once
		defer s.proposing.Unlock()
		return &body[propose.Proposal]{propose.Propose(f)}, nil
	})
}

// proposalFacts gathers what a proposal is made of. Where no roll waits nothing
// else is asked.
func (s *Server) proposalFacts(ctx context.Context, now time.Time) (f propose.Facts, err error) {
	f = propose.Facts{Now: now, Book: s.book(), Stops: map[string]map[string][]string{}}
	waiting, err := s.cfg.Store.WaitingRolls(ctx, maxLimit)
	if err != nil {
		return f, err
	}
	loaded := s.loadedRolls()
	for _, k := range waiting {
		if len(loaded[k.TwinCheck]) == 0 {
			f.Rolls = append(f.Rolls, k)
		}
	}
	if len(f.Rolls) == 0 {
		return f, nil
	}
	f.Units, f.Jobs = s.views(), s.jobs()
	if f.Settings, err = s.cfg.Store.LabSettings(ctx); err != nil {
		return f, err
	}
	if f.Runs, err = s.cfg.Store.Runs(ctx, lab.RunFilter{From: now.Add(-lab.RollMemory), Limit: proposalRuns}); err != nil {
		return f, err
	}
	for _, u := range f.Units {
		if f.Stops[u.ID], err = s.stopsOf(ctx, u, f.Rolls); err != nil {
			return f, err
		}
	}
	return f, nil
}

// stopsOf says, by process, why a unit must not be loaded for rolls that wait: what
// the check at loading would say of an empty load.
func (s *Server) stopsOf(ctx context.Context, u lab.Unit, rolls []lab.KnownRoll) (map[string][]string, error) {
	out := map[string][]string{}
	if u.Standing == lab.UnitRetired {
		return out, nil
	}
	for _, p := range u.Processes {
		wanted := false
		for _, r := range rolls {
			wanted = wanted || r.Process != "" && lab.DoesProcess(p, r.Process)
		}
		if !wanted {
			continue
		}
		a, err := s.judgedBy(ctx, u, lab.Load{Process: p}, load.Rolls{})
		if err != nil {
			return nil, err
		}
		for _, r := range a.Reasons {
			if r.Stops {
				out[p] = append(out[p], r.Text)
			}
		}
	}
	return out, nil
}
