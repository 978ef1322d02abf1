package web

import (
	"context"
	"encoding/json"
	"slices"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// RollChoice is one answer to a question about a roll.
type RollChoice struct {
	Answer string `json:"answer"`
	Text   string `json:"text"`
}

// Questions about a roll, and their answers.
const (
	askDiffers   = "roll-differs"
	askElsewhere = "roll-elsewhere"
	askRan       = "roll-ran"

	answerFirst     = "first"     // roll-differs: what was said first is right
	answerNow       = "now"       // roll-differs: what is said now is right
	answerHere      = "here"      // roll-elsewhere: it is here
	answerOther     = "other"     // another roll with the same twin check
	answerRescue    = "rescue"    // roll-ran: this run goes on with that film
	answerReprocess = "reprocess" // roll-ran: the same film is processed again on purpose
	answerNotThere  = "not-there" // roll-ran: it was not in that run
)

// rollPlace is where a roll is or was, with who loaded it and when.
type rollPlace struct {
	of   string // the unit's id, or the run's
	unit string // as people call it
	run  *lab.Run
	by   string
	at   time.Time
}

// rollFacts is what is known of the rolls of a load.
type rollFacts struct {
	known     map[string]lab.KnownRoll
	said      map[string]lab.Roll // as the load says it, where that differs from what is known
	elsewhere map[string]rollPlace
	ran       map[string]rollPlace
	zone      *time.Location
}

// gatherRolls finds what there is to ask about the rolls of a load.
func (s *Server) gatherRolls(ctx context.Context, unit string, rolls []lab.Roll) (rollFacts, error) {
	f := rollFacts{said: map[string]lab.Roll{}, elsewhere: map[string]rollPlace{}, ran: map[string]rollPlace{}, zone: s.zone(ctx)}
	var err error
	if f.known, err = s.knownRolls(ctx, rolls); err != nil {
		return f, err
	}
	others := s.views()
	for _, r := range rolls {
		for _, o := range others {
			if l := nextLoad(o); o.ID != unit && has(l, r.TwinCheck) {
				p := rollPlace{of: o.ID, unit: o.Name}
				if p.by, p.at, err = s.whoLoaded(ctx, o.ID, r.TwinCheck, time.Time{}); err != nil {
					return f, err
				}
				f.elsewhere[r.TwinCheck] = p
			}
		}
		p, err := s.ranLately(ctx, r.TwinCheck)
		if err != nil {
			return f, err
		}
		if p.run != nil {
			f.ran[r.TwinCheck] = p
		}
	}
	return f, nil
}

func has(l *lab.Load, check string) bool {
	_, there := rollIn(l, check)
	return there
}

// ranLately is the last run of the last 60 days that had a roll, unless it is
// to be reprocessed or another run took its film on. The run that took it on
// has the roll as well, and counts by itself.
func (s *Server) ranLately(ctx context.Context, check string) (rollPlace, error) {
	runs, err := s.cfg.Store.Runs(ctx, lab.RunFilter{Roll: check, From: s.cfg.Clock.Now().Add(-lab.RollMemory), Limit: 20})
	if err != nil {
		return rollPlace{}, err
	}
	for i := range runs {
		r := &runs[i]
		j := slices.IndexFunc(r.Rolls, func(x lab.Roll) bool { return sameCheck(x.TwinCheck, check) })
		if j >= 0 {
			if d := r.DecisionFor(r.Rolls[j]); d != nil && d.Decision == lab.Reprocess {
				continue
			}
		}
		if f := r.Film; f != nil && len(f.Runs) > 0 && f.Runs[len(f.Runs)-1].ID != r.ID {
			continue // rescued
		}
		p := rollPlace{of: r.ID, unit: s.nameOf(r.Unit), run: r}
		p.by, p.at, err = s.whoLoaded(ctx, r.Unit, check, r.StartedAt.Time)
		return p, err
	}
	return rollPlace{}, nil
}

func sameCheck(a, b string) bool {
	x, err := lab.TwinCheck(a)
	return err == nil && x == b
}

// nameOf is what people call a unit.
func (s *Server) nameOf(unit string) string {
	if set, ok := s.settings.get(unit); ok && set.Name != "" {
		return set.Name
	}
	id, err := lab.ParseUnitID(unit)
	if err != nil {
		return unit
	}
	return id.Unit
}

// loadsLookedAt is how many loads of a unit are looked through for a roll.
const loadsLookedAt = 200

// whoLoaded tells who loaded a roll on a unit last, by a moment where that is
// given; nobody where it was not found.
func (s *Server) whoLoaded(ctx context.Context, unit, check string, by time.Time) (string, time.Time, error) {
	f := lab.EntryFilter{Unit: unit, What: []string{lab.EntryLoad}, Limit: loadsLookedAt}
	if !by.IsZero() {
		f.Since = by.Add(-24 * time.Hour)
	}
	all, err := s.cfg.Store.Entries(ctx, f)
	if err != nil {
		return "", time.Time{}, err
	}
	for _, e := range slices.Backward(all) {
		var l lab.Load
		if e.What == lab.EntryLoad && (by.IsZero() || !e.Entered.After(by)) && json.Unmarshal(e.Body, &l) == nil && has(&l, check) {
			return e.By, e.Entered, nil
		}
	}
	return "", time.Time{}, nil
}

// ask puts a question that stops until it is answered.
func (j *judgement) ask(code, roll, of, text string, choices ...RollChoice) {
	for _, a := range j.load.Answers {
		if a.Code != code || a.Roll != roll || a.Of != of {
			continue
		}
		for _, c := range choices {
			if c.Answer == a.Answer {
				j.tell(code, roll, "%s Answered: %s.", text, strings.ToLower(c.Text[:1])+c.Text[1:])
				return
			}
		}
	}
	j.reasons = append(j.reasons, LoadReason{Code: code, Roll: roll, Of: of, Stops: true, Text: text, Ask: choices})
}

// rollQuestions are what is asked about one roll, loudly: film is run once.
func (j *judgement) rollQuestions(r lab.Roll) {
	check := r.TwinCheck
	k, told := j.rollFacts.known[check]
	if told && k.Stop != "" {
		j.stop("roll-stopped", check, "Roll %s is marked STOP: %s (%s). Take it out.", check, k.Stop, j.who(k.ChangedBy, k.ChangedAt.Time))
	}
	if said, differs := j.rollFacts.said[check]; differs && told {
		j.ask(askDiffers, check, k.ChangedAt.String(), "Roll "+check+" is known as "+j.wants(k.Process, k.Push)+" ("+j.who(k.ChangedBy, k.ChangedAt.Time)+
			"). Now it is said to be "+j.wants(said.Process, lab.KnownOf(said).Push)+". Which is right?",
			RollChoice{answerFirst, "What was known: " + j.wants(k.Process, k.Push)},
			RollChoice{answerNow, "What is said now: " + j.wants(said.Process, lab.KnownOf(said).Push)})
	}
	if p, there := j.rollFacts.elsewhere[check]; there {
		j.ask(askElsewhere, check, p.of, "Roll "+check+" is loaded on "+p.unit+" too ("+j.loader(p)+"). A roll cannot be on two units. Where is it?",
			RollChoice{answerHere, "Here: remove it from the load of " + p.unit},
			RollChoice{answerOther, "That is another roll with the same twin check"})
	}
	p, there := j.rollFacts.ran[check]
	if !there {
		return
	}
	went := "went through "
	if p.run.Outcome == lab.OutcomeRunning {
		went = "is in "
	}
	text := "Roll " + check + " " + went + "run " + p.run.Run + " on " + p.unit + ", " + j.named(p.run.Process, p.run.Push) + ", begun " +
		j.when(p.run.StartedAt.Time)
	if p.by != "" {
		text += " (" + j.loader(p) + ")"
	}
	j.ask(askRan, check, p.of, text+". Film is run once. What is this?",
		RollChoice{answerRescue, "The same film: this run goes on with it (rescue)"},
		RollChoice{answerReprocess, "The same film: it is processed again on purpose"},
		RollChoice{answerNotThere, "It was not in that run: remove it there"},
		RollChoice{answerOther, "That is another roll with the same twin check"})
}

// wants is what a roll wants, as people say it.
func (j *judgement) wants(id string, push *float64) string {
	switch {
	case push == nil:
		return j.named(id, 0)
	case id == "":
		return process.PushWords(*push)
	}
	return j.named(id, *push)
}

func (j *judgement) when(t time.Time) string {
	zone := j.rollFacts.zone
	if zone == nil {
		zone = time.UTC
	}
	return t.In(zone).Format("Jan 2, 15:04")
}

// loader is who loaded a roll where it is or was.
func (j *judgement) loader(p rollPlace) string {
	if p.by == "" {
		return "who loaded it is not known"
	}
	return "loaded by " + j.who(p.by, p.at)
}

// who is by whom and when.
func (j *judgement) who(by string, at time.Time) string {
	return by + ", " + j.when(at)
}

// answered carries out what answers about rolls bring with them: a roll that is
// here leaves the other load, one that was not in a run leaves that, one that
// is processed again on purpose is decided so, and what a roll wants is
// corrected. It comes before the load is judged.
func (s *Server) answered(ctx context.Context, f rollFacts, answers []lab.RollAnswer) error {
	for _, a := range answers {
		var err error
		switch p := f.ran[a.Roll]; {
		case a.Code == askDiffers && a.Answer == answerNow && f.said[a.Roll].TwinCheck != "" && f.known[a.Roll].ChangedAt.String() == a.Of:
			_, err = s.cfg.Store.PutRolls(ctx, []lab.KnownRoll{lab.KnownOf(f.said[a.Roll])}, identityOf(ctx).Name)
		case a.Code == askElsewhere && a.Answer == answerHere && f.elsewhere[a.Roll].of == a.Of:
			err = s.unloadRoll(ctx, a.Of, a.Roll)
		case a.Code != askRan || p.of != a.Of:
		case a.Answer == answerNotThere:
			err = s.ofTheRun(ctx, a.Of, lab.EntryRolls, lab.RollsChange{Remove: []string{a.Roll}})
		case a.Answer == answerReprocess:
			err = s.ofTheRun(ctx, a.Of, lab.EntryDecision, decisionBody{Decision: lab.Reprocess, Rolls: []string{a.Roll}})
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (s *Server) ofTheRun(ctx context.Context, run, what string, content any) error {
	e, _, err := s.ofRun(ctx, run, what)
	if err != nil {
		return err
	}
	_, err = s.enter(ctx, "", nil, e, content)
	return err
}

// unloadRoll loads a unit again without one roll.
func (s *Server) unloadRoll(ctx context.Context, unit, check string) error {
	id, err := lab.ParseUnitID(unit)
	if err != nil {
		return err
	}
	u, ok := s.cfg.Live.Unit(id)
	l := nextLoad(u)
	if !ok || !has(l, check) {
		return nil
	}
	rest := *l
	rest.Rolls = slices.DeleteFunc(slices.Clone(l.Rolls), func(r lab.Roll) bool { return sameCheck(r.TwinCheck, check) })
	_, err = s.enter(ctx, "", nil, lab.Entry{Unit: id, What: lab.EntryLoad}, rest)
	return err
}
