package web

import (
	"context"
	"net/http"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/web/load"
)

// LoadRequest is what the next run of a unit will carry.
type LoadRequest struct {
	Process string          `json:"process" minLength:"1" maxLength:"64" pattern:"^[A-Za-z0-9._-]+$" doc:"The process the unit will be set to." example:"c41"`
	Push    float64         `json:"push,omitempty" minimum:"-6" maximum:"6" doc:"The push it will be set to, stops."`
	Rolls   []RollRequest   `json:"rolls,omitempty" maxItems:"200" doc:"What is on the reels. Absent: nobody scanned it. What a roll does not say of itself is taken from what is known of it."`
	Answers []AnswerRequest `json:"answers,omitempty" maxItems:"800" doc:"Answers to questions about rolls, of this load or an earlier one."`
}

// AnswerRequest answers a question about a roll.
type AnswerRequest struct {
	Roll   string `json:"roll" minLength:"1" maxLength:"64" doc:"The roll's twin check."`
	Code   string `json:"code" enum:"roll-differs,roll-elsewhere,roll-ran" doc:"Which question, as the reason named it."`
	Of     string `json:"of,omitempty" maxLength:"256" doc:"As the reason named it: an answer counts for that unit or run only."`
	Answer string `json:"answer" enum:"first,now,here,other,rescue,reprocess,not-there" doc:"One of the answers that the reason offered."`
}

// LoadAnswer says whether start may be pressed.
type LoadAnswer struct {
	Unit    string        `json:"unit"`
	Verdict string        `json:"verdict" enum:"go,stop" doc:"go: nothing speaks against it. stop: the reasons that stop say what to do first."`
	Reasons []load.Reason `json:"reasons" doc:"Those that stop first."`
	Load    *lab.Load     `json:"load" doc:"What is loaded; null where an empty load was only asked about."`
	Plan    load.Plan     `json:"plan"`
	Entry   string        `json:"entry" doc:"The id of the entry; empty where nothing was stored."`
}

func (s *Server) loadRoutes() {
	op := func(id, method, summary, text string, more ...int) huma.Operation {
		return huma.Operation{OperationID: id, Method: method, Path: "/units/{lab}/{unit}/load", Tags: []string{"units"},
			Summary: summary, Description: text, Errors: append(more, http.StatusNotFound)}
	}
	register(s, lab.RoleViewer, op("get-load", http.MethodGet, "What is loaded, and whether start may be pressed",
		"With process the verdict is on an empty load of that process: what to know before rolls are scanned. Nothing is stored."), s.getLoad)
	register(s, lab.RoleOperator, op("load-unit", http.MethodPost, "What the next run will carry",
		"Takes the place of what was loaded before. It is kept with either verdict: go, or stop with the reasons. wetside advises; it stops no unit.",
		http.StatusConflict), s.postLoad)
	register(s, lab.RoleOperator, op("unload-unit", http.MethodDelete, "Take the load back",
		"The next run carries nothing that is known. The runs that began meanwhile keep what they were loaded with.", http.StatusConflict),
		func(ctx context.Context, in *UnitPath) (*body[EntryView], error) {
			if _, err := s.unit(*in); err != nil {
				return nil, err
			}
			return s.entered(ctx, "", nil, lab.Entry{Unit: in.id(), What: lab.EntryUnload}, nil)
		})
}

func (s *Server) getLoad(ctx context.Context, in *struct {
	UnitPath
	Process string  `query:"process" maxLength:"64" doc:"Judge an empty load of this process instead." example:"c41"`
	Push    float64 `query:"push" minimum:"-6" maximum:"6" doc:"The push that it would be set to, stops."`
}) (*body[LoadAnswer], error) {
	u, err := s.unit(in.UnitPath)
	if err != nil {
		return nil, err
	}
	u = s.view(u)
	var loaded lab.Load
	switch {
	case in.Process != "":
		loaded = lab.Load{Process: in.Process, Push: in.Push}
	case nextLoad(u) != nil:
		loaded = *nextLoad(u)
	default:
		return nil, lab.Errorf(lab.KindNotFound, "nothing is loaded on %s; load it, or ask with ?process=", u.ID)
	}
	answer, err := s.judged(ctx, u, loaded)
	if err != nil {
		return nil, err
	}
	if in.Process != "" {
		answer.Load = nil
	}
	return &body[LoadAnswer]{answer}, nil
}

func (s *Server) postLoad(ctx context.Context, in *struct {
	UnitPath
	Stating
	Body LoadRequest
}) (*body[LoadAnswer], error) {
	u, err := s.unit(in.UnitPath)
	if err != nil {
		return nil, err
	}
	rolls, err := rollsOf(in.Body.Rolls, "body.rolls")
	if err != nil {
		return nil, err
	}
	loaded := lab.Load{Process: in.Body.Process, Push: in.Body.Push, Rolls: append([]lab.Roll{}, rolls...)} // kept with [] for none
	for _, a := range in.Body.Answers {
		check, err := lab.TwinCheck(a.Roll)
		if err != nil {
			return nil, lab.Errorf(lab.KindInvalid, "body.answers: %w", err)
		}
		loaded.Answers = append(loaded.Answers, lab.RollAnswer{Roll: check, Code: a.Code, Of: a.Of, Answer: a.Answer})
	}
	facts, err := s.factsOf(ctx, u.ID, &loaded)
	if err != nil {
		return nil, err
	}
	answer, err := s.judgedBy(ctx, s.view(u), loaded, facts)
	if err != nil {
		return nil, err
	}
	kept, err := s.enter(ctx, in.Key, nil, lab.Entry{Unit: in.id(), What: lab.EntryLoad}, loaded)
	if err != nil {
		return nil, err
	}
	answer.Entry = kept.ID
	return &body[LoadAnswer]{answer}, nil
}

// heaterWithin is how far back a reading of the heater counts.
const heaterWithin = 2 * time.Minute

// factsOf gathers what is known of the rolls of a load that is entered, does what
// follows from its answers, and fills in what the load leaves out. Where the load
// contradicts what is known of a roll, what was known counts until a person
// answers that the load is right: a slip of the scanner changes no order.
func (s *Server) factsOf(ctx context.Context, unit string, loaded *lab.Load) (load.Rolls, error) {
	facts, err := s.gatherRolls(ctx, unit, loaded.Rolls)
	if err != nil {
		return facts, err
	}
	for _, r := range loaded.Rolls {
		if k, told := facts.Known[r.TwinCheck]; told && k.Differs(r) {
			facts.Said[r.TwinCheck] = r
		}
	}
	if len(loaded.Answers) > 0 {
		if err := s.answered(ctx, facts, loaded.Answers); err != nil {
			return facts, err
		}
	}
	for i, r := range loaded.Rolls {
		k, told := facts.Known[r.TwinCheck]
		if !told {
			continue
		}
		if _, differs := facts.Said[r.TwinCheck]; differs && !nowIsRight(*loaded, k) {
			r.Process, r.Push = "", 0
		}
		loaded.Rolls[i] = k.Complete(r)
	}
	return facts, nil
}

// nowIsRight tells whether a person answered that the load is right about a roll.
func nowIsRight(loaded lab.Load, k lab.KnownRoll) bool {
	return slices.Contains(loaded.Answers, lab.RollAnswer{Roll: k.TwinCheck, Code: load.AskDiffers, Of: k.ChangedAt.String(), Answer: load.AnswerNow})
}

// judged gathers what a load that stands is judged by, and judges it.
func (s *Server) judged(ctx context.Context, u lab.Unit, loaded lab.Load) (LoadAnswer, error) {
	facts, err := s.gatherRolls(ctx, u.ID, loaded.Rolls)
	if err != nil {
		return LoadAnswer{}, err
	}
	return s.judgedBy(ctx, u, loaded, facts)
}

func (s *Server) judgedBy(ctx context.Context, u lab.Unit, loaded lab.Load, facts load.Rolls) (LoadAnswer, error) {
	c := load.Check{Unit: u, Load: loaded, Rolls: facts}
	c.Book = s.book()
	c.Sheet, _ = c.Book.Sheet(loaded.Process)
	id, err := lab.ParseUnitID(u.ID)
	if err != nil {
		return LoadAnswer{}, err
	}
	open := true
	if c.Open, err = s.cfg.Store.Alerts(ctx, lab.AlertFilter{Open: &open, Unit: u.ID, Limit: defaultLimit}); err != nil {
		return LoadAnswer{}, err
	}
	mix, err := s.lastMix(ctx, u.ID, loaded.Process)
	if err != nil {
		return LoadAnswer{}, err
	}
	if c.Gate, err = s.gate(ctx, u.ID, loaded.Process, mix); err != nil {
		return LoadAnswer{}, err
	}
	if c.Chemistry, err = s.chemistryAt(ctx, u.ID, loaded); err != nil {
		return LoadAnswer{}, err
	}
	if c.PreheatC, err = s.preheat(ctx, id); err != nil {
		return LoadAnswer{}, err
	}
	a := LoadAnswer{Unit: u.ID, Load: &loaded}
	a.Verdict, a.Reasons, a.Plan = load.Judge(c)
	return a, nil
}

// preheat is the last reading of the bath being heated, nil where there is
// none of late.
func (s *Server) preheat(ctx context.Context, unit lab.UnitID) (*float64, error) {
	now := s.cfg.Clock.Now()
	points, err := s.cfg.Store.Trace(ctx, unit, now.Add(-heaterWithin), now.Add(time.Minute))
	if err != nil {
		return nil, err
	}
	for i := len(points) - 1; i >= 0; i-- {
		if points[i].PreheatC != nil {
			return points[i].PreheatC, nil
		}
	}
	return nil, nil
}
