package load

import (
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
	AskDiffers   = "roll-differs"
	AskElsewhere = "roll-elsewhere"
	AskRan       = "roll-ran"

	AnswerFirst     = "first"     // roll-differs: what was said first is right
	AnswerNow       = "now"       // roll-differs: what is said now is right
	AnswerHere      = "here"      // roll-elsewhere: it is here
	AnswerOther     = "other"     // another roll with the same twin check
	AnswerRescue    = "rescue"    // roll-ran: this run goes on with that film
	AnswerReprocess = "reprocess" // roll-ran: the same film is processed again on purpose
	AnswerNotThere  = "not-there" // roll-ran: it was not in that run
)

// Place is where a roll is or was, with who loaded it and when.
type Place struct {
	Of   string   // the unit's id, or the run's
	Unit string   // as people call it
	Run  *lab.Run // nil where it is loaded and has not run
	By   string   // who loaded it, "" where that is not known
	At   time.Time
}

// Rolls is what is known of the rolls of a load, by twin check.
type Rolls struct {
	Known     map[string]lab.KnownRoll
	Said      map[string]lab.Roll // as the load says it, where that differs from what is known
	Elsewhere map[string]Place    // units that are loaded with it too
	Ran       map[string]Place    // the run of late that had it
	Zone      *time.Location      // the lab's; nil: UTC
}

// ask puts a question that stops until it is answered.
func (j *judgement) ask(code, roll, of, text string, choices ...RollChoice) {
	for _, a := range j.Load.Answers {
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
	j.reasons = append(j.reasons, Reason{Code: code, Roll: roll, Of: of, Stops: true, Text: text, Ask: choices})
}

// rollQuestions are what is asked about one roll. Each stops the load until it is
// answered: film cannot be processed a second time.
func (j *judgement) rollQuestions(r lab.Roll) {
	check := r.TwinCheck
	k, told := j.Known[check]
	if told && k.Stop != "" {
		j.stop("roll-stopped", check, "Roll %s is marked STOP: %s (%s). Take it out.", check, k.Stop, j.who(k.ChangedBy, k.ChangedAt.Time))
	}
	if said, differs := j.Said[check]; differs && told {
		j.ask(AskDiffers, check, k.ChangedAt.String(), "Roll "+check+" is known as "+j.wants(k.Process, k.Push)+" ("+j.who(k.ChangedBy, k.ChangedAt.Time)+
			"). Now it is said to be "+j.wants(said.Process, lab.KnownOf(said).Push)+". Which is right?",
			RollChoice{AnswerFirst, "What was known: " + j.wants(k.Process, k.Push)},
			RollChoice{AnswerNow, "What is said now: " + j.wants(said.Process, lab.KnownOf(said).Push)})
	}
	if p, there := j.Elsewhere[check]; there {
		j.ask(AskElsewhere, check, p.Of, "Roll "+check+" is loaded on "+p.Unit+" too ("+j.loader(p)+"). A roll cannot be on two units. Where is it?",
			RollChoice{AnswerHere, "Here: remove it from the load of " + p.Unit},
			RollChoice{AnswerOther, "That is another roll with the same twin check"})
	}
	p, there := j.Ran[check]
	if !there {
		return
	}
	went := "went through "
	if p.Run.Outcome == lab.OutcomeRunning {
		went = "is in "
	}
	text := "Roll " + check + " " + went + "run " + p.Run.Run + " on " + p.Unit + ", " + j.named(p.Run.Process, p.Run.Push) + ", begun " +
		j.when(p.Run.StartedAt.Time)
	if p.By != "" {
		text += " (" + j.loader(p) + ")"
	}
	j.ask(AskRan, check, p.Of, text+". Film is run once. What is this?",
		RollChoice{AnswerRescue, "The same film: this run goes on with it (rescue)"},
		RollChoice{AnswerReprocess, "The same film: it is processed again on purpose"},
		RollChoice{AnswerNotThere, "It was not in that run: remove it there"},
		RollChoice{AnswerOther, "That is another roll with the same twin check"})
}

// wants is the process and push that a roll is for, as people say it.
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
	zone := j.Zone
	if zone == nil {
		zone = time.UTC
	}
	return t.In(zone).Format("Jan 2, 15:04")
}

// loader is who loaded a roll where it is or was.
func (j *judgement) loader(p Place) string {
	if p.By == "" {
		return "who loaded it is not known"
	}
	return "loaded by " + j.who(p.By, p.At)
}

// who says by whom and when.
func (j *judgement) who(by string, at time.Time) string {
	return by + ", " + j.when(at)
}
