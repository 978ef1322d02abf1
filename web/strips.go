package web

import (
	"bytes"
	"cmp"
	"context"
	"encoding/csv"
	"net/http"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/internal/strips"
)

// Strips is the part of the store that keeps what control strips are judged
// by; the strips themselves are entries.
type Strips interface {
	StripSettings(ctx context.Context) (lab.StripSettings, error)
	SetStripSettings(ctx context.Context, s lab.StripSettings, by string) error
}

// StripView is a control strip that was read.
type StripView struct {
	ID        string             `json:"id"`
	Unit      string             `json:"unit"`
	Run       *string            `json:"run" doc:"The id of the run that it went through; null where it is not known."`
	Process   string             `json:"process"`
	Mix       string             `json:"mix"`
	Code      string             `json:"code" doc:"Code number of the box of strips."`
	ReadAt    lab.Time           `json:"read_at" doc:"When it was read."`
	By        string             `json:"by" doc:"Who read it."`
	Densities map[string]lab.RGB `json:"densities" doc:"Densities by step of the strip: dmin, ld, hd, yellow, dmax, speed."`
	Plots     []lab.StripPlot    `json:"plots" doc:"Its figures as they were judged."`
	Status    string             `json:"standing" enum:"in,action,out,unjudged" doc:"in: within the action limits. action: beyond an action limit. out: beyond a control limit. unjudged: there is nothing yet to judge it by."`
	Note      string             `json:"note" doc:"What else is to be known."`
}

// StripList answers GET /strips.
type StripList struct {
	Strips []StripView `json:"strips" doc:"Control strips, newest first."`
}

// StripQuery picks strips.
type StripQuery struct {
	Unit    string    `query:"unit" maxLength:"65" doc:"Only those of this unit, lab/unit." example:"tern-street/plover"`
	Process string    `query:"process" maxLength:"64" doc:"Only those of this process." example:"c41"`
	From    time.Time `query:"from" doc:"Only those read at this moment or later, RFC 3339."`
	To      time.Time `query:"to" doc:"Only those read before this moment, RFC 3339."`
}

func (s *Server) stripRoutes() {
	op := func(id, method, path, summary, text string, more ...int) huma.Operation {
		return huma.Operation{OperationID: id, Method: method, Path: path, Tags: []string{"strips"}, Summary: summary, Description: text, Errors: more}
	}
	read := op("read-strip", http.MethodPost, "/strips", "A control strip was read",
		"It is judged by what is in force at that moment, and saved with that. One strip beyond a control limit puts the gate on watch; a second one right after it raises strip-out.", http.StatusNotFound)
	read.DefaultStatus = http.StatusCreated
	register(s, lab.RoleOperator, read, s.postStrip)
	register(s, lab.RoleViewer, op("list-strips", http.MethodGet, "/strips", "Control strips, newest first", "What was undone is not in it."), s.listStrips)
	table := op("strips-csv", http.MethodGet, "/strips.csv", "Control strips as CSV",
		"A row a plot, oldest first, in the columns that wetside strips check reads, with unit, process, mix and code behind them.")
	table.Responses = fileResponse("text/csv")
	register(s, lab.RoleViewer, table, s.stripsCSV)
	densities := op("strip-densities-csv", http.MethodGet, "/strips/densities.csv", "Densities of control strips as CSV",
		"A row a strip, oldest first: read_at, unit, process, mix, code, by, run, note and a column for each density, such as ld.r. The same form is taken in by POST.")
	densities.Responses = fileResponse("text/csv")
	register(s, lab.RoleViewer, densities, s.densitiesCSV)
	register(s, lab.RoleOperator, op("take-strip-densities", http.MethodPost, "/strips/densities.csv", "Take a table of densities in",
		"A row a strip, with the names of its columns in the first row. Each is judged by what is in force now. One row that cannot be taken, and none is; what is there already is not taken twice.", http.StatusNotFound), s.takeDensities)
	register(s, lab.RoleViewer, op("list-since-strip", http.MethodGet, "/strips/since", "What ran since the last strip that was in",
		"Runs with customers' film, oldest first, with their rolls, and the rolls by customers' orders. Runs count from the strip's own run where that is known, else from its reading. Where no strip was in yet: since the first one."), s.stripSince)
	register(s, lab.RoleViewer, op("get-strip-chart", http.MethodGet, "/strips/chart", "The chart of a unit, process and mix",
		"Every plot with its signals, events on the same time line, and what may have moved it."), s.stripChart)
	register(s, lab.RoleViewer, op("get-strip-gate", http.MethodGet, "/strips/gate", "Whether customers' film may run",
		"in: the last strip was in. watch: film may run, find the cause. stop: no customers' film. none: no strips are asked for here, and none was read."), s.getGate)
	opened := op("open-strip-gate", http.MethodPost, "/strips/gate/open", "Let customers' film run in spite of the strips",
		"Holds until the next strip is read; the reason stays on record.", http.StatusNotFound)
	register(s, lab.RoleLead, opened, s.openGate)
	register(s, lab.RoleViewer, op("get-strip-settings", http.MethodGet, "/strips/settings", "What control strips are judged by",
		"Processes for which a strip is asked each day, boxes of strips with their reference densities and correction factors, the lab's own limits and aims."),
		func(ctx context.Context, _ *struct{}) (*body[lab.StripSettings], error) {
			settings, err := s.cfg.Store.StripSettings(ctx)
			return &body[lab.StripSettings]{settings}, err
		})
	register(s, lab.RoleLead, op("set-strip-settings", http.MethodPut, "/strips/settings", "Change what control strips are judged by",
		"The whole of it. Strips that were read keep what they were judged by."), s.setStripSettings)
}

func (s *Server) setStripSettings(ctx context.Context, in *struct{ Body lab.StripSettings }) (*body[lab.StripSettings], error) {
	for i := range in.Body.References {
		r := &in.Body.References[i]
		r.Densities, r.Corrections = stepsByName(r.Densities), stepsByName(r.Corrections)
	}
	if err := in.Body.Check(); err != nil {
		return nil, err
	}
	if err := s.cfg.Store.SetStripSettings(ctx, in.Body, identityOf(ctx).Name); err != nil {
		return nil, err
	}
	s.gatesChanged(ctx)
	return &body[lab.StripSettings]{in.Body}, nil
}

// reads are the strips of a unit, or of all where unit is "", oldest first.
func (s *Server) reads(ctx context.Context, unit string) ([]strips.Reading, error) {
	entries, err := s.cfg.Store.Entries(ctx, lab.EntryFilter{Unit: unit, What: []string{lab.EntryStrip, lab.EntryTakesBack}, Limit: maxLimit})
	return strips.Readings(entries), err
}

func viewStrip(r strips.Reading, by string) StripView {
	v := StripView{ID: r.ID, Unit: r.Unit, Process: r.Process, Mix: r.Mix, Code: r.Code, ReadAt: r.At, By: cmp.Or(r.ReadBy, by),
		Densities: r.Densities, Plots: r.Plots, Status: r.Status, Note: r.Note}
	if r.Run != "" {
		v.Run = &r.Run
	}
	return v
}

// picked are the strips that a query is after, oldest first.
func (s *Server) picked(ctx context.Context, q StripQuery) ([]strips.Reading, error) {
	if err := checkUnit(q.Unit); err != nil {
		return nil, err
	}
	if !q.From.IsZero() && !q.To.IsZero() {
		if err := checkSpan(q.From, q.To); err != nil {
			return nil, err
		}
	}
	all, err := s.reads(ctx, q.Unit)
	return slices.DeleteFunc(all, func(r strips.Reading) bool {
		return q.Process != "" && r.Process != q.Process || !q.From.IsZero() && r.At.Before(q.From) || !q.To.IsZero() && !r.At.Before(q.To)
	}), err
}

func (s *Server) listStrips(ctx context.Context, in *struct {
	Listing
	StripQuery
}) (*body[StripList], error) {
	reads, err := s.picked(ctx, in.StripQuery)
	if err != nil {
		return nil, err
	}
	out := StripList{Strips: []StripView{}}
	for _, r := range slices.Backward(reads) {
		if len(out.Strips) == in.capped() {
			break
		}
		out.Strips = append(out.Strips, viewStrip(r, r.By))
	}
	return &body[StripList]{out}, nil
}

// stripColumns are the columns of /strips.csv.
var stripColumns = []string{"at", "parameter", "value", "aim", "action", "control", "side", "standing", "unit", "process", "mix", "code", "by", "id"}

func (s *Server) stripsCSV(ctx context.Context, in *StripQuery) (*download, error) {
	reads, err := s.picked(ctx, *in)
	if err != nil {
		return nil, err
	}
	rows := [][]string{stripColumns}
	for _, r := range reads {
		for _, p := range r.Plots {
			rows = append(rows, []string{r.At.String(), lab.CSVText(p.Plot), number(&p.Value), number(p.Aim), number(p.Action), number(p.Control), p.Side, p.Status,
				r.Unit, lab.CSVText(r.Process), lab.CSVText(r.Mix), lab.CSVText(r.Code), lab.CSVText(cmp.Or(r.ReadBy, r.By)), r.ID})
		}
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	if err := w.WriteAll(rows); err != nil {
		return nil, err
	}
	return &download{"text/csv; charset=utf-8", `attachment; filename="strips.csv"`, b.Bytes()}, nil
}
