package web

import (
	"context"
	"net/http"
	"slices"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// DutyRequest changes the duty plan.
type DutyRequest struct {
	Version int          `json:"version" minimum:"0" doc:"The version that the plan was made from; 0 where none was set."`
	Plan    lab.DutyPlan `json:"plan"`
}

// SwapRequest puts one person in place of another for a day.
type SwapRequest struct {
	Day  string `json:"day" doc:"The day on which the hours begin, by the lab's clock." example:"2026-03-05"`
	Off  string `json:"off" doc:"Who is not on call."`
	On   string `json:"on" doc:"Who stands in; empty: nobody."`
	Note string `json:"note,omitempty" maxLength:"500"`
}

// DarkRequest keeps a phone dark.
type DarkRequest struct {
	Minutes int    `json:"minutes" minimum:"0" maximum:"60" doc:"For how long; 0: the light is on again."`
	Person  string `json:"person,omitempty" doc:"Who works in the dark. Absent: who is signed in."`
}

// DarkAnswer says until when a phone stays dark.
type DarkAnswer struct {
	Person string    `json:"person"`
	Until  *lab.Time `json:"until"`
}

// DutyRecord answers GET /duty/log.
type DutyRecord struct {
	Entries []lab.DutyEntry `json:"entries"`
}

// SwapPath is a swap in a path.
type SwapPath struct {
	ID int64 `path:"id" minimum:"1" doc:"The swap's id."`
}

func dutyOperation(id, method, path, summary, text string, errs ...int) huma.Operation {
	return huma.Operation{OperationID: id, Method: method, Path: path, Tags: []string{"duty"}, Summary: summary, Description: text, Errors: errs}
}

func (s *Server) dutyRoutes() {
	register(s, lab.RoleViewer, dutyOperation("get-duty", http.MethodGet, "/duty", "Who is on call, and the plan behind it",
		"People on call now, who is called first in front; the plan, swaps, phones that stay dark, and the stretches of the next 7 days in which nobody is on."),
		withDuty(s, func(ctx context.Context, d Roster, _ *struct{}) (*body[lab.DutyNow], error) {
			return answer(d.Duty(ctx))
		}))
	register(s, lab.RoleLead, dutyOperation("set-duty", http.MethodPut, "/duty", "Change the on-call plan",
		"Every version is kept, with who made it.", http.StatusConflict),
		withDuty(s, func(ctx context.Context, d Roster, in *struct{ Body DutyRequest }) (*body[lab.DutyNow], error) {
			return answer(d.SetPlan(ctx, in.Body.Plan, in.Body.Version, identityOf(ctx).Name))
		}))
	register(s, lab.RoleViewer, dutyOperation("get-duty-status", http.MethodGet, "/duty/status", "Would an alert reach a person now?",
		"What is wrong with paging itself, for the board."),
		withDuty(s, func(ctx context.Context, d Roster, _ *struct{}) (*body[lab.DutyStatus], error) {
			st, err := d.Status(ctx)
			return answer(hideInStatus(ctx, st), err)
		}))
	register(s, lab.RoleViewer, dutyOperation("list-duty-log", http.MethodGet, "/duty/log", "Who changed what about duty",
		"Newest first. Lines are added, never changed. Mail addresses, webhooks and telephone numbers are for the person they belong to and for leads."),
		withDuty(s, func(ctx context.Context, d Roster, in *Listing) (*body[DutyRecord], error) {
			entries, err := d.Log(ctx, in.capped())
			if entries == nil {
				entries = []lab.DutyEntry{}
			}
			entries = slices.Clone(entries)
			for i := range entries {
				entries[i] = hideInEntry(ctx, entries[i])
			}
			return answer(DutyRecord{entries}, err)
		}))
	s.swapRoutes()
	register(s, lab.RoleOperator, dutyOperation("go-dark", http.MethodPost, "/duty/dark", "I am loading in the dark",
		"That phone stays dark for so long; what is urgent goes to the next one at once. Zero minutes end it."),
		withDuty(s, func(ctx context.Context, d Roster, in *struct{ Body DarkRequest }) (*body[DarkAnswer], error) {
			by := identityOf(ctx).Name
			person := in.Body.Person
			if person == "" {
				person = by
			}
			dark, err := d.GoDark(ctx, person, in.Body.Minutes, by)
			return answer(DarkAnswer{dark.Person, lab.AtPtr(dark.Until.Time)}, err)
		}))
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-alert-pages", Method: http.MethodGet, Path: "/alerts/{id}/pages", Tags: []string{"alerts", "duty"},
		Summary: "Who was paged about an alert, and what became of it", Description: "Every page with every try, and when the next step is due.",
		Errors: []int{http.StatusNotFound},
	}, withDuty(s, func(ctx context.Context, d Roster, in *AlertPath) (*body[lab.AlertPages], error) {
		pages, err := d.AlertPages(ctx, in.ID)
		return answer(hideInPages(ctx, pages), err)
	}))
}

func (s *Server) swapRoutes() {
	add := dutyOperation("swap-duty", http.MethodPost, "/duty/swaps", "Put one person in place of another for a day",
		"It holds for the hours that begin on that day.")
	add.DefaultStatus = http.StatusCreated
	register(s, lab.RoleOperator, add,
		withDuty(s, func(ctx context.Context, d Roster, in *struct{ Body SwapRequest }) (*body[lab.DutySwap], error) {
			b := in.Body
			return answer(d.Swap(ctx, lab.DutySwap{Day: b.Day, Off: b.Off, On: b.On, Note: b.Note}, identityOf(ctx).Name))
		}))
	end := dutyOperation("end-duty-swap", http.MethodDelete, "/duty/swaps/{id}", "Take a swap back", "The plan holds again for that day.", http.StatusNotFound)
	end.DefaultStatus = http.StatusNoContent
	register(s, lab.RoleOperator, end,
		withDuty(s, func(ctx context.Context, d Roster, in *SwapPath) (*struct{}, error) {
			return nil, d.EndSwap(ctx, in.ID, identityOf(ctx).Name)
		}))
}

// withDuty gives an operation the roster.
func withDuty[I, O any](s *Server, h func(context.Context, Roster, *I) (*O, error)) func(context.Context, *I) (*O, error) {
	return func(ctx context.Context, in *I) (*O, error) {
		d, err := s.duty()
		if err != nil {
			return nil, err
		}
		return h(ctx, d, in)
	}
}

func answer[T any](v T, err error) (*body[T], error) {
	if err != nil {
		return nil, err
	}
	return &body[T]{v}, nil
}
