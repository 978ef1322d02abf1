package web

import (
	"bytes"
	"cmp"
	"context"
	"encoding/csv"
	"maps"
	"net/http"
	"slices"
	"strings"
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

// StripAnswer is what became of a strip that was read in.
type StripAnswer struct {
	Strip StripView   `json:"strip" doc:"The strip as it is saved."`
	Gate  strips.Gate `json:"gate" doc:"The gate after it."`
	Notes []string    `json:"notes" doc:"What a person should know of how it was judged."`
}

// StripRequest is a control strip that was read.
type StripRequest struct {
	Unit      string             `json:"unit" maxLength:"65" doc:"The unit whose chemistry it went through, lab/unit." example:"tern-street/plover"`
	Run       string             `json:"run,omitempty" maxLength:"64" doc:"The id of the run that it went through, or the unit's own name of it. Absent: not known."`
	Process   string             `json:"process,omitempty" maxLength:"64" pattern:"^[A-Za-z0-9._-]*$" doc:"The process. Absent: that of the run." example:"c41"`
	Mix       string             `json:"mix,omitempty" maxLength:"64" doc:"The mix of chemistry. Absent: not known."`
	Code      string             `json:"code,omitempty" maxLength:"64" doc:"Code number of the box of strips, by which its aims are found." example:"2461"`
	ReadAt    *time.Time         `json:"read_at,omitempty" doc:"When it was read. Absent: now."`
	By        string             `json:"by,omitempty" maxLength:"64" doc:"Who read it. Absent: who is signed in."`
	Densities map[string]lab.RGB `json:"densities" doc:"Densities by step of the strip: dmin, ld, hd, yellow, dmax, and speed on black-and-white; r, g and b of each, those that were read."`
	Note      string             `json:"note,omitempty" maxLength:"1000" doc:"What else is to be known."`
}

// GateRequest opens a gate.
type GateRequest struct {
	Unit    string `json:"unit" maxLength:"65" doc:"The unit, lab/unit." example:"tern-street/plover"`
	Process string `json:"process" minLength:"1" maxLength:"64" doc:"The process." example:"c41"`
	Mix     string `json:"mix,omitempty" maxLength:"64" doc:"The mix. Absent: that of the last strip."`
	Reason  string `json:"reason" minLength:"1" maxLength:"1000" doc:"Why customers' film may run in spite of the strips."`
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

// stepsByName gives densities under the names that the plots have.
func stepsByName(d map[string]lab.RGB) map[string]lab.RGB {
	out := map[string]lab.RGB{}
	for _, step := range slices.Sorted(maps.Keys(d)) {
		out[strips.StepName(step)] = d[step]
	}
	return out
}

func (s *Server) postStrip(ctx context.Context, in *struct {
	Stating
	Body StripRequest
}) (*body[StripAnswer], error) {
	at, err := s.placed(ctx, in.Body)
	if err != nil {
		return nil, err
	}
	answer, err := s.readIn(ctx, in.Key, at)
	if err != nil {
		return nil, err
	}
	s.gatesChanged(ctx)
	if answer.Gate, err = s.gate(ctx, answer.Strip.Unit, answer.Strip.Process, answer.Strip.Mix); err != nil {
		return nil, err
	}
	return &body[StripAnswer]{answer}, nil
}

// stripIn is a strip that is read in, with the unit and run it went through.
type stripIn struct {
	StripRequest
	unit lab.UnitID
	run  lab.Run // zero: not known
}

// strip as it is saved, not judged yet.
func (b stripIn) strip() lab.Strip {
	return lab.Strip{Process: b.Process, Mix: strings.TrimSpace(b.Mix), Code: strings.TrimSpace(b.Code), ReadBy: b.By, Densities: stepsByName(b.Densities), Note: b.Note}
}

// placed finds the unit and the run of a strip, and its process.
func (s *Server) placed(ctx context.Context, b StripRequest) (stripIn, error) {
	unit, err := lab.ParseUnitID(b.Unit)
	if err != nil {
		return stripIn{}, lab.Errorf(lab.KindInvalid, "body.unit: %w", err)
	}
	if _, err := s.unit(UnitPath{Lab: unit.Lab, Unit: unit.Unit}); err != nil {
		return stripIn{}, err
	}
	run, err := s.stripRun(ctx, unit, b.Run)
	if err != nil {
		return stripIn{}, err
	}
	if b.Process == "" {
		b.Process = run.Process
	}
	if b.Process == "" {
		return stripIn{}, lab.Errorf(lab.KindInvalid, "body.process is missing: name the process, or the run that the strip went through")
	}
	if run.Process != "" && run.Process != b.Process {
		return stripIn{}, lab.Errorf(lab.KindInvalid, "body.process is %s, but run %s was %s", b.Process, run.Run, run.Process)
	}
	return stripIn{b, unit, run}, nil
}

// stillToCome refuses a strip of a time that is not yet.
func (s *Server) stillToCome(b stripIn) error {
	if now := s.cfg.Clock.Now(); b.ReadAt != nil && b.ReadAt.After(now.Add(time.Minute)) {
		return lab.Errorf(lab.KindInvalid, "read_at (%s) is still to come; it is %s now", lab.At(*b.ReadAt), lab.At(now))
	}
	return nil
}

// readIn judges a strip by what is in force and saves it with that. The gate
// after it is not worked out.
func (s *Server) readIn(ctx context.Context, key string, b stripIn) (StripAnswer, error) {
	at := s.cfg.Clock.Now()
	if b.ReadAt != nil {
		at = *b.ReadAt
	}
	known, err := s.reads(ctx, b.unit.String())
	if err != nil {
		return StripAnswer{}, err
	}
	settings, err := s.cfg.Store.StripSettings(ctx)
	if err != nil {
		return StripAnswer{}, err
	}
	before := slices.DeleteFunc(strips.OfProcess(known, b.Process, nil), func(r strips.Reading) bool { return r.At.After(at) })
	strip, notes := strips.Evaluate(b.strip(), b.unit.String(), before, settings)
	kept, err := s.enter(ctx, key, b.ReadAt, lab.Entry{Unit: b.unit, RunID: b.run.ID, What: lab.EntryStrip}, strip)
	if err != nil {
		return StripAnswer{}, err
	}
	r := strips.Reading{Strip: strip, ID: kept.ID, Unit: b.unit.String(), Run: b.run.ID, At: lab.At(kept.At)}
	return StripAnswer{Strip: viewStrip(r, kept.By), Notes: notes}, nil
}

// stripRun finds the run that a strip went through, by its id or by the
// unit's name of it; none where none is named.
func (s *Server) stripRun(ctx context.Context, unit lab.UnitID, which string) (lab.Run, error) {
	if which == "" {
		return lab.Run{}, nil
	}
	run, err := s.cfg.Store.Run(ctx, which)
	if lab.KindOf(err) == lab.KindNotFound && err != nil {
		run, err = s.runNamed(ctx, unit, which)
	}
	switch {
	case lab.KindOf(err) == lab.KindNotFound && err != nil:
		return lab.Run{}, lab.Errorf(lab.KindInvalid, "body.run: there is no run %q of %s", which, unit)
	case err != nil:
		return lab.Run{}, err
	case run.Unit != unit.String():
		return lab.Run{}, lab.Errorf(lab.KindInvalid, "body.run: run %s is of %s, not of %s", run.Run, run.Unit, unit)
	}
	return run, nil
}

// runNamed finds a run by the unit's own name of it.
func (s *Server) runNamed(ctx context.Context, unit lab.UnitID, name string) (lab.Run, error) {
	runs, err := s.cfg.Store.Runs(ctx, lab.RunFilter{Unit: unit.String(), Limit: maxLimit})
	if err != nil {
		return lab.Run{}, err
	}
	if i := slices.IndexFunc(runs, func(r lab.Run) bool { return r.Run == name }); i >= 0 {
		return runs[i], nil
	}
	return lab.Run{}, lab.Errorf(lab.KindNotFound, "there is no run %q of %s", name, unit)
}

// reads are the strips of a unit, or of all where unit is "", oldest first.
func (s *Server) reads(ctx context.Context, unit string) ([]strips.Reading, error) {
	entries, err := s.cfg.Store.Entries(ctx, lab.EntryFilter{Unit: unit, What: []string{lab.EntryStrip, lab.EntryTakesBack}, Limit: maxLimit})
	return strips.Readings(entries), err
}

// gate works the gate of a unit, process and mix out of its strips.
func (s *Server) gate(ctx context.Context, unit, process, mix string) (strips.Gate, error) {
	g, err := s.gateKeeper(ctx, unit)
	if err != nil {
		return strips.Gate{}, err
	}
	return g.gate(unit, process, mix), nil
}

func (s *Server) getGate(ctx context.Context, in *struct {
	Unit    string `query:"unit" required:"true" maxLength:"65" doc:"The unit, lab/unit." example:"tern-street/plover"`
	Process string `query:"process" required:"true" maxLength:"64" doc:"The process." example:"c41"`
	Mix     string `query:"mix" maxLength:"64" doc:"The mix. Absent: that of the last strip."`
}) (*body[strips.Gate], error) {
	if err := checkUnit(in.Unit); err != nil {
		return nil, err
	}
	mix := in.Mix
	if mix == "" {
		var err error
		if mix, err = s.lastMix(ctx, in.Unit, in.Process); err != nil {
			return nil, err
		}
	}
	g, err := s.gate(ctx, in.Unit, in.Process, mix)
	return &body[strips.Gate]{g}, err
}

// lastMix is the mix of the last strip of a unit and process.
func (s *Server) lastMix(ctx context.Context, unit, process string) (string, error) {
	all, err := s.reads(ctx, unit)
	if mixes := strips.Mixes(strips.OfProcess(all, process, nil)); len(mixes) > 0 {
		return mixes[0], err
	}
	return "", err
}

func (s *Server) openGate(ctx context.Context, in *struct {
	Stating
	Body GateRequest
}) (*body[strips.Gate], error) {
	b := in.Body
	unit, err := lab.ParseUnitID(b.Unit)
	if err != nil {
		return nil, lab.Errorf(lab.KindInvalid, "body.unit: %w", err)
	}
	if _, err := s.unit(UnitPath{Lab: unit.Lab, Unit: unit.Unit}); err != nil {
		return nil, err
	}
	if b.Mix == "" {
		if b.Mix, err = s.lastMix(ctx, b.Unit, b.Process); err != nil {
			return nil, err
		}
	}
	if _, err := s.enter(ctx, in.Key, nil, lab.Entry{Unit: unit, What: lab.EntryGate}, lab.GateOpening{Process: b.Process, Mix: b.Mix, Reason: b.Reason}); err != nil {
		return nil, err
	}
	s.gatesChanged(ctx)
	g, err := s.gate(ctx, b.Unit, b.Process, b.Mix)
	return &body[strips.Gate]{g}, err
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
