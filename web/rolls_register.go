package web

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/web/rolltable"
)

// RollRegister is the part of the store that knows rolls: what they want, whose
// they are and when they are promised.
type RollRegister interface {
	PutRolls(ctx context.Context, rolls []lab.KnownRoll, by string) (became []string, err error)
	KnownRolls(ctx context.Context, checks []string) ([]lab.KnownRoll, error)
	WaitingRolls(ctx context.Context, limit int) ([]lab.KnownRoll, error)
	StopRoll(ctx context.Context, check, why, by string) (lab.KnownRoll, error)
	RemoveRoll(ctx context.Context, check, by string) error
}

// ListedRoll is a roll of a list. Its limits are judged row by row.
type ListedRoll struct {
	TwinCheck string     `json:"twin_check" doc:"Its twin check, 1 to 32 digits and letters; capitals or not." example:"48213"`
	Process   string     `json:"process,omitempty" doc:"The process it is for, by its id or name." example:"c41"`
	Push      *float64   `json:"push,omitempty" doc:"The push it is for, stops from -6 to 6. Absent: nobody said."`
	Film      string     `json:"film,omitempty" doc:"What film it is, at most 64 characters."`
	Format    string     `json:"format,omitempty" doc:"135, 120 and so on, at most 32 characters."`
	Order     string     `json:"order,omitempty" doc:"The customer's order, at most 64 characters."`
	DueAt     *time.Time `json:"due_at,omitempty" doc:"When it is promised."`
	Note      string     `json:"note,omitempty" doc:"What else is to be known, at most 1,000 characters."`
	Stop      string     `json:"stop,omitempty" doc:"Why it must not be run, at most 200 characters."`
}

// RollListRequest is a list of rolls.
type RollListRequest struct {
	Rolls []ListedRoll `json:"rolls" minItems:"1" maxItems:"500" doc:"The rolls. What a row says stands in the place of what was known; what it leaves out stays."`
}

// RollListAnswer says what became of a list, row by row.
type RollListAnswer struct {
	New     int          `json:"new"`
	Changed int          `json:"changed"`
	Same    int          `json:"same"`
	Taken   []TakenRow   `json:"taken"`
	Refused []RefusedRow `json:"refused"`
	Ignored []string     `json:"ignored"`
}

// TakenRow is a row that was taken.
type TakenRow struct {
	Row       int    `json:"row"`
	TwinCheck string `json:"twin_check"`
	Became    string `json:"became"`
}

// RefusedRow is a row that was not, and why.
type RefusedRow struct {
	Row       int    `json:"row"`
	TwinCheck string `json:"twin_check"`
	Error     string `json:"error"`
}

// WaitingList answers GET /rolls.
type WaitingList struct {
	Rolls []WaitingRoll `json:"rolls"`
}

// WaitingRoll is a roll that waits to be processed.
type WaitingRoll struct {
	lab.KnownRoll
	Loaded []string `json:"loaded"`
}

// StopRequest marks a roll as one that must not be run.
type StopRequest struct {
	Reason string `json:"reason" maxLength:"200" doc:"Why. Empty: it may be run, the mark comes off."`
}

// RollPath is a roll in a path.
type RollPath struct {
	TwinCheck string `path:"twin_check" maxLength:"64" doc:"The roll's twin check; capitals or not." example:"48213"`
}

func (s *Server) rollRegisterRoutes() {
	op := func(id, method, path, summary, text string, errs ...int) huma.Operation {
		return huma.Operation{OperationID: id, Method: method, Path: path, Tags: []string{"rolls"}, Summary: summary, Description: text, Errors: errs}
	}
	register(s, lab.RoleViewer, op("list-waiting-rolls", http.MethodGet, "/rolls", "The rolls that wait",
		"Known, and in no run of the last 60 days, or to be processed again. Those promised first come first, then those known longest. `loaded` names the units that are loaded with one."), s.getWaiting)
	register(s, lab.RoleOperator, op("list-rolls", http.MethodPost, "/rolls", "A list of rolls",
		"From whatever takes orders. Each row is taken or refused by itself, with the reason. Sent again it changes nothing."), s.postRolls)
	register(s, lab.RoleOperator, op("list-rolls-csv", http.MethodPost, "/rolls.csv", "A list of rolls as a table",
		"Comma, semicolon or tab between. The first line names the columns: twin check, process, push, order, due, film, format, note, stop; without such a line they come in this order. Processes by id or name; due as a day, with or without a time, by the lab's clock."), s.postRollsCSV)
	register(s, lab.RoleOperator, op("stop-roll", http.MethodPost, "/rolls/{twin_check}/stop", "Mark a roll: it must not be run",
		"It stays so, however often it is scanned, until the mark is taken off with an empty reason."), s.stopRoll)
	register(s, lab.RoleOperator, op("remove-roll", http.MethodDelete, "/rolls/{twin_check}", "Remove a roll from the list",
		"It will not come. Runs that had it keep it.", http.StatusNotFound), s.removeRoll)
}

func (s *Server) getWaiting(ctx context.Context, in *struct{ Listing }) (*body[WaitingList], error) {
	rolls, err := s.cfg.Store.WaitingRolls(ctx, in.capped())
	if err != nil {
		return nil, err
	}
	loaded := s.loadedRolls()
	out := WaitingList{Rolls: make([]WaitingRoll, 0, len(rolls))}
	for _, k := range rolls {
		out.Rolls = append(out.Rolls, WaitingRoll{k, loaded[k.TwinCheck]})
	}
	return &body[WaitingList]{out}, nil
}

// loadedRolls tells which units are loaded with a roll that they do not run yet.
func (s *Server) loadedRolls() map[string][]string {
	out := map[string][]string{}
	for _, u := range s.views() {
		l := nextLoad(u)
		if l == nil {
			continue
		}
		for _, r := range l.Rolls {
			if check, err := lab.TwinCheck(r.TwinCheck); err == nil {
				out[check] = append(out[check], u.ID)
			}
		}
	}
	return out
}

// nextLoad is what the next run of a unit carries, nil where nothing is loaded.
func nextLoad(u lab.Unit) *lab.Load {
	if u.Run != nil {
		return u.NextLoad
	}
	return u.Load
}

func (s *Server) postRolls(ctx context.Context, in *struct{ Body RollListRequest }) (*body[RollListAnswer], error) {
	x := s.rollReader(ctx)
	list := make([]readRoll, len(in.Body.Rolls))
	for i, r := range in.Body.Rolls {
		k, err := x.Roll(rolltable.Row{TwinCheck: r.TwinCheck, Process: strings.TrimSpace(r.Process), Film: strings.TrimSpace(r.Film),
			Format: strings.TrimSpace(r.Format), Order: strings.TrimSpace(r.Order), Note: strings.TrimSpace(r.Note), Stop: strings.TrimSpace(r.Stop)})
		if k.Push = r.Push; r.DueAt != nil {
			k.DueAt = lab.AtPtr(*r.DueAt)
		}
		list[i] = readRoll{i + 1, r.TwinCheck, k, cmp.Or(err, k.Check())}
	}
	return s.putRolls(ctx, list, nil)
}

func (s *Server) postRollsCSV(ctx context.Context, in *struct {
	RawBody []byte `contentType:"text/csv"`
}) (*body[RollListAnswer], error) {
	rows, ignored, err := rolltable.Read(string(in.RawBody))
	if err != nil {
		return nil, err
	}
	if len(rows) == 0 {
		return nil, lab.Errorf(lab.KindInvalid, "the list has no rolls; send a roll a line, with its twin check first")
	}
	x := s.rollReader(ctx)
	list := make([]readRoll, len(rows))
	for i, row := range rows {
		k, err := x.Roll(row)
		list[i] = readRoll{row.Row, row.TwinCheck, k, err}
	}
	return s.putRolls(ctx, list, ignored)
}

func (s *Server) rollReader(ctx context.Context) rolltable.Reader {
	return rolltable.Reader{Book: s.book(), Units: s.views(), Zone: s.zone(ctx)}
}

// zone is where the lab is; UTC where that does not read.
func (s *Server) zone(ctx context.Context) *time.Location {
	h, err := s.cfg.Store.LabSettings(ctx)
	if err != nil || h.TimeZone == "" {
		return time.UTC
	}
	zone, err := time.LoadLocation(h.TimeZone)
	if err != nil {
		return time.UTC
	}
	return zone
}

// readRoll is a row with what was made of it.
type readRoll struct {
	row  int
	said string
	roll lab.KnownRoll
	err  error
}

// putRolls takes the good rows of a list and says what is wrong with the others.
func (s *Server) putRolls(ctx context.Context, rows []readRoll, ignored []string) (*body[RollListAnswer], error) {
	out := RollListAnswer{Taken: []TakenRow{}, Refused: []RefusedRow{}, Ignored: ignored}
	first := map[string]int{}
	var good []lab.KnownRoll
	for _, r := range rows {
		err := r.err
		if n, twice := first[r.roll.TwinCheck]; err == nil && twice {
			err = fmt.Errorf("roll %s is in the list already, in row %d", r.roll.TwinCheck, n)
		}
		if err != nil {
			out.Refused = append(out.Refused, RefusedRow{r.row, brief(r.said), err.Error()})
			continue
		}
		first[r.roll.TwinCheck] = r.row
		good = append(good, r.roll)
		out.Taken = append(out.Taken, TakenRow{Row: r.row, TwinCheck: r.roll.TwinCheck})
	}
	became, err := s.cfg.Store.PutRolls(ctx, good, identityOf(ctx).Name)
	if err != nil {
		return nil, err
	}
	for i, b := range became {
		out.Taken[i].Became = b
		switch b {
		case lab.RollNew:
			out.New++
		case lab.RollChanged:
			out.Changed++
		default:
			out.Same++
		}
	}
	return &body[RollListAnswer]{out}, nil
}

// brief bounds what was sent where it is said again.
func brief(s string) string {
	if r := []rune(s); len(r) > 64 {
		return string(r[:64])
	}
	return s
}

func (s *Server) stopRoll(ctx context.Context, in *struct {
	RollPath
	Body StopRequest
}) (*body[lab.KnownRoll], error) {
	check, err := lab.TwinCheck(in.TwinCheck)
	if err != nil {
		return nil, err
	}
	k, err := s.cfg.Store.StopRoll(ctx, check, strings.TrimSpace(in.Body.Reason), identityOf(ctx).Name)
	return &body[lab.KnownRoll]{k}, err
}

func (s *Server) removeRoll(ctx context.Context, in *RollPath) (*struct{}, error) {
	check, err := lab.TwinCheck(in.TwinCheck)
	if err != nil {
		return nil, err
	}
	return nil, s.cfg.Store.RemoveRoll(ctx, check, identityOf(ctx).Name)
}

// knownRolls gives what is known of rolls, by twin check.
func (s *Server) knownRolls(ctx context.Context, rolls []lab.Roll) (map[string]lab.KnownRoll, error) {
	checks := make([]string, len(rolls))
	for i, r := range rolls {
		checks[i] = r.TwinCheck
	}
	list, err := s.cfg.Store.KnownRolls(ctx, slices.Compact(slices.Sorted(slices.Values(checks))))
	known := map[string]lab.KnownRoll{}
	for _, k := range list {
		known[k.TwinCheck] = k
	}
	return known, err
}
