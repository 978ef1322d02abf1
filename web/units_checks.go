package web

import (
	"context"
	"net/http"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// UnitCheck is where one check of a unit stands.
type UnitCheck struct {
	Check string `json:"check"`
	Label string `json:"label"`
	How   string `json:"how"`
	Days  int    `json:"days" doc:"How often it is due, days."`
	Runs  int    `json:"runs" doc:"After how many runs of the unit it is due, where that comes first; 0: by days alone."`
	Ran   int    `json:"ran" doc:"How many runs there were since it was done last, where it is due by runs."`
	From  string `json:"from"` // where the interval is from
	// Provenance is how far that goes: published, unconfirmed or the lab's own.
	Provenance string         `json:"standing"`
	Is         string         `json:"is" enum:"never,fine,due-soon,overdue,fault" doc:"Where it stands."`
	DueAt      *lab.Time      `json:"due_at"`
	Last       *UnitCheckDone `json:"last"`
}

// UnitCheckDone is when a check was last done, and what came of it.
type UnitCheckDone struct {
	ID    string   `json:"id"`
	At    lab.Time `json:"at"`
	By    string   `json:"by"`
	OK    bool     `json:"ok"`
	Value *float64 `json:"value"`
	Note  string   `json:"note"`
}

// CheckList answers GET /units/{lab}/{unit}/checks.
type CheckList struct {
	Checks  []UnitCheck `json:"checks"`
	History []EntryView `json:"history"` // newest first
}

// CheckRequest says that a check was done.
type CheckRequest struct {
	Check string     `json:"check" minLength:"1" maxLength:"64" doc:"The check's id."`
	OK    bool       `json:"ok" doc:"false: it found a fault."`
	Value *float64   `json:"value,omitempty" doc:"What was measured, where something was."`
	Note  string     `json:"note,omitempty" maxLength:"1000" doc:"What was found or done."`
	At    *time.Time `json:"at,omitempty" doc:"When; absent: now."`
}

func (s *Server) checkRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-checks", Method: http.MethodGet, Path: "/units/{lab}/{unit}/checks", Tags: []string{"units"},
		Summary: "What is looked after on a unit, and when it is due", Description: "Probe, pumps, battery, hoses, filters, floats, control strip.",
		Errors: []int{http.StatusNotFound},
	}, s.listChecks)
	register(s, lab.RoleOperator, huma.Operation{
		OperationID: "do-check", Method: http.MethodPost, Path: "/units/{lab}/{unit}/checks", Tags: []string{"units"},
		Summary: "Say that a check was done", Description: "The offset of a probe is set with the unit's figures; that counts as its check.",
		DefaultStatus: http.StatusCreated, Errors: []int{http.StatusNotFound},
	}, func(ctx context.Context, in *struct {
		UnitPath
		Key  string `header:"Idempotency-Key" maxLength:"128"`
		Body CheckRequest
	}) (*body[EntryView], error) {
		if _, err := s.unit(in.UnitPath); err != nil {
			return nil, err
		}
		if !slices.ContainsFunc(process.Checks(), func(c process.Check) bool { return c.ID == in.Body.Check }) {
			return nil, lab.Errorf(lab.KindInvalid, "body.check: there is no check %q; GET .../checks lists them", in.Body.Check)
		}
		return s.entered(ctx, in.Key, in.Body.At, lab.Entry{Unit: in.id(), What: lab.EntryCheck},
			lab.CheckDone{Check: in.Body.Check, OK: in.Body.OK, Value: in.Body.Value, Note: in.Body.Note})
	})
}

func (s *Server) listChecks(ctx context.Context, in *UnitPath) (*body[CheckList], error) {
	if _, err := s.unit(*in); err != nil {
		return nil, err
	}
	settings, err := s.cfg.Store.LabSettings(ctx)
	if err != nil {
		return nil, err
	}
	all, err := s.cfg.Store.Entries(ctx, lab.EntryFilter{Unit: in.id().String(), What: []string{lab.EntryCheck, lab.EntryProbe, lab.EntryTakesBack}, Limit: maxLimit})
	if err != nil {
		return nil, err
	}
	entries := lab.InForce(all)
	out := CheckList{Checks: []UnitCheck{}, History: []EntryView{}}
	states, err := s.checkStates(ctx, in.id().String(), entries, settings)
	if err != nil {
		return nil, err
	}
	for _, c := range states {
		u := UnitCheck{Check: c.ID, Label: c.Label, How: c.How, Days: c.Days, Runs: c.Runs, Ran: c.Ran, From: c.Source.From, Provenance: c.Source.Provenance(), Is: c.State}
		if c.Last != nil {
			u.DueAt = lab.AtPtr(c.DueAt)
			u.Last = &UnitCheckDone{ID: c.Last.ID, At: lab.At(c.Last.At), By: c.Last.By, OK: c.Done.OK, Value: c.Done.Value, Note: c.Done.Note}
		}
		out.Checks = append(out.Checks, u)
	}
	for _, e := range slices.Backward(entries) {
		out.History = append(out.History, viewEntry(e, nil))
	}
	return &body[CheckList]{out}, nil
}
