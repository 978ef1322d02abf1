package rules

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"wetside/internal/lab"
)

// strandedDue raises film-stranded once a unit has been idle for long enough with
// film in it, and updates it when the time to drain a developer has passed.
func (u *Unit) strandedDue(t time.Time, m *lab.Message) {
	s := u.s
	if s.Phase != lab.PhaseIdle || s.Unsure != nothingMissed && (m.Step == nil || m.Step.Phase != lab.PhaseIdle) {
		return
	}
	for _, fl := range s.Films {
		switch {
		case fl.LeftT.IsZero() || fl.settled() || fl.Waited:
		case len(fl.Open) == 0:
			if t.Sub(fl.LeftT) >= lab.Seconds(strandedS) {
				u.raiseStranded(fl, fl.LeftT)
			}
		case fl.Dev && !fl.TooLate && t.After(fl.ActT):
			fl.TooLate = true
			u.changeStranded(fl)
		}
	}
}

// stranded is the key of film-stranded. It is of the run that left the film, and
// can only be told while that is the unit's last run.
func (u *Unit) stranded(fl *film) (alertKey, bool) {
	r := u.s.Run
	return alertKey{rule: RuleFilmStranded, run: true}, r != nil && r.ID == fl.last().ID
}

// raiseStranded raises film-stranded at t, unless run-aborted tells of the film
// already.
func (u *Unit) raiseStranded(fl *film, t time.Time) {
	if fl.LeftT.IsZero() {
		fl.LeftT = t
	}
	a, ok := u.stranded(fl)
	if fl.Aborted || len(fl.Open) > 0 || !ok {
		return
	}
	if u.raise(a, fl.LeftT, u.strandedContent(fl)) != nil {
		fl.Open = append(fl.Open, u.keyOf(a))
		u.reportRun()
	}
}

func (u *Unit) changeStranded(fl *film) {
	if a, ok := u.stranded(fl); ok && slices.Contains(fl.Open, u.keyOf(a)) {
		u.change(a, u.strandedContent(fl), false)
	}
}

// strandedContent is what film-stranded says: first where the film is, then what
// to do by hand and when.
func (u *Unit) strandedContent(fl *film) alertContent {
	w := alertContent{priority: lab.High, facts: map[string]any{"step": fl.Step, "film": fl.State, "fixed": fl.Fixed}}
	if !fl.Fixed {
		w.priority = lab.Urgent
	}
	does := "the unit is idle"
	if u.s.Phase != lab.PhaseIdle {
		does = "the unit has begun another run"
	}
	if fl.State == lab.FilmInBath {
		w.message = fmt.Sprintf("Film left in %s: %s", StepWords(fl.Step), does)
	} else {
		w.message = fmt.Sprintf("Wet film left after %s: %s", StepWords(fl.Step), does)
	}
	w.response, w.harm = u.strandedDo(fl, w.facts)
	return w
}

// strandedDo is what to do by hand, and what happens if nobody does.
func (u *Unit) strandedDo(fl *film, facts map[string]any) (response, harm string) {
	const then = " Then go on with the next bath in the dark, by hand or with a rescue run; say on the unit's page what was done. Gloves and goggles."
	switch {
	case fl.Dev:
		facts["act_at"] = lab.At(u.s.Clock.report(fl.ActT)).String()
		harm = "Nobody counts the time. The film goes on developing until it is drained."
		switch {
		case fl.TooLate:
			delete(facts, "act_at") // the time has passed: what it says now holds until somebody has seen to it
			return fmt.Sprintf("The time to drain, %s, has passed: if the developer is still in, drain it by hand now. Hold the rolls for inspection.", u.clockWords(fl.ActT)) + then, harm
		case !fl.ActT.After(fl.LeftT.Add(lab.Seconds(strandedS))):
			return "Drain it by hand now." + then, harm
		}
		return fmt.Sprintf("At %s drain it by hand; turn the tank by hand until then.", u.clockWords(fl.ActT)) + then, harm
	case !fl.Fixed:
		return "Keep the lid closed (dark)." + then, "Film that is not fixed spoils in light and goes on changing."
	}
	return "Finish the wash and the final rinse by hand or with a rescue run, and dry the film; then say on the unit's page what was done.",
		"Fixed film that is not washed and dried stains and deteriorates."
}

// applyFilm takes what a person says was done with film.
func (u *Unit) applyFilm(k *Entry) {
	var b lab.FilmDoing
	if json.Unmarshal(k.Body, &b) != nil || b.What == "" {
		return
	}
	s, t, met := u.s, u.s.Clock.T, false
	for _, fl := range slices.Clone(s.Films) {
		if fl.EndT.After(t) || fl.away() || k.RunID != "" && !fl.holds(k.RunID) {
			continue
		}
		met = true
		u.sayOfFilm(fl, b.What, k)
	}
	if r := s.Run; !met && s.running() && r.film() && r.Wet && (k.RunID == "" || k.RunID == r.ID) {
		if b.What == lab.FilmDrained {
			u.applyDrained(k)
		} else {
			r.Away = &filmSaid{b.What, s.Clock.report(t), k.By}
		}
	}
	u.reportRun()
}

func (u *Unit) sayOfFilm(fl *film, what string, k *Entry) {
	s, t := u.s, u.s.Clock.T
	fl.Said = &filmSaid{what, s.Clock.report(t), k.By}
	u.clearFilmAlerts(fl, t)
	if c := s.currentStep(); c != nil && s.Run.ID == fl.last().ID && c.Stranded {
		u.endStranded(c, t)
	}
	if what == lab.FilmDrained {
		fl.State, fl.Dev = lab.FilmWet, false
	}
	u.reportLeft(fl)
}

// endStranded ends the bath in which a run left its film, at the moment at which
// a person says that they took it out. Until then it cooled.
func (u *Unit) endStranded(c *runStep, t time.Time) {
	c.Stranded, c.ByHand, c.EndUnsure, c.EndLost = false, true, false, false
	if sp := u.spec(c); sp != nil && t.After(c.EndT) {
		open := *c
		open.EndT = time.Time{}
		c.Bath.Eq, _ = u.equivalentSoFar(&open, t, true)
		c.Bath.FromT = t
	}
	c.EndT, c.DrainT = t, t
	u.noteFixed(c, t)
	if fl := u.filmLeftBy(u.s.Run); fl != nil {
		fl.Fixed, fl.FixedT = u.filmFixed(), u.s.Run.FixedT
	}
}

// decideFilm takes a person's decision on a run: somebody has seen to the film.
func (u *Unit) decideFilm(k *Entry) {
	var d lab.Decision
	if json.Unmarshal(k.Body, &d) == nil && len(d.Rolls) > 0 {
		return // a decision on single rolls tells nothing of film in the unit
	}
	for _, fl := range slices.Clone(u.s.Films) {
		if fl.holds(k.RunID) {
			u.clearFilmAlerts(fl, u.s.Clock.T)
		}
	}
}
