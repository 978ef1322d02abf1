package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// place is where the film is when the power goes or comes back: what to do
// differs.
type whereFilm string

const (
	filmNone     whereFilm = "none"     // a run without customers' film
	filmUnknown  whereFilm = "unknown"  // no sheet, or none of its steps: nobody knows which bath
	filmDry      whereFilm = "dry"      // before the first bath
	filmFilling  whereFilm = "filling"  // part of it is covered
	filmInBath   whereFilm = "bath"     // in a bath with a time
	filmDraining whereFilm = "draining" // the bath is on its way out, and works on what it covers
	filmBetween  whereFilm = "between"  // wet, no bath on it
	filmDone     whereFilm = "done"     // the last bath is over
)

// whereIsFilm says where the film of the run is now.
func (f *Unit) whereIsFilm() whereFilm {
	s, c := f.s, f.s.cur()
	inBath := s.Phase == lab.PhaseInBath || s.Phase == lab.PhaseFilling || s.Phase == lab.PhaseDraining
	switch {
	case !s.Run.film():
		return filmNone
	case s.Run.BathsEnd:
		return filmDone
	case f.sheet() == nil || c != nil && inBath && f.spec(c) == nil:
		return filmUnknown
	case c == nil || !s.Run.Wet:
		return filmDry
	case c.ByHand:
		return filmBetween
	case s.Phase == lab.PhaseFilling:
		return filmFilling
	case s.Phase == lab.PhaseDraining, s.Phase == lab.PhaseWaiting && !c.DrainT.IsZero() && f.filmInDeveloper():
		return filmDraining
	case s.Phase == lab.PhaseInBath:
		if b, _ := f.inBath(); b == nil {
			return filmUnknown // its time is the unit's own, and it has not said one
		}
		return filmInBath
	}
	return filmBetween
}

// filmWhileDraining is film in a bath whose draining stands, at timeline time t:
// what is still covered has had the bath until now. off: nothing heats it.
func (f *Unit) filmWhileDraining(c *runStep, sp *process.Step, t time.Time, off bool) process.Standing {
	st := process.Standing{Aim: f.aim(c), SoFar: c.Bath.Eq, EndsS: -1, ReactS: f.fig().HandS}
	from := c.DrainT
	if c.Bath.Prev {
		st.Bath = process.Within(c.Bath.PrevC, f.conditionsOf(c).withinC)
	} else {
		e := f.conditionsOf(c)
		st.Bath = process.Within(e.setC, e.withinC+heldWithinC)
		from = c.BathT
	}
	cool, room := f.cooling(), f.room()
	dt := max(t.Sub(from).Seconds(), 0)
	if !off { // it cooled only while the power was away
		dt = 0
		if a, b, ok := f.powerAway(from, t); ok {
			dt = b.Sub(a).Seconds()
		}
	}
	st.SoFar = st.SoFar.Plus(sp.Cooled(cool, st.Bath, room, 0, dt))
	st.Bath = cool.Between(st.Bath, room, dt)
	st.Cooling, st.Toward = &cool, room
	return st
}

// drainedStops is what it comes to where the bath still covers the film, if it
// is out a hand's time from later seconds after t; from no more than before
// its draining began.
func (f *Unit) drainedStops(c *runStep, sp *process.Step, t time.Time, later float64, off bool) (stops process.Range, ok bool) {
	if c.BathT.IsZero() || c.DrainT.IsZero() {
		return stops, false
	}
	if _, known := sp.TargetS(f.aim(c)); !known {
		return stops, false
	}
	st := f.filmWhileDraining(c, sp, t, off)
	eq, _, _ := sp.IfDrained(st, later)
	eq.Low = min(eq.Low, c.Bath.Eq.Low) // where it is not covered any more
	return sp.StopsRange(eq, st.Aim)
}

// drainText orders to drain by hand what stands half drained.
func (f *Unit) drainText(name string, at time.Time, stops process.Range, pushes bool) string {
	text := fmt.Sprintf("Drain %s by hand now: it still works on the film that it covers.", name)
	if pushes {
		return text + fmt.Sprintf(" If it is out by %s, push error will be %s where it covered the film.", f.clockWords(at.Add(lab.Seconds(f.fig().HandS))), process.ThirdsRange(stops))
	}
	return text
}

// lostElsewhere words lost mains for film that is not in a bath with a time.
func (f *Unit) lostElsewhere(where whereFilm, w *alertContent) {
	step := StepWords(f.stepID())
	c := f.s.cur()
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
		if f.isDev(c) {
			w.response += " Hold the rolls for inspection: what was covered first has had the developer for longer."
		}
		w.harm = "The bath works on the part that it covers and not on the rest."
		w.facts["act_at"] = lab.At(f.s.Clock.report(f.s.Power.LostT)).String()
	case filmBetween:
		w.message = fmt.Sprintf("Mains power lost before %s: the film is wet, no bath on it", step)
		if c != nil && !c.BathT.IsZero() {
			w.message = fmt.Sprintf("Mains power lost after %s: the film is wet, no bath on it", step)
		}
		by := f.s.Power.LostT.Add(lab.Seconds(f.fig().HeatingWetS))
		w.response = fmt.Sprintf("Keep the tank closed. If mains power is not back by %s, give the next bath by hand at its temperature.", f.clockWords(by))
		w.harm = "What is left of the last bath works on in the wet film."
	case filmDone:
		w.message = "Mains power lost after the last bath; unit on battery"
		w.response = "The film has had its baths. Hang it to dry elsewhere if mains power does not come back. Dry your hands before touching plugs or switches."
		w.harm = "The dryer stands still; wet film is easily scratched."
	}
}

// backElsewhere words the return of the power for film that is not in a bath
// with a time, with its advice.
func (f *Unit) backElsewhere(o *outage, where whereFilm, w *alertContent) {
	step, c := StepWords(f.stepID()), f.s.cur()
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
		f.backFilling(o, c, away, w)
	case filmDraining:
		f.backDraining(o, c, away, w)
	case filmBetween:
		o.Advice = process.Continue
		w.message = fmt.Sprintf("%s; the film is wet, no bath on it", away)
		w.response = "Let the unit go on, and check that the next bath has its temperature before it fills."
		w.harm = "A bath that cooled meanwhile works more slowly."
	}
}

func (f *Unit) backFilling(o *outage, c *runStep, away string, w *alertContent) {
	sp := f.spec(c)
	o.Advice = process.Continue
	w.message = fmt.Sprintf("%s while %s fills: part of the film is covered", away, sp.Label)
	w.response = fmt.Sprintf("Finish filling %s at once, by hand if the unit does not go on.", sp.Label)
	w.harm = "The film that was covered first has had the bath for longer."
	if sp.Kind == process.Dev {
		w.response += " Hold the rolls for inspection: development is uneven, and no number of seconds repairs that."
	}
	o.ActT = o.BackT
	w.facts["advice"], w.facts["act_at"] = o.Advice, lab.At(f.s.Clock.report(o.ActT)).String()
}

func (f *Unit) backDraining(o *outage, c *runStep, away string, w *alertContent) {
	sp := f.spec(c)
	o.Advice, o.ActT = process.Drain, o.BackT
	w.message = fmt.Sprintf("%s while %s drains", away, sp.Label)
	w.response = "Let it drain at once, by hand if the unit does not go on: the bath still works on the film that it covers."
	w.harm = "The film that stayed covered has had the bath for longer."
	if stops, ok := f.drainedStops(c, sp, o.BackT, 0, false); ok {
		o.Done = &stops
		w.response += fmt.Sprintf(" If it is out by %s, push error will be %s where it covered the film.", f.clockWords(o.BackT.Add(lab.Seconds(f.fig().HandS))), process.ThirdsRange(stops))
		w.facts["push_error_end_stops"] = lab.Round(stops.Best, 2)
		w.facts["push_error_end_low_stops"], w.facts["push_error_end_high_stops"] = lab.Round(stops.Low, 2), lab.Round(stops.High, 2)
	}
	if sp.Kind == process.Dev {
		w.response += " Hold the rolls for inspection."
		w.harm = unevenText
	}
	w.facts["advice"], w.facts["act_at"] = o.Advice, lab.At(f.s.Clock.report(o.ActT)).String()
}

// outlookElsewhere is the outlook for film that a bath partly covers: filling
// or draining stands, or goes on again.
func (f *Unit) outlookElsewhere(now time.Time) *lab.Outlook {
	s, c := f.s, f.s.cur()
	if !s.running() || c == nil {
		return nil
	}
	where := f.whereIsFilm()
	if where != filmFilling && where != filmDraining {
		return nil
	}
	sp, o := f.spec(c), f.lastOutage()
	v := &lab.Outlook{Step: c.ID, Measured: []string{}, Estimated: []string{}, Assumed: []string{}}
	switch {
	case s.Power.Source == lab.SourceBattery && !s.Power.LostT.IsZero():
		v.Why = outBattery
		f.outlookStuck(c, sp, where, v, now)
	case o != nil && o.N == c.N && o.Step == c.ID && o.Where == where && !o.BackT.IsZero():
		v.Why, v.Action, v.Text = outResumed, process.Drain, o.Text
		if where == filmFilling {
			v.Action = process.Finish
		}
		v.ActAt = lab.AtPtr(s.Clock.report(o.ActT))
		if o.Done != nil {
			v.PushStops, v.PushLowStops, v.PushHighStops = new(lab.Round(o.Done.Best, 2)), new(lab.Round(o.Done.Low, 2)), new(lab.Round(o.Done.High, 2))
		}
	default:
		return nil
	}
	return v
}

// outlookStuck: the pumps stand in the middle of a fill or a drain.
func (f *Unit) outlookStuck(c *runStep, sp *process.Step, where whereFilm, v *lab.Outlook, now time.Time) {
	s := f.s
	v.ActAt = lab.AtPtr(s.Clock.report(lab.Later(s.Power.LostT, s.PhaseT)))
	if where == filmFilling {
		w := alertContent{facts: map[string]any{}}
		f.lostElsewhere(where, &w)
		v.Action, v.Text = process.Finish, w.response
		return
	}
	v.Action = process.Drain
	later := max(now.Sub(s.now()).Seconds(), 0)
	stops, pushes := f.drainedStops(c, sp, s.Clock.T, later, true)
	if pushes {
		v.PushStops, v.PushLowStops, v.PushHighStops = new(lab.Round(stops.Best, 2)), new(lab.Round(stops.Low, 2)), new(lab.Round(stops.High, 2))
		v.NowStops = v.PushStops
		f.addBasis(c, sp, v, s.Power.LostT)
		v.Assumed = append(v.Assumed, fmt.Sprintf("%s from going to it until the film is out of the bath", lab.SpanText(f.fig().HandS)))
	}
	v.Text = f.drainText(sp.Label, s.Clock.T.Add(lab.Seconds(later)), stops, pushes)
}

// overFor tells whether what was advised after an outage can no longer be
// done.
func (f *Unit) overFor(o *outage) bool {
	s, c := f.s, f.s.cur()
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
		if o.Advice == process.Repeat { // a bath is done again before the next one is in
			return !same && s.Phase == lab.PhaseInBath
		}
	}
	return !same
}

// overText says what holds once the time for the advice has passed.
func (f *Unit) overText(o *outage) string {
	sp, ok := f.sheet().Step(o.Step)
	if f.s.Run.film() && (!ok || sp.Kind == process.Dev || o.Advice == process.Discard) {
		return fmt.Sprintf("That time has passed: %s has ended. Hold the rolls for inspection.", StepWords(o.Step))
	}
	return fmt.Sprintf("That time has passed: %s has ended. The run's report says whether it got its time.", StepWords(o.Step))
}
