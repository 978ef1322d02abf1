package web

import (
	"cmp"
	"context"
	"encoding/json"
	"net/http"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// HandOver is what the next shift must know.
type HandOver struct {
	At        lab.Time       `json:"at"`
	Since     lab.Time       `json:"since"`
	Open      []lab.Alert    `json:"open"`      // the most pressing first
	Shelved   []lab.Alert    `json:"shelved"`   // open, put aside by a person
	Held      []lab.Alert    `json:"held"`      // open, paging nobody for another reason
	Running   []lab.Unit     `json:"running"`   // with film or anything else in them
	Due       []lab.Job      `json:"due"`       // where a person is needed next
	Attend    []lab.Unit     `json:"attend"`    // idle, but a container wants seeing to or it is out of service
	Undecided []UndecidedRun `json:"undecided"` // ended, not in control, and not all its film is decided about
	Ended     []lab.Run      `json:"ended"`     // since then
	Closed    int            `json:"closed"`    // alerts raised and closed since then
}

// UndecidedRun is film that nobody has decided about.
type UndecidedRun struct {
	lab.Run
	Owner *FilmOwnerView `json:"owner" doc:"Who sees to the film until it is decided about; null: nobody."`
	AgeS  float64        `json:"age_s" doc:"How long ago the run ended, seconds."`
}

// FilmOwnerView is who sees to film.
type FilmOwnerView struct {
	Name string    `json:"name"`
	Said bool      `json:"said"`         // false: nobody was named; they are on call
	At   *lab.Time `json:"at,omitempty"` // when they were named
}

const (
	handOverDefault = 12 * time.Hour
	undecidedDays   = 60 // as long as a twin check stands for the same roll
)

func (s *Server) handOverRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "get-hand-over", Method: http.MethodGet, Path: "/hand-over", Tags: []string{"duty"},
		Summary: "What the next shift must know", Description: "What is open, shelved, running and due, and what ended since; for the change of shift.",
	}, s.handOver)
}

func (s *Server) handOver(ctx context.Context, in *struct {
	Since time.Time `query:"since" doc:"When this shift began, RFC 3339. Absent: twelve hours ago."`
}) (*body[HandOver], error) {
	now := s.cfg.Clock.Now()
	since := in.Since
	if since.IsZero() {
		since = now.Add(-handOverDefault)
	}
	if err := checkSpan(since, now); err != nil {
		return nil, err
	}
	due, err := s.allJobs(ctx)
	if err != nil {
		return nil, err
	}
	h := HandOver{At: lab.At(now), Since: lab.At(since), Due: due}
	if err := s.handOverAlerts(ctx, &h, since); err != nil {
		return nil, err
	}
	if err := s.handOverRuns(ctx, &h, since, now); err != nil {
		return nil, err
	}
	h.Running, h.Attend = []lab.Unit{}, []lab.Unit{}
	for _, u := range s.views() {
		switch {
		case u.Run != nil:
			h.Running = append(h.Running, u)
		case u.Standing == lab.UnitOutOfService, u.Standing != lab.UnitRetired && wantsHands(u):
			h.Attend = append(h.Attend, u)
		}
	}
	return &body[HandOver]{h}, nil
}

// wantsHands tells whether a container of an idle unit will not serve the
// next run.
func wantsHands(u lab.Unit) bool {
	return slices.ContainsFunc(u.Containers, func(c lab.Container) bool {
		return c.FloatShut || c.RunsLeft != nil && *c.RunsLeft < 1
	})
}

func (s *Server) handOverAlerts(ctx context.Context, h *HandOver, since time.Time) error {
	open, closed := true, false
	alerts, err := s.cfg.Store.Alerts(ctx, lab.AlertFilter{Open: &open, Limit: maxLimit})
	if err != nil {
		return err
	}
	h.Open, h.Shelved, h.Held = []lab.Alert{}, []lab.Alert{}, []lab.Alert{}
	slices.SortStableFunc(alerts, func(a, b lab.Alert) int { return cmp.Compare(b.Priority.Rank(), a.Priority.Rank()) })
	for _, a := range alerts {
		switch {
		case a.ShelvedUntil != nil:
			h.Shelved = append(h.Shelved, a)
		case a.Held != "":
			h.Held = append(h.Held, a)
		default:
			h.Open = append(h.Open, a)
		}
	}
	over, err := s.cfg.Store.Alerts(ctx, lab.AlertFilter{Open: &closed, Since: since, Limit: maxLimit})
	h.Closed = len(over)
	return err
}

func (s *Server) handOverRuns(ctx context.Context, h *HandOver, since, now time.Time) error {
	runs, err := s.cfg.Store.Runs(ctx, lab.RunFilter{From: now.AddDate(0, 0, -undecidedDays), Limit: maxLimit})
	if err != nil {
		return err
	}
	owner, err := s.filmOwners(ctx, now)
	if err != nil {
		return err
	}
	h.Undecided, h.Ended = []UndecidedRun{}, []lab.Run{}
	for _, r := range runs {
		if r.EndedAt == nil {
			continue
		}
		if !r.EndedAt.Before(since) {
			h.Ended = append(h.Ended, r)
		}
		film := r.Kind == "" || r.Kind == lab.KindOfRunFilm
		if film && r.Verdict != nil && *r.Verdict != lab.InControl && !r.Decided() {
			h.Undecided = append(h.Undecided, UndecidedRun{r, owner(r.ID), max(0, now.Sub(r.EndedAt.Time).Seconds())})
		}
	}
	return nil
}

// filmOwners tells who sees to the film of a run: who was named last, else who
// is on call first now, else nobody.
func (s *Server) filmOwners(ctx context.Context, now time.Time) (func(run string) *FilmOwnerView, error) {
	all, err := s.cfg.Store.Entries(ctx, lab.EntryFilter{What: []string{lab.EntryOwner}, Since: now.AddDate(0, 0, -undecidedDays)})
	if err != nil {
		return nil, err
	}
	named := map[string]*FilmOwnerView{}
	for _, e := range lab.InForce(all) {
		var o lab.FilmOwner
		if e.What == lab.EntryOwner && json.Unmarshal(e.Body, &o) == nil {
			named[e.RunID] = &FilmOwnerView{Name: o.Owner, Said: true, At: lab.AtPtr(e.Entered)}
		}
	}
	var onCall *FilmOwnerView
	if s.cfg.Duty != nil {
		st, err := s.cfg.Duty.Status(ctx)
		if err != nil {
			return nil, err
		}
		if i := slices.IndexFunc(st.OnCall, func(o lab.OnCall) bool { return o.From == nil }); i >= 0 {
			onCall = &FilmOwnerView{Name: st.OnCall[i].Name}
		}
	}
	return func(run string) *FilmOwnerView {
		if o := named[run]; o != nil {
			return o
		}
		return onCall
	}, nil
}
