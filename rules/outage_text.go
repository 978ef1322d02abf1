package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// drainText says to drain a bath by hand whose draining stopped half way.
func (u *Unit) drainText(name string, at time.Time, stops process.Range, pushes bool) string {
	text := fmt.Sprintf("Drain %s by hand now: it still works on the film that it covers.", name)
	if pushes {
		return text + fmt.Sprintf(" If it is out by %s, push error will be %s where it covered the film.", u.clockWords(at.Add(lab.Seconds(u.fig().HandS))), process.ThirdsRange(stops))
	}
	return text
}

// lostElsewhere is what power-lost says of film that is not in a bath with a time.
func (u *Unit) lostElsewhere(where whereFilm, w *alertContent) {
	step := StepWords(u.currentStepID())
	c := u.s.currentStep()
	switch where {
	case filmNone:
		w.message = fmt.Sprintf("Mains power lost in %s; unit on battery. No customers' film in this run", step)
		w.response = "Heaters and pumps stand still. Check whether it was filling or draining, and that nothing overflows when mains power comes back. Dry your hands before touching plugs or switches."
		w.harm = "Heaters, pumps and rotation stand still."
	case filmUnknown:
		w.message = fmt.Sprintf("Mains power lost in %s: check which bath it is", step)
		w.response = "No sheet gives this step a time: check which bath the film is in. In a developer turn the tank by hand and drain it by its own time; in another bath longer does less harm. Note the time."
	case filmDry:
		w.message = "Mains power lost before the first bath: the film is dry"
		w.response = "Keep the tank closed. Nothing works on the film yet; let the unit heat up again before it fills."
		w.harm = "The baths cool down until the mains power is back."
	case filmFilling:
		w.message = fmt.Sprintf("Mains power lost while %s fills: part of the film is covered", step)
		w.response = "Turn the tank by hand, a turn a second, so that the bath reaches all of the film. Finish the fill by hand if you can, and note the time."
		if u.isDev(c) {
			w.response += " Hold the rolls for inspection: what was covered first has had the developer for longer."
		}
		w.harm = "The bath works on the part that it covers and not on the rest."
		w.facts["act_at"] = lab.At(u.s.Clock.report(u.s.Power.LostT)).String()
	case filmBetween:
		w.message = fmt.Sprintf("Mains power lost before %s: the film is wet, no bath on it", step)
		if c != nil && !c.BathT.IsZero() {
			w.message = fmt.Sprintf("Mains power lost after %s: the film is wet, no bath on it", step)
		}
		by := u.s.Power.LostT.Add(lab.Seconds(u.fig().HeatingWetS))
		w.response = fmt.Sprintf("Keep the tank closed. If mains power is not back by %s, give the next bath by hand at its temperature.", u.clockWords(by))
		w.harm = "What is left of the last bath works on in the wet film."
	case filmDone:
		w.message = "Mains power lost after the last bath; unit on battery"
		w.response = "The film has had its baths. Hang it to dry elsewhere if mains power does not come back. Dry your hands before touching plugs or switches."
		w.harm = "The dryer stands still; wet film is easily scratched."
	}
}

// backElsewhere is what power-resumed says of film that is not in a bath with a
// time, and what it advises.
func (u *Unit) backElsewhere(o *outage, where whereFilm, w *alertContent) {
	step, c := StepWords(u.currentStepID()), u.s.currentStep()
	away := fmt.Sprintf("Mains power is back after %s", lab.SpanText(o.S))
	switch where {
	case filmNone:
		w.message = fmt.Sprintf("%s in %s; no customers' film in this run", away, step)
		w.response = "Check that the unit continues, that heaters and pumps work, and that levels are as they should be."
		w.harm = "The unit may have stopped halfway: liquid is not where it counts it."
	case filmUnknown:
		w.message = fmt.Sprintf("%s in %s: check which bath it is", away, step)
		w.response = "No sheet gives this step a time, so there is no advice: check which bath the film is in, and how long. Decide by that bath's own time whether to go on or to drain. Note the time."
		w.harm = "The film was in that bath for longer than the unit's own counter may say."
	case filmDry:
		o.Advice = process.Continue
		w.message = away + "; the film is dry, no bath was on it"
		w.response = "Let the unit go on. Check that the first bath comes to its temperature before it fills."
		w.harm = "A bath that cooled meanwhile goes in too cool."
	case filmFilling:
		u.backFilling(o, c, away, w)
	case filmDraining:
		u.backDraining(o, c, away, w)
	case filmBetween:
		o.Advice = process.Continue
		w.message = fmt.Sprintf("%s; the film is wet, no bath on it", away)
		w.response = "Let the unit go on, and check that the next bath has its temperature before it fills."
		w.harm = "A bath that cooled meanwhile works more slowly."
	}
}

func (u *Unit) backFilling(o *outage, c *runStep, away string, w *alertContent) {
	sp := u.spec(c)
	o.Advice = process.Continue
	w.message = fmt.Sprintf("%s while %s fills: part of the film is covered", away, sp.Label)
	w.response = fmt.Sprintf("Finish filling %s at once, by hand if the unit does not go on.", sp.Label)
	w.harm = "The film that was covered first has had the bath for longer."
	if sp.Kind == process.Dev {
		w.response += " Hold the rolls for inspection: development is uneven, and no number of seconds repairs that."
	}
	o.ActT = o.BackT
	w.facts["advice"], w.facts["act_at"] = o.Advice, lab.At(u.s.Clock.report(o.ActT)).String()
}

func (u *Unit) backDraining(o *outage, c *runStep, away string, w *alertContent) {
	sp := u.spec(c)
	o.Advice, o.ActT = process.Drain, o.BackT
	w.message = fmt.Sprintf("%s while %s drains", away, sp.Label)
	w.response = "Let it drain at once, by hand if the unit does not go on: the bath still works on the film that it covers."
	w.harm = "The film that stayed covered has had the bath for longer."
	if stops, ok := u.drainedStops(c, sp, o.BackT, 0, false); ok {
		o.Done = &stops
		w.response += fmt.Sprintf(" If it is out by %s, push error will be %s where it covered the film.", u.clockWords(o.BackT.Add(lab.Seconds(u.fig().HandS))), process.ThirdsRange(stops))
		w.facts["push_error_end_stops"] = lab.Round(stops.Best, 2)
		w.facts["push_error_end_low_stops"], w.facts["push_error_end_high_stops"] = lab.Round(stops.Low, 2), lab.Round(stops.High, 2)
	}
	if sp.Kind == process.Dev {
		w.response += " Hold the rolls for inspection."
		w.harm = unevenText
	}
	w.facts["advice"], w.facts["act_at"] = o.Advice, lab.At(u.s.Clock.report(o.ActT)).String()
}

// overFor tells whether it is too late to do what was advised after an outage.
func (u *Unit) overFor(o *outage) bool {
	s, c := u.s, u.s.currentStep()
	if !s.running() || s.Run.BathsEnd || c == nil {
		return true
	}
	same := c.N == o.AtN && c.ID == o.AtStep
	switch o.Where {
	case filmFilling:
		return !same || s.Phase != lab.PhaseFilling
	case filmDraining:
		return !same || s.Phase != lab.PhaseDraining && s.Phase != lab.PhaseWaiting
	case filmBetween, filmDry:
		return !same && c.Fills > 0 || s.Phase == lab.PhaseInBath
	case filmInBath:
		if o.Advice == process.Repeat { // repeating is possible until the next bath is in
			return !same && s.Phase == lab.PhaseInBath
		}
	}
	return !same
}

// overText says what holds once the time for the advice has passed.
func (u *Unit) overText(o *outage) string {
	sp, ok := u.sheet().Step(o.Step)
	if u.s.Run.film() && (!ok || sp.Kind == process.Dev || o.Advice == process.Discard) {
		return fmt.Sprintf("That time has passed: %s has ended. Hold the rolls for inspection.", StepWords(o.Step))
	}
	return fmt.Sprintf("That time has passed: %s has ended. The run's report says whether it got its time.", StepWords(o.Step))
}
