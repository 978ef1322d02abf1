package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// Sheets are the process sheets of the lab, and where they are changed.
type Sheets interface {
	Library() *process.Library
	// ChangeSheet refuses, as KindInvalid, what does not make a sheet.
	ChangeSheet(ctx context.Context, c lab.SheetChange) error
	SheetChanges(ctx context.Context) ([]lab.SheetChange, error) // oldest first
}

// builtinSheets are the sheets of the program, where no others are given.
type builtinSheets struct{}

var builtinLibrary = sync.OnceValue(func() *process.Library {
	l, err := process.NewLibrary(nil, nil)
	if err != nil {
		panic(fmt.Sprintf("web: the built-in sheets do not load: %v", err))
	}
	return l
})

func (builtinSheets) Library() *process.Library { return builtinLibrary() }

func (builtinSheets) ChangeSheet(context.Context, lab.SheetChange) error {
	return lab.Errorf(lab.KindUnavailable, "process sheets cannot be changed here")
}

func (builtinSheets) SheetChanges(context.Context) ([]lab.SheetChange, error) { return nil, nil }

// SheetList answers GET /sheets.
type SheetList struct {
	Sheets []SheetView `json:"sheets"`
}

// SheetView is what one process should be.
type SheetView struct {
	ID      string            `json:"id"`
	Name    string            `json:"name"`
	What    string            `json:"what"`
	DryMaxC *float64          `json:"dry_max_c" doc:"The hottest that the dryer may be, degrees Celsius; null: no limit."`
	Light   string            `json:"light_safe" doc:"From when on light does no harm, in words."`
	Steps   []SheetStep       `json:"steps" doc:"The steps."`
	Sources []SheetSource     `json:"sources"`
	Figures []SheetValue      `json:"figures"` // of the sheet as a whole
	Text    string            `json:"text" doc:"The lab's own change in force, in the form of a sheet's file; empty where there is none."`
	History []lab.SheetChange `json:"history"` // newest first
}

// SheetStep is what one step should be.
type SheetStep struct {
	Step     string        `json:"step"`
	Label    string        `json:"label"`
	Kind     string        `json:"kind" enum:"dev,exact,min" doc:"dev: time and temperature change the picture; exact: both ways count; min: a least time."`
	Wash     bool          `json:"wash"`
	Optional bool          `json:"optional"`
	FromUnit bool          `json:"time_from_unit"`
	AimS     *float64      `json:"aim_s" doc:"What the step is usually set to, seconds; null where the unit's own time counts."`
	LeastS   *float64      `json:"least_s" doc:"What must not be undercut, seconds."`
	AimC     float64       `json:"aim_c" doc:"The temperature aimed at, degrees Celsius."`
	LowC     float64       `json:"low_c"`
	HighC    float64       `json:"high_c"`
	Push     []SheetPush   `json:"push"`
	Per10C   *SheetFactor  `json:"per_10c"`
	Usual    bool          `json:"aim_is_usual" doc:"What is published is the range of temperatures; the aim is only what units are usually set to."`
	Note     string        `json:"note" doc:"When a figure holds, for whoever sets it."`
	Sources  []SheetSource `json:"sources"`
	Figures  []SheetValue  `json:"figures"` // each with how far its source goes
}

// SheetValue is one figure of a sheet.
type SheetValue struct {
	Figure     string `json:"figure"` // as a sheet's file names it
	Label      string `json:"label"`
	Value      string `json:"value" doc:"The figure as people write it, in degrees Celsius."`
	Provenance string `json:"standing" enum:"published,quoted elsewhere,unconfirmed,the lab's own" doc:"How far its source goes."`
}

// SheetPush is the time for one push.
type SheetPush struct {
	Push  float64  `json:"push"`
	TimeS *float64 `json:"time_s" doc:"The time for this push, seconds; null where it is a factor."`
	Times *float64 `json:"times" doc:"How many times the normal time."`
}

// SheetFactor is how much faster development goes for ten degrees more.
type SheetFactor struct {
	Best float64 `json:"best"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// SheetSource says where a figure comes from.
type SheetSource struct {
	Figure     string `json:"figure"`
	From       string `json:"from"`
	Memory     bool   `json:"memory" doc:"Written down from memory: to be confirmed from the lab's own manual."`
	Provenance string `json:"standing" enum:"published,quoted elsewhere,unconfirmed,the lab's own" doc:"How far the source goes."`
}

// SheetRequest changes a sheet.
type SheetRequest struct {
	Text string `json:"text" maxLength:"32768" doc:"What differs, in the form of a sheet's file (YAML); it stands in place of the lab's change before. Empty: back to the built-in sheet."`
}

// SheetPath names a sheet.
type SheetPath struct {
	ID string `path:"id" pattern:"^[a-z0-9][a-z0-9-]{0,31}$" doc:"The process id." example:"c41"`
}

func (s *Server) sheetRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-sheets", Method: http.MethodGet, Path: "/sheets", Tags: []string{"settings"},
		Summary: "The process sheets", Description: "What each process should be, where each figure comes from, and who changed what.",
	}, func(ctx context.Context, _ *struct{}) (*body[SheetList], error) {
		history, err := s.cfg.Sheets.SheetChanges(ctx)
		if err != nil {
			return nil, err
		}
		out := SheetList{Sheets: []SheetView{}}
		for _, id := range s.book().IDs() {
			out.Sheets = append(out.Sheets, s.viewSheet(id, history))
		}
		return &body[SheetList]{out}, nil
	})
	register(s, lab.RoleLead, huma.Operation{
		OperationID: "change-sheet", Method: http.MethodPut, Path: "/sheets/{id}", Tags: []string{"settings"},
		Summary: "Change a process sheet, or add one", Description: "Runs that begin from now on are judged by it; those that began before keep theirs.",
	}, s.changeSheet)
}

// book gives the sheets in force now.
func (s *Server) book() *process.Book { return s.cfg.Sheets.Library().At(s.cfg.Clock.Now()) }

func (s *Server) changeSheet(ctx context.Context, in *struct {
	SheetPath
	Body SheetRequest
}) (*body[SheetView], error) {
	text := strings.TrimSpace(in.Body.Text)
	if _, known := s.book().Sheet(in.ID); text == "" && !known {
		return nil, lab.Errorf(lab.KindInvalid, "body.text: there is no sheet to undo a change of; %s", lab.MustBeOneOf("id", in.ID, s.book().IDs()))
	}
	change := lab.SheetChange{Process: in.ID, Text: text, By: identityOf(ctx).Name, At: lab.At(s.cfg.Clock.Now())}
	if err := s.cfg.Sheets.ChangeSheet(ctx, change); err != nil {
		return nil, err
	}
	history, err := s.cfg.Sheets.SheetChanges(ctx)
	if err != nil {
		return nil, err
	}
	return &body[SheetView]{s.viewSheet(in.ID, history)}, nil
}

// viewSheet is a sheet as it is shown; one that was taken back altogether has
// its id and history only.
func (s *Server) viewSheet(id string, history []lab.SheetChange) SheetView {
	v := SheetView{ID: id, Steps: []SheetStep{}, Sources: []SheetSource{}, Figures: []SheetValue{}, History: []lab.SheetChange{}}
	for _, c := range slices.Backward(history) {
		if c.Process == id {
			v.History = append(v.History, c)
		}
	}
	if c := s.cfg.Sheets.Library().Changed(id); c != nil {
		v.Text = string(c.Body)
	}
	sheet, ok := s.book().Sheet(id)
	if !ok {
		return v
	}
	v.Name, v.What, v.Sources = sheet.Name, sheet.What, viewSources(sheet.Sources)
	if sheet.DryMaxC > 0 {
		v.DryMaxC = &sheet.DryMaxC
	}
	for _, f := range sheet.Figures() {
		v.Figures = append(v.Figures, SheetValue{f, process.FigureLabel(f), sheet.Value(f), process.ProvenanceOf(sheet.Sources, f)})
	}
	v.Light = lightWords(sheet.Light)
	for i := range sheet.Steps {
		v.Steps = append(v.Steps, viewStep(&sheet.Steps[i]))
	}
	return v
}
