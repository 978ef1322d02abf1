package web

import (
	"bytes"
	"context"
	"encoding/csv"
	"io"
	"net/http"
	"strconv"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// Reports makes the reports of runs. A run that is not there is KindNotFound.
type Reports interface {
	Report(ctx context.Context, runID string) (lab.Report, error)
	PDF(ctx context.Context, runID string, w io.Writer) error
	TraceCSV(ctx context.Context, runID string, w io.Writer) error
}

// SymptomCode is a fault that can be seen on film.
type SymptomCode struct {
	Seen  string `json:"seen"`
	Label string `json:"label"`
}

// SymptomList answers GET /symptoms.
type SymptomList struct {
	Symptoms []SymptomCode `json:"symptoms"`
}

// download is an answer that is a file.
type download struct {
	ContentType        string `header:"Content-Type"`
	ContentDisposition string `header:"Content-Disposition"`
	Body               []byte
}

func (s *Server) reportRoutes() {
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "get-report", Method: http.MethodGet, Path: "/runs/{id}/report", Tags: []string{"runs"},
		Summary: "What happened to the film", Description: "The run as it is judged, what it was judged by, what to look for on the film, how it compares with good runs, and its timeline.",
		Errors: []int{http.StatusNotFound},
	}, func(ctx context.Context, in *RunPath) (*body[lab.Report], error) {
		if s.cfg.Reports == nil {
			return nil, errNoReports
		}
		r, err := s.cfg.Reports.Report(ctx, in.ID)
		if err != nil {
			return nil, err
		}
		return &body[lab.Report]{r}, nil
	})
	file := func(id, path, summary, text, media string) huma.Operation {
		return huma.Operation{OperationID: id, Method: http.MethodGet, Path: path, Tags: []string{"runs"}, Summary: summary, Description: text,
			Errors: []int{http.StatusNotFound}, Responses: map[string]*huma.Response{"200": {
				Description: "The file.", Content: map[string]*huma.MediaType{media: {Schema: &huma.Schema{Type: "string", Format: "binary"}}},
			}}}
	}
	register(s, lab.RoleViewer, file("get-report-pdf", "/runs/{id}/report.pdf", "The report on paper", "The report as PDF, with the same drawing.", "application/pdf"),
		func(ctx context.Context, in *RunPath) (*download, error) {
			if s.cfg.Reports == nil {
				return nil, errNoReports
			}
			var b bytes.Buffer
			if err := s.cfg.Reports.PDF(ctx, in.ID, &b); err != nil {
				return nil, err
			}
			return &download{"application/pdf", `inline; filename="report.pdf"`, b.Bytes()}, nil
		})
	register(s, lab.RoleViewer, file("get-trace-csv", "/runs/{id}/trace.csv", "The run's readings as a table", "One line for each reading, by the unit's own clock; temperatures in degrees Celsius.", "text/csv"), s.getTraceCSV)
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-symptoms", Method: http.MethodGet, Path: "/symptoms", Tags: []string{"runs"},
		Summary: "Faults that film can show", Description: "What SymptomRequest.seen may be.",
	}, func(_ context.Context, in *struct {
		Process string `query:"process" doc:"Only those of this process." example:"c41"`
	}) (*body[SymptomList], error) {
		out := SymptomList{[]SymptomCode{}}
		if s.cfg.Symptoms != nil {
			out.Symptoms = s.cfg.Symptoms(in.Process)
		}
		return &body[SymptomList]{out}, nil
	})
}

var errNoReports = lab.Errorf(lab.KindUnavailable, "reports are not ready")

func (s *Server) getTraceCSV(ctx context.Context, in *RunPath) (*download, error) {
	var b bytes.Buffer
	var err error
	if s.cfg.Reports != nil {
		err = s.cfg.Reports.TraceCSV(ctx, in.ID, &b)
	} else {
		err = s.traceCSV(ctx, in.ID, &b)
	}
	if err != nil {
		return nil, err
	}
	return &download{"text/csv; charset=utf-8", `attachment; filename="trace.csv"`, b.Bytes()}, nil
}

// traceCSV writes what is stored of a run's readings, RFC 4180.
func (s *Server) traceCSV(ctx context.Context, id string, w io.Writer) error {
	run, err := s.cfg.Store.Run(ctx, id)
	if err != nil {
		return err
	}
	unit, err := lab.ParseUnitID(run.Unit)
	if err != nil {
		return err
	}
	to := s.cfg.Clock.Now()
	if run.EndedAt != nil {
		to = run.EndedAt.Time
	}
	points, err := s.cfg.Store.Trace(ctx, unit, run.StartedAt.Time, to)
	if err != nil {
		return err
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	rows := [][]string{{"at", "bath_c", "preheat_c", "wash_c", "dryer_c", "room_c"}}
	for _, p := range points {
		rows = append(rows, []string{p.At.String(), number(p.BathC), number(p.PreheatC), number(p.WashC), number(p.DryerC), number(p.RoomC)})
	}
	return out.WriteAll(rows)
}

func number(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}

// fileResponse describes an answer that is a file.
func fileResponse(media string) map[string]*huma.Response {
	return map[string]*huma.Response{"200": {
		Description: "The file.", Content: map[string]*huma.MediaType{media: {Schema: &huma.Schema{Type: "string", Format: "binary"}}},
	}}
}
