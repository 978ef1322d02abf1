package web

import (
	"context"
	"strings"
	"time"

	"wetside/internal/lab"
)

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
