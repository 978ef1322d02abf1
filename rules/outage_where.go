package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// whereFilm is where the film is when the power is lost or comes back: what to do
// depends on it.
type whereFilm string

const (
	filmNone     whereFilm = "none"     // a run without customers' film
	filmUnknown  whereFilm = "unknown"  // the sheet does not have the step, so that which bath it is in is not known
	filmDry      whereFilm = "dry"      // before the first bath
	filmFilling  whereFilm = "filling"  // the bath covers part of it
	filmInBath   whereFilm = "bath"     // in a bath with a time
	filmDraining whereFilm = "draining" // the bath still works on the part that it covers
	filmBetween  whereFilm = "between"  // wet, no bath on it
	filmDone     whereFilm = "done"     // the last bath is over
)

// whereIsFilm says where the film of the run is now.
func (u *Unit) whereIsFilm() whereFilm {
	s, c := u.s, u.s.currentStep()
	inBath := s.Phase == lab.PhaseInBath || s.Phase == lab.PhaseFilling || s.Phase == lab.PhaseDraining
	switch {
	case !s.Run.film():
		return filmNone
	case s.Run.BathsEnd:
		return filmDone
	case u.sheet() == nil || c != nil && inBath && u.spec(c) == nil:
		return filmUnknown
	case c == nil || !s.Run.Wet:
		return filmDry
	case c.ByHand:
		return filmBetween
	case s.Phase == lab.PhaseFilling:
		return filmFilling
	case s.Phase == lab.PhaseDraining, s.Phase == lab.PhaseWaiting && !c.DrainT.IsZero() && u.filmInDeveloper():
		return filmDraining
	case s.Phase == lab.PhaseInBath:
		if b, _ := u.inBath(); b == nil {
			return filmUnknown // its time is the unit's own, and it has not said one
		}
		return filmInBath
	}
	return filmBetween
}

// filmWhileDraining is film in a bath whose draining has stopped, at timeline
// time t: the part still covered has had the bath until now. off: its heater has
// no power.
func (u *Unit) filmWhileDraining(c *runStep, sp *process.Step, t time.Time, off bool) process.FilmInBath {
	st := process.FilmInBath{Aim: u.aim(c), SoFar: c.Bath.Eq, EndsS: -1, ReactS: u.fig().HandS}
	from := c.DrainT
	if c.Bath.Prev {
		st.Bath = process.Within(c.Bath.PrevC, u.conditionsOf(c).withinC)
	} else {
		e := u.conditionsOf(c)
		st.Bath = process.Within(e.setC, e.withinC+heldWithinC)
		from = c.BathT
	}
	cool, room := u.cooling(), u.room()
	dt := max(t.Sub(from).Seconds(), 0)
	if !off { // it cooled only while the power was away
		dt = 0
		if a, b, ok := u.powerLostWithin(from, t); ok {
			dt = b.Sub(a).Seconds()
		}
	}
	st.SoFar = st.SoFar.Plus(sp.Cooled(cool, st.Bath, room, 0, dt))
	st.Bath = cool.Between(st.Bath, room, dt)
	st.Cooling, st.Toward = &cool, room
	return st
}

// drainedStops is the push error of film in a bath whose draining has stopped,
// if somebody goes to drain it by hand later seconds after t. The low end is of
// the part that was uncovered when the draining began, the high end of the part
// that is still covered.
func (u *Unit) drainedStops(c *runStep, sp *process.Step, t time.Time, later float64, off bool) (stops process.Range, ok bool) {
	if c.BathT.IsZero() || c.DrainT.IsZero() {
		return stops, false
	}
	if _, known := sp.TargetS(u.aim(c)); !known {
		return stops, false
	}
	st := u.filmWhileDraining(c, sp, t, off)
	eq, _, _ := sp.IfDrained(st, later)
	eq.Low = min(eq.Low, c.Bath.Eq.Low) // the part that is not covered any more
	return sp.StopsRange(eq, st.Aim)
}

// outlookElsewhere is the outlook for film that a bath partly covers, because a
// fill or a drain stopped or goes on again.
func (u *Unit) outlookElsewhere(now time.Time) *lab.Outlook {
	s, c := u.s, u.s.currentStep()
	if !s.running() || c == nil {
		return nil
	}
	where := u.whereIsFilm()
	if where != filmFilling && where != filmDraining {
		return nil
	}
	sp, o := u.spec(c), u.lastOutage()
	v := &lab.Outlook{Step: c.ID, Measured: []string{}, Estimated: []string{}, Assumed: []string{}}
	switch {
	case s.Power.Source == lab.SourceBattery && !s.Power.LostT.IsZero():
		v.Why = outBattery
		u.outlookStuck(c, sp, where, v, now)
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

// outlookStuck is the outlook while the pumps stand in the middle of a fill or a
// drain.
func (u *Unit) outlookStuck(c *runStep, sp *process.Step, where whereFilm, v *lab.Outlook, now time.Time) {
	s := u.s
	v.ActAt = lab.AtPtr(s.Clock.report(lab.Later(s.Power.LostT, s.PhaseT)))
	if where == filmFilling {
		w := alertContent{facts: map[string]any{}}
		u.lostElsewhere(where, &w)
		v.Action, v.Text = process.Finish, w.response
		return
	}
	v.Action = process.Drain
	later := max(now.Sub(s.now()).Seconds(), 0)
	stops, pushes := u.drainedStops(c, sp, s.Clock.T, later, true)
	if pushes {
		v.PushStops, v.PushLowStops, v.PushHighStops = new(lab.Round(stops.Best, 2)), new(lab.Round(stops.Low, 2)), new(lab.Round(stops.High, 2))
		v.NowStops = v.PushStops
		u.addBasis(c, sp, v, s.Power.LostT)
		v.Assumed = append(v.Assumed, fmt.Sprintf("%s from going to it until the film is out of the bath", lab.SpanText(u.fig().HandS)))
	}
	v.Text = u.drainText(sp.Label, s.Clock.T.Add(lab.Seconds(later)), stops, pushes)
}
