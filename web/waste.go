package web

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/internal/wastebook"
)

// WasteBook is the part of the store that keeps what the waste log is written
// by; its lines are in the books.
type WasteBook interface {
	WasteSettings(ctx context.Context) (lab.WasteSettings, error)
	SetWasteSettings(ctx context.Context, s lab.WasteSettings, by string) error
}

// WasteLog answers GET /waste.
type WasteLog struct {
	lab.WasteSettings
	wastebook.Log
	SilverRichGalADay *float64               `json:"silver_rich_gal_a_day" doc:"Silver-rich solution emptied a day over the last 30 days, US gallons; null: not known, the log is younger or lacks liters."`
	Classes           []wastebook.WasteClass `json:"classes" doc:"Published classes and limits, each with its source."`
	LocalRules        string                 `json:"local_rules" doc:"Whose rules decide."`
	Cautions          []string               `json:"cautions" doc:"What to mind while emptying."`
}

// WasteRequest is a line of the log.
type WasteRequest struct {
	lab.WasteLine
	At *time.Time `json:"at,omitempty" doc:"When it was so; absent: now."`
}

// WasteCorrection corrects a line.
type WasteCorrection struct {
	WasteRequest
	Version int    `json:"version" minimum:"0" doc:"The version that is corrected; 0: nothing was written by hand yet."`
	Why     string `json:"why,omitempty" maxLength:"200" doc:"Why; required where something was written by hand before."`
}

// WasteQuery picks a time.
type WasteQuery struct {
	From time.Time `query:"from" doc:"The first moment, RFC 3339. Absent: the beginning of the log."`
	To   time.Time `query:"to" doc:"The moment after the last, RFC 3339. Absent: now."`
}

// silverDays is over how many days silver-rich solution is told a day.
const silverDays = 30

func (s *Server) wasteRoutes() {
	op := func(id, method, path, summary, text string, more ...int) huma.Operation {
		return huma.Operation{OperationID: id, Method: method, Path: path, Tags: []string{"waste"}, Summary: summary, Description: text, Errors: more}
	}
	register(s, lab.RoleViewer, op("get-waste", http.MethodGet, "/waste", "The waste log",
		"Every emptying with where it went, weekly checks, totals by month, and what is missing. "+wastebook.LocalRules), s.getWaste)
	add := op("add-waste-line", http.MethodPost, "/waste", "Write a line into the waste log",
		"A weekly check with initials, or what went out that no unit's container tells of. Emptyings of units' containers are in the log by themselves.", http.StatusConflict)
	add.DefaultStatus = http.StatusCreated
	register(s, lab.RoleOperator, add, s.addWaste)
	register(s, lab.RoleOperator, op("correct-waste-line", http.MethodPut, "/waste/{line}", "Write more of a line, or correct it",
		"The whole of it. What stood there before stays, with the reason.", http.StatusNotFound, http.StatusConflict), s.correctWaste)
	register(s, lab.RoleLead, op("set-waste", http.MethodPut, "/waste/settings", "Begin the waste log, or change what it is written by",
		"With started_at the log begins; without, nobody is asked. What was written stays."),
		func(ctx context.Context, in *struct{ Body lab.WasteSettings }) (*body[lab.WasteSettings], error) {
			return &body[lab.WasteSettings]{in.Body}, s.cfg.Store.SetWasteSettings(ctx, in.Body, identityOf(ctx).Name)
		})
	file := func(id, path, summary, text, media string) huma.Operation {
		o := op(id, http.MethodGet, path, summary, text)
		o.Responses = fileResponse(media)
		return o
	}
	register(s, lab.RoleViewer, file("waste-csv", "/waste.csv", "The waste log as CSV", "A row a line, oldest first; an earlier version of a corrected line has a row before it.", "text/csv"),
		func(ctx context.Context, in *WasteQuery) (*download, error) {
			src, err := s.wasteSource(ctx)
			if err != nil {
				return nil, err
			}
			return csvFile("waste-log.csv", wastebook.Table(wastebook.Make(src, in.From, in.To).Rows, src.Zone))
		})
	register(s, lab.RoleViewer, file("waste-pdf", "/waste.pdf", "The waste log on paper", "For whoever inspects: lines with their corrections, totals, and what is missing.", "application/pdf"), s.wastePDF)
}

func (s *Server) wasteSource(ctx context.Context) (src wastebook.Source, err error) {
	src.Now, src.Zone = s.cfg.Clock.Now(), s.zone(ctx)
	if src.Settings, err = s.cfg.Store.WasteSettings(ctx); err != nil || src.Settings.StartedAt == nil {
		return src, err
	}
	if src.Lines, err = s.cfg.Store.Lines(ctx, lab.BookWaste); err != nil {
		return src, err
	}
	src.Entries, err = s.cfg.Store.Entries(ctx, lab.EntryFilter{What: []string{lab.EntryContainer}})
	return src, err
}

func (s *Server) getWaste(ctx context.Context, in *WasteQuery) (*body[WasteLog], error) {
	src, err := s.wasteSource(ctx)
	if err != nil {
		return nil, err
	}
	out := WasteLog{WasteSettings: src.Settings, Log: wastebook.Make(src, in.From, in.To), Classes: wastebook.Classes, LocalRules: wastebook.LocalRules, Cautions: wastebook.Cautions}
	if src.Settings.StartedAt != nil {
		all := wastebook.Make(src, time.Time{}, time.Time{})
		if gal, known := wastebook.SilverRichGalADay(all.Rows, src.Settings.StartedAt.Time, src.Now, silverDays); known {
			out.SilverRichGalADay = &gal
		}
	}
	return &body[WasteLog]{out}, nil
}

func (s *Server) wastePDF(ctx context.Context, in *WasteQuery) (*download, error) {
	src, err := s.wasteSource(ctx)
	if err != nil {
		return nil, err
	}
	if src.Settings.StartedAt == nil {
		return nil, lab.Errorf(lab.KindInvalid, "no waste log is written yet; a lead begins it on its page")
	}
	house, err := s.cfg.Store.LabSettings(ctx)
	if err != nil {
		return nil, err
	}
	sheet := wastebook.Sheet{Log: wastebook.Make(src, in.From, in.To), Site: src.Settings.Site, From: in.From, To: in.To, Made: src.Now, MadeBy: identityOf(ctx).Name,
		Units: house.ReadIn(), Zone: src.Zone, Names: map[string]string{}}
	if sheet.From.Before(src.Settings.StartedAt.Time) {
		sheet.From = src.Settings.StartedAt.Time
	}
	if sheet.To.IsZero() {
		sheet.To = src.Now
	}
	for _, u := range s.views() {
		sheet.Names[u.ID] = u.Name
	}
	var b bytes.Buffer
	if err := wastebook.PDF(&b, sheet); err != nil {
		return nil, err
	}
	return &download{"application/pdf", `inline; filename="waste-log.pdf"`, b.Bytes()}, nil
}

func (s *Server) addWaste(ctx context.Context, in *struct {
	Stating
	Body WasteRequest
}) (*body[wastebook.WasteRow], error) {
	id := "w" + strings.ToLower(rand.Text()[:15])
	if in.Key != "" {
		id = "w" + strings.ToLower(strings.TrimPrefix(newLabel("waste\x00"+in.Key, identityOf(ctx).Name), lab.MixPrefix)) + "-by-key"
	}
	return s.writeWaste(ctx, lab.BookLine{ID: id, Version: 1}, in.Body)
}

// writeWaste writes a line and gives the row as it stands then.
func (s *Server) writeWaste(ctx context.Context, l lab.BookLine, in WasteRequest) (*body[wastebook.WasteRow], error) {
	if err := in.WasteLine.Check(); err != nil {
		return nil, err
	}
	settings, err := s.cfg.Store.WasteSettings(ctx)
	if err != nil {
		return nil, err
	}
	now := s.cfg.Clock.Now()
	switch l.At = lab.At(now); {
	case settings.StartedAt == nil:
		return nil, lab.Errorf(lab.KindConflict, "no waste log is written yet; a lead begins it on its page")
	case in.At != nil && in.At.After(now.Add(time.Minute)):
		return nil, lab.Errorf(lab.KindInvalid, "at (%s) is still to come; it is %s now", lab.At(*in.At), lab.At(now))
	case in.At != nil && in.At.Before(settings.StartedAt.Time):
		return nil, lab.Errorf(lab.KindInvalid, "at (%s) is before the log began (%s)", lab.At(*in.At), settings.StartedAt)
	case in.At != nil:
		l.At = lab.At(*in.At)
	}
	b, err := json.Marshal(in.WasteLine)
	if err != nil {
		return nil, err
	}
	l.Book, l.By, l.Body = lab.BookWaste, identityOf(ctx).Name, b
	if _, err := s.cfg.Store.WriteLine(ctx, l); err != nil {
		return nil, err
	}
	row, err := s.wasteRow(ctx, l.ID)
	return &body[wastebook.WasteRow]{row}, err
}

func (s *Server) wasteRow(ctx context.Context, id string) (wastebook.WasteRow, error) {
	src, err := s.wasteSource(ctx)
	if err != nil {
		return wastebook.WasteRow{}, err
	}
	for _, r := range wastebook.Make(src, time.Time{}, src.Now.Add(time.Hour)).Rows {
		if r.ID == id {
			return r, nil
		}
	}
	return wastebook.WasteRow{}, lab.Errorf(lab.KindNotFound, "there is no line %q in the waste log", brief(id))
}

func (s *Server) correctWaste(ctx context.Context, in *struct {
	ID   string `path:"line" maxLength:"64" doc:"The line's id; of an emptying that of its entry."`
	Body WasteCorrection
}) (*body[wastebook.WasteRow], error) {
	row, err := s.wasteRow(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	if in.Body.At == nil {
		in.Body.At = &row.At.Time
	}
	return s.writeWaste(ctx, lab.BookLine{ID: row.ID, Version: in.Body.Version + 1, Why: strings.TrimSpace(in.Body.Why)}, in.Body.WasteRequest)
}

// logEmptying writes what is known of an emptying into the waste log, where one
// is written: the liters by the container's level before it. A level says
// nothing of an emptying of a while ago.
func (s *Server) logEmptying(ctx context.Context, c lab.Container, e lab.Entry) {
	b := lab.BodyOf[lab.ContainerEvent](e)
	settings, err := s.cfg.Store.WasteSettings(ctx)
	if err != nil || settings.StartedAt == nil || b.What != lab.Emptied && b.What != lab.Swapped || !wastebook.Collects(c.Name, c.Role) {
		return
	}
	l := lab.WasteLine{What: lab.WasteEmptied, Unit: e.Unit.String(), Container: c.Name, Stream: settings.Streams[c.Name], To: settings.To[c.Name], Note: b.Note}
	if c.Litres != nil && e.Entered.Sub(e.At) < levelHolds {
		left := 0.0
		if b.Litres != nil {
			left = *b.Litres
		}
		litres := lab.Round(max(0, *c.Litres-left), 2)
		l.Litres, l.LitresBy = &litres, lab.LitresEstimate
	}
	body, err := json.Marshal(l)
	if err == nil {
		_, err = s.cfg.Store.WriteLine(ctx, lab.BookLine{Book: lab.BookWaste, ID: e.ID, Version: 1, At: lab.At(e.At), By: e.By, Body: body})
	}
	if err != nil && lab.KindOf(err) != lab.KindConflict { // it is there already: pressed twice
		s.log.Warn("the liters of an emptying are not in the waste log; a person can write them", "entry", e.ID, "error", err)
	}
}

// levelHolds is how long after an emptying its container's level still tells
// what was in it.
const levelHolds = 2 * time.Minute
