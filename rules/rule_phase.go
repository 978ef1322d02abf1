package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// phaseDue raises phase-overdue when timeline time t proves that the phase
// has lasted too long.
func (u *Unit) phaseDue(t time.Time) {
	s := u.s
	if !s.running() || s.PhaseT.IsZero() || s.Phase == "" {
		return
	}
	limit, w, ok := u.phaseLimit()
	if !ok {
		return
	}
	due := s.PhaseT.Add(lab.Seconds(limit))
	if t.Before(due) || limit > 0 && !t.After(due) {
		return
	}
	a := alertKey{rule: RulePhaseOverdue, subject: string(s.Phase), run: true}
	if u.open(a) == nil {
		u.raise(a, due, w)
	}
}

// phaseLimit is how long the phase may last, in seconds, and what to say.
func (u *Unit) phaseLimit() (float64, alertContent, bool) {
	s, fig := u.s, u.fig()
	dev := u.filmInDeveloper()
	w := alertContent{priority: lab.High, facts: map[string]any{"phase": string(s.Phase)}}
	if dev {
		w.priority = lab.Urgent
	}
	limit, what := 0.0, ""
	switch {
	case s.Phase == lab.PhaseDraining || s.Phase == lab.PhaseFilling && u.judged():
		// a drain that does not end may flood the floor, whatever the run carries
		limit = max(fig.PumpOverdueS, fig.PumpOverdueTimes*s.Usual[string(s.Phase)].median())
		what = capital(string(s.Phase))
	case !u.judged():
		return 0, w, false
	case s.Phase == lab.PhaseHeating && s.Run.Wet:
		limit, what = fig.HeatingWetS, "Heating with wet film"
	case s.Phase == lab.PhaseHeating:
		limit, what = fig.HeatingFirstS, "Heating before the first bath"
		w.priority = lab.Low
	case s.Phase == lab.PhaseWaiting && s.Run.Wet && s.WaitsFor == lab.WaitToDryer:
		limit, what = fig.WaitDryerS, "Reels waiting for the dryer"
	case s.Phase == lab.PhaseWaiting && s.Run.Wet:
		limit, what = fig.WaitS, "Waiting with wet film ("+waitWords(s.WaitsFor)+")"
		if dev {
			limit = 0
		}
	default:
		return 0, w, false
	}
	w.facts["limit_s"] = limit
	if s.WaitsFor != "" {
		w.facts["waits_for"] = s.WaitsFor
	}
	if c := s.currentStep(); c != nil && s.Phase != lab.PhaseWaiting {
		if s.Phase == lab.PhaseFilling || s.Phase == lab.PhaseDraining {
			what += " " + StepWords(c.ID)
		} else {
			what += ", " + StepWords(c.ID)
		}
	}
	w.message = fmt.Sprintf("%s for more than %s", what, lab.SpanText(limit))
	if limit == 0 {
		w.message = what + ": film is in the developer"
	}
	return limit, w, true
}

// filmInDeveloper tells whether developer is on film now: from its first fill
// until it has drained. The unit may wait for a person in the middle of a drain.
func (u *Unit) filmInDeveloper() bool {
	s, c := u.s, u.s.currentStep()
	sp := u.spec(c)
	if sp == nil || sp.Kind != process.Dev || !u.judged() || c.Fills == 0 || !c.EndT.IsZero() {
		return false
	}
	return c.DrainT.IsZero() || s.Phase == lab.PhaseDraining || s.Phase == lab.PhaseWaiting
}
