package web

import (
	"cmp"
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
)

// RollRequest is a roll of film as it is loaded or scanned.
type RollRequest struct {
	TwinCheck string     `json:"twin_check" maxLength:"64" doc:"Its twin check, 1 to 32 digits and letters; capitals or not." example:"48213"`
	Process   string     `json:"process,omitempty" maxLength:"64" doc:"The process it is for. Missing: whatever is loaded." example:"c41"`
	Push      float64    `json:"push,omitempty" minimum:"-6" maximum:"6" doc:"The push it is for, stops."`
	Film      string     `json:"film,omitempty" maxLength:"64" doc:"What film it is."`
	Format    string     `json:"format,omitempty" maxLength:"32" doc:"135, 120 and so on."`
	Order     string     `json:"order,omitempty" maxLength:"64" doc:"The customer's order."`
	DueAt     *time.Time `json:"due_at,omitempty" doc:"When it is promised."`
	Note      string     `json:"note,omitempty" maxLength:"1000" doc:"What else is to be known."`
}

// RollsRequest adds rolls to a run or takes them out.
type RollsRequest struct {
	Add    []RollRequest `json:"add,omitempty" maxItems:"200" doc:"Rolls that are in it too. One that is there is described anew."`
	Rolls  []RollRequest `json:"rolls,omitempty" maxItems:"200" doc:"The same as add."`
	Remove []string      `json:"remove,omitempty" maxItems:"200" doc:"Twin checks of rolls that are not in it."`
}

// KindRequest corrects the kind of a run.
type KindRequest struct {
	Kind string `json:"kind" enum:"film,strip,flush,water,prime" doc:"What it was."`
}

// DecisionRequest decides what becomes of the film of a run.
type DecisionRequest struct {
	Decision       string     `json:"decision" enum:"release,hold,reprocess,correct,lost" doc:"correct: in scan or print. lost: the film is lost."`
	Note           string     `json:"note,omitempty" maxLength:"4000" doc:"Why, and what was agreed."`
	CustomerToldAt *time.Time `json:"customer_told_at,omitempty" doc:"When the customer was told."`
	Rolls          []string   `json:"rolls,omitempty" maxItems:"200" doc:"Twin checks of the rolls that it is about. Absent: the run, and with it every roll that has no decision of its own."`
}

// OwnerRequest names who sees to film.
type OwnerRequest struct {
	Owner string `json:"owner,omitempty" maxLength:"128" doc:"The person's name. Absent: who asks."`
}

// SymptomRequest says what fault was seen on the film.
type SymptomRequest struct {
	Seen         string   `json:"seen" minLength:"1" maxLength:"64" doc:"One of GET /symptoms."`
	Rolls        []string `json:"rolls,omitempty" maxItems:"200" doc:"Twin checks of the rolls that show it."`
	AllRolls     bool     `json:"all_rolls,omitempty" doc:"Every roll of the run shows it."`
	RollsUnknown bool     `json:"rolls_unknown,omitempty" doc:"On which rolls is not known. One of rolls, all_rolls and rolls_unknown is needed where the run has rolls."`
	Note         string   `json:"note,omitempty" maxLength:"1000" doc:"What else the film shows."`
}

// StatementRequest says what people did during a run.
type StatementRequest struct {
	What string     `json:"what" enum:"turned-by-hand,drained,note" doc:"turned-by-hand: the tank was turned by hand from, to. drained: the bath was drained by hand, at. note: text."`
	From *time.Time `json:"from,omitempty" doc:"turned-by-hand: from when on."`
	To   *time.Time `json:"to,omitempty" doc:"turned-by-hand: until when. Absent: to the end of the outage."`
	At   *time.Time `json:"at,omitempty" doc:"drained, note: when. Absent: now."`
	Text string     `json:"text,omitempty" maxLength:"4000" doc:"note: what is to be known."`
}

// MeasuredRequest is a thermometer's reading.
type MeasuredRequest struct {
	At *time.Time `json:"at,omitempty" doc:"When it was read. Absent: now."`
	C  *float64   `json:"c" minimum:"0" maximum:"100" doc:"What a thermometer showed in the bath, degrees Celsius."`
}

func (s *Server) runEntryRoutes() {
	op := func(id, path, summary, text string) huma.Operation {
		return huma.Operation{OperationID: id, Method: http.MethodPost, Path: path, Tags: []string{"runs"}, Summary: summary, Description: text,
			Errors: []int{http.StatusNotFound, http.StatusConflict}}
	}
	created := func(o huma.Operation) huma.Operation { o.DefaultStatus = http.StatusCreated; return o }
	register(s, lab.RoleOperator, op("change-rolls", "/runs/{id}/rolls", "Rolls that are in a run, or are not",
		"During the run or after it. What the run was loaded with stays but for what is said here."), s.changeRolls)
	register(s, lab.RoleOperator, op("set-run-kind", "/runs/{id}/kind", "Correct the run type",
		"Only film counts among good runs."), func(ctx context.Context, in *struct {
		RunPath
		Stating
		Body KindRequest
	}) (*body[lab.Run], error) {
		return s.enteredOfRun(ctx, in.Key, in.ID, lab.EntryKindOfRun, lab.KindChange{Kind: in.Body.Kind})
	})
	register(s, lab.RoleOperator, op("decide-run", "/runs/{id}/decision", "Decide what becomes of the film",
		"Of the run, or of some rolls of it: a roll's own decision counts before the run's. A later decision stands in the place of the one before; both are saved."), s.decideRun)
	register(s, lab.RoleOperator, op("own-film", "/runs/{id}/owner", "Who sees to the film until it is decided about",
		"Nobody named: who is on call."), s.ownFilm)
	register(s, lab.RoleOperator, created(op("add-symptom", "/runs/{id}/symptoms", "A fault on the film",
		"The report then names the causes that fit both the fault and this run.")), s.addSymptom)
	register(s, lab.RoleOperator, created(op("add-statement", "/runs/{id}/statements", "What people did during a run",
		"It is counted in: the report and the advice follow from it.")), s.addStatement)
	register(s, lab.RoleOperator, created(op("add-measured", "/runs/{id}/measured", "A thermometer's reading of the bath",
		"Where the unit's probe was steady it becomes the probe's offset for this bath; else the bath is taken to stand at it.")), s.addMeasured)
	register(s, lab.RoleViewer, huma.Operation{
		OperationID: "list-run-entries", Method: http.MethodGet, Path: "/runs/{id}/entries", Tags: []string{"runs"},
		Summary: "What people stated of a run, oldest first", Description: "What was undone is in it and says so.",
		Errors: []int{http.StatusNotFound},
	}, func(ctx context.Context, in *RunPath) (*body[EntryList], error) {
		if _, err := s.cfg.Store.Run(ctx, in.ID); err != nil {
			return nil, err
		}
		all, err := s.cfg.Store.Entries(ctx, lab.EntryFilter{RunID: in.ID})
		if err != nil {
			return nil, err
		}
		return &body[EntryList]{EntryList{viewEntries(all)}}, nil
	})
}

// ofRun is an entry of a run, with the run.
func (s *Server) ofRun(ctx context.Context, id, what string) (lab.Entry, lab.Run, error) {
	run, err := s.cfg.Store.Run(ctx, id)
	if err != nil {
		return lab.Entry{}, run, err
	}
	unit, err := lab.ParseUnitID(run.Unit)
	return lab.Entry{Unit: unit, RunID: run.ID, What: what}, run, err
}

// enteredOfRun enters something of a run and answers with the run as it is
// then.
func (s *Server) enteredOfRun(ctx context.Context, key, id, what string, content any) (*body[lab.Run], error) {
	e, _, err := s.ofRun(ctx, id, what)
	if err != nil {
		return nil, err
	}
	if _, err := s.enter(ctx, key, nil, e, content); err != nil {
		return nil, err
	}
	run, err := s.cfg.Store.Run(ctx, id)
	if err != nil {
		return nil, err
	}
	return &body[lab.Run]{tidyRun(run)}, nil
}

func (s *Server) changeRolls(ctx context.Context, in *struct {
	RunPath
	Stating
	Body RollsRequest
}) (*body[lab.Run], error) {
	add, err := rollsOf(append(in.Body.Add, in.Body.Rolls...), "body.add")
	if err != nil {
		return nil, err
	}
	remove, err := twinChecks(in.Body.Remove, "body.remove")
	if err != nil {
		return nil, err
	}
	if len(add)+len(remove) == 0 {
		return nil, lab.Errorf(lab.KindInvalid, "body: nothing to change; give rolls in add, or twin checks in remove")
	}
	for _, r := range add {
		if slices.Contains(remove, r.TwinCheck) {
			return nil, lab.Errorf(lab.KindInvalid, "body: roll %s is in add and in remove; name it in one of them", r.TwinCheck)
		}
	}
	return s.enteredOfRun(ctx, in.Key, in.ID, lab.EntryRolls, lab.RollsChange{Add: add, Remove: remove})
}

// rollsOf checks rolls as they were sent and gives them as they are kept.
func rollsOf(sent []RollRequest, where string) ([]lab.Roll, error) {
	var rolls []lab.Roll
	seen := map[string]int{}
	for i, r := range sent {
		check, err := lab.TwinCheck(r.TwinCheck)
		if err != nil {
			return nil, lab.Errorf(lab.KindInvalid, "%s[%d]: %w", where, i, err)
		}
		if first, ok := seen[check]; ok {
			return nil, lab.Errorf(lab.KindInvalid, "%s[%d]: roll %s is there already, as number %d; name each roll once", where, i, check, first+1)
		}
		seen[check] = i
		roll := lab.Roll{TwinCheck: check, Process: strings.TrimSpace(r.Process), Push: r.Push, Film: strings.TrimSpace(r.Film),
			Format: strings.TrimSpace(r.Format), Order: strings.TrimSpace(r.Order), Note: strings.TrimSpace(r.Note)}
		if r.DueAt != nil {
			roll.DueAt = lab.AtPtr(*r.DueAt)
		}
		rolls = append(rolls, roll)
	}
	return rolls, nil
}

func twinChecks(sent []string, where string) ([]string, error) {
	var checks []string
	for i, s := range sent {
		check, err := lab.TwinCheck(s)
		if err != nil {
			return nil, lab.Errorf(lab.KindInvalid, "%s[%d]: %w", where, i, err)
		}
		if !slices.Contains(checks, check) {
			checks = append(checks, check)
		}
	}
	return checks, nil
}

func (s *Server) decideRun(ctx context.Context, in *struct {
	RunPath
	Stating
	Body DecisionRequest
}) (*body[lab.Run], error) {
	d, err := s.decisionOf(in.Body)
	if err != nil {
		return nil, err
	}
	if len(d.Rolls) > 0 {
		run, err := s.cfg.Store.Run(ctx, in.ID)
		if err != nil {
			return nil, err
		}
		if err := inRun(run, d.Rolls); err != nil {
			return nil, err
		}
	}
	return s.enteredOfRun(ctx, in.Key, in.ID, lab.EntryDecision, d)
}

// decisionOf checks a decision. By whom and when stand in the entry.
func (s *Server) decisionOf(r DecisionRequest) (decisionBody, error) {
	d := decisionBody{Decision: r.Decision, Note: strings.TrimSpace(r.Note)}
	if t := r.CustomerToldAt; t != nil {
		if now := s.cfg.Clock.Now(); t.After(now.Add(time.Minute)) {
			return d, lab.Errorf(lab.KindInvalid, "body.customer_told_at (%s) is still to come; it is %s now", lab.At(*t), lab.At(now))
		}
		d.ToldAt = lab.AtPtr(*t)
	}
	var err error
	d.Rolls, err = twinChecks(r.Rolls, "body.rolls")
	return d, err
}

// inRun says which roll is not in a run.
func inRun(run lab.Run, rolls []string) error {
	for _, check := range rolls {
		if !slices.ContainsFunc(run.Rolls, func(r lab.Roll) bool { return strings.EqualFold(r.TwinCheck, check) }) {
			return lab.Errorf(lab.KindInvalid, "body.rolls: roll %s is not in this run; add it first, by POST /runs/%s/rolls", check, run.ID)
		}
	}
	return nil
}

func (s *Server) ownFilm(ctx context.Context, in *struct {
	RunPath
	Stating
	Body OwnerRequest
}) (*body[EntryView], error) {
	e, _, err := s.ofRun(ctx, in.ID, lab.EntryOwner)
	if err != nil {
		return nil, err
	}
	return s.entered(ctx, in.Key, nil, e, lab.FilmOwner{Owner: cmp.Or(strings.TrimSpace(in.Body.Owner), identityOf(ctx).Name)})
}

type decisionBody struct {
	Decision string    `json:"decision"`
	Note     string    `json:"note,omitempty"`
	ToldAt   *lab.Time `json:"customer_told_at,omitempty"`
	Rolls    []string  `json:"rolls,omitempty"`
}

func (s *Server) addSymptom(ctx context.Context, in *struct {
	RunPath
	Stating
	Body SymptomRequest
}) (*body[EntryView], error) {
	e, run, err := s.ofRun(ctx, in.ID, lab.EntrySymptom)
	if err != nil {
		return nil, err
	}
	if err := s.checkSymptom(run.Process, in.Body.Seen); err != nil {
		return nil, err
	}
	rolls, err := twinChecks(in.Body.Rolls, "body.rolls")
	if err != nil {
		return nil, err
	}
	switch b := in.Body; {
	case b.AllRolls && len(rolls) > 0:
		return nil, lab.Errorf(lab.KindInvalid, "body: all_rolls and rolls are both given; send one of them")
	case len(run.Rolls) > 0 && !b.AllRolls && !b.RollsUnknown && len(rolls) == 0:
		return nil, lab.Errorf(lab.KindInvalid, "body.rolls: on which rolls is missing; send their twin checks, or all_rolls, or rolls_unknown where nobody knows")
	case len(run.Rolls) > 0:
		if err := inRun(run, rolls); err != nil {
			return nil, err
		}
	}
	return s.entered(ctx, in.Key, nil, e, lab.Symptom{Seen: in.Body.Seen, Rolls: rolls, All: in.Body.AllRolls, Note: strings.TrimSpace(in.Body.Note)})
}

// checkSymptom says what is wrong with the code of a fault.
func (s *Server) checkSymptom(processID, seen string) error {
	if s.cfg.Symptoms == nil {
		return nil
	}
	var codes []string
	for _, c := range s.cfg.Symptoms(processID) {
		if codes = append(codes, c.Seen); c.Seen == seen {
			return nil
		}
	}
	return lab.Errorf(lab.KindInvalid, "body.seen must be one of %[3]s (faults known of process %[2]s); got %[1]q", seen, processID, orNone(codes))
}

// aroundRun is how far beside a run people may still place what they did in
// it: clocks differ.
const aroundRun = 2 * time.Minute

func (s *Server) addStatement(ctx context.Context, in *struct {
	RunPath
	Stating
	Body StatementRequest
}) (*body[EntryView], error) {
	b := in.Body
	e, run, err := s.ofRun(ctx, in.ID, b.What)
	if err != nil {
		return nil, err
	}
	if err := b.check(); err != nil {
		return nil, err
	}
	for field, t := range map[string]*time.Time{"from": b.From, "to": b.To, "at": b.At} {
		if err := s.withinRun(run, field, t, b.What == lab.EntryNote); err != nil {
			return nil, err
		}
	}
	switch b.What {
	case lab.EntryTurned:
		t := lab.Turned{From: lab.At(*b.From)}
		if b.To != nil {
			t.To = lab.AtPtr(*b.To)
		}
		return s.entered(ctx, in.Key, b.From, e, t)
	case lab.EntryDrained:
		return s.entered(ctx, in.Key, b.At, e, nil)
	}
	return s.entered(ctx, in.Key, b.At, e, lab.Note{Text: strings.TrimSpace(b.Text)})
}

func (s *Server) addMeasured(ctx context.Context, in *struct {
	RunPath
	Stating
	Body MeasuredRequest
}) (*body[EntryView], error) {
	b := in.Body
	e, run, err := s.ofRun(ctx, in.ID, lab.EntryMeasured)
	if err != nil {
		return nil, err
	}
	if b.C == nil {
		return nil, lab.Errorf(lab.KindInvalid, "body.c: what the thermometer showed is missing; give 0 to 100 °C")
	}
	if err := s.withinRun(run, "at", b.At, false); err != nil {
		return nil, err
	}
	return s.entered(ctx, in.Key, b.At, e, lab.Measured{C: *b.C})
}

// withinRun says what is wrong with a moment at which something was done in a
// run; a note may come long after it.
func (s *Server) withinRun(run lab.Run, field string, t *time.Time, note bool) error {
	if t == nil {
		return nil
	}
	if first := run.StartedAt.Add(-aroundRun); t.Before(first) {
		return lab.Errorf(lab.KindInvalid, "body.%s (%s) is before the run, which began at %s", field, lab.At(*t), run.StartedAt)
	}
	if now := s.cfg.Clock.Now(); t.After(now.Add(time.Minute)) {
		return lab.Errorf(lab.KindInvalid, "body.%s (%s) is still to come; it is %s now", field, lab.At(*t), lab.At(now))
	}
	if run.EndedAt != nil && !note && t.After(run.EndedAt.Add(aroundRun)) {
		return lab.Errorf(lab.KindInvalid, "body.%s (%s) is after the run, which ended at %s", field, lab.At(*t), run.EndedAt)
	}
	return nil
}

// check says which of the fields go with what.
func (b StatementRequest) check() error {
	switch {
	case b.What == lab.EntryTurned && b.From == nil:
		return lab.Errorf(lab.KindInvalid, "body.from is missing; give when turning by hand began")
	case b.What == lab.EntryTurned && b.To != nil && !b.From.Before(*b.To):
		return lab.Errorf(lab.KindInvalid, "body: from (%s) is not before to (%s)", lab.At(*b.From), lab.At(*b.To))
	case b.What == lab.EntryTurned && b.At != nil:
		return lab.Errorf(lab.KindInvalid, "body.at: turned-by-hand takes from and to")
	case b.What != lab.EntryTurned && (b.From != nil || b.To != nil):
		return lab.Errorf(lab.KindInvalid, "body: %s takes at, not from and to", b.What)
	case b.What == lab.EntryNote && strings.TrimSpace(b.Text) == "":
		return lab.Errorf(lab.KindInvalid, "body.text is missing; give the text of the note")
	case b.What != lab.EntryNote && b.Text != "":
		return lab.Errorf(lab.KindInvalid, "body.text: %s takes none; enter a note beside it", b.What)
	}
	return nil
}
