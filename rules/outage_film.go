package rules

import (
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// inBath is the step whose bath is on the film now, with the sheet's step; nil
// where the film is in no bath or the sheet has no time for it.
func (u *Unit) inBath() (*runStep, *process.Step) {
	s, c := u.s, u.s.currentStep()
	sp := u.spec(c)
	if !s.running() || !s.Run.film() || s.Run.BathsEnd || c == nil || sp == nil {
		return nil, nil
	}
	if c.BathT.IsZero() || !c.EndT.IsZero() || !c.DrainT.IsZero() {
		return nil, nil
	}
	if _, ok := sp.TargetS(u.aim(c)); !ok {
		return nil, nil
	}
	return c, sp
}

// warming is how fast the liquid comes back to its set point when the heater
// works again, as a time constant in seconds: common practice, no source.
var warming = process.Cooling{TauS: 25, TauLowS: 8, TauHighS: 150}

// filmInBath is the film in a bath at timeline time t. off: its
// heater has no power.
func (u *Unit) filmInBath(c *runStep, sp *process.Step, t time.Time, off bool) process.FilmInBath {
	eq, bath := u.equivalentSoFar(c, t, off)
	st := process.FilmInBath{Aim: u.aim(c), SoFar: eq, Bath: bath, ReactS: u.fig().HandS,
		EndsS: u.unitEndsS(c, t), StoodS: u.stoodS(c, t)}
	cool := u.cooling()
	st.Cooling, st.Toward = &cool, u.room()
	if !off {
		e := u.conditionsOf(c)
		st.Cooling, st.Toward = &warming, process.Within(e.setC, e.withinC)
	}
	return st
}

// unitEndsS is when the unit will end the step by its own count, in seconds
// after t; below zero where that is not known.
func (u *Unit) unitEndsS(c *runStep, t time.Time) float64 {
	if c.SetS <= 0 {
		return -1
	}
	if u.s.CountS != nil && !u.s.CountT.Before(c.fromT()) {
		return max(0, c.SetS-*u.s.CountS-t.Sub(u.s.CountT).Seconds())
	}
	return max(0, c.SetS-t.Sub(c.fromT()).Seconds())
}

// stoodS is for how many seconds of the step the power was lost: without
// rotation the developer at the film was not exchanged.
func (u *Unit) stoodS(c *runStep, t time.Time) float64 {
	sum := 0.0
	for _, o := range u.s.Run.Outages {
		if o.N == c.N && o.Step == c.ID {
			sum += overlap(o.LostT, o.BackT, c.BathT, t)
		}
	}
	return sum
}

// overlap is how many seconds of the time from a to b lie between from and to; a
// zero b means that it has not ended.
func overlap(a, b, from, to time.Time) float64 {
	if b.IsZero() || b.After(to) {
		b = to
	}
	return max(0, b.Sub(lab.Later(a, from)).Seconds())
}

// stillS is for how many seconds the film stood still in an outage, less those
// in which it was turned by hand.
func (u *Unit) stillS(c *runStep, o *outage) float64 {
	end := c.EndT
	if end.IsZero() {
		end = c.DrainT
	}
	if end.IsZero() {
		end = u.s.Clock.T
	}
	if !o.BackT.IsZero() && o.BackT.Before(end) {
		end = o.BackT
	}
	from := lab.Later(o.LostT, c.BathT)
	return max(0, end.Sub(from).Seconds()-u.turnedS(from, end))
}

// turnedS is for how many seconds between two moments people say that they
// turned the tank by hand.
func (u *Unit) turnedS(from, to time.Time) float64 {
	sum, at := 0.0, from
	for _, h := range u.s.Run.Turned { // in the order of their beginnings
		end := h.To
		if end.IsZero() || end.After(to) {
			end = to
		}
		if begin := lab.Later(h.From, at); begin.Before(end) {
			sum += end.Sub(begin).Seconds()
			at = end
		}
	}
	return sum
}

// turnedThrough tells whether somebody turned the tank by hand whenever it stood
// still in the step.
func (u *Unit) turnedThrough(c *runStep) bool {
	const most = 0.9
	for _, h := range c.Still {
		end := h.To
		if end.IsZero() {
			end = c.EndT
		}
		if long := end.Sub(h.From).Seconds(); u.turnedS(h.From, end) < most*long {
			return false
		}
	}
	return len(c.Still) > 0
}
