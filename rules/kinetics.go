package rules

import (
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// roomC is assumed of a room whose temperature was not read: common practice, no
// source.
var roomC = process.Range{Best: 21, Low: 15, High: 28}

// roomWithinC is how far the room at the tank may differ from the room's probe,
// °C.
const roomWithinC = 0.5

// heldWithinC is how far a bath without any reading may be off its set point, °C:
// common practice, no source.
const heldWithinC = 0.5

func (u *Unit) room() process.Range {
	if u.s.Room.known() {
		return process.Within(u.s.Room.V, roomWithinC)
	}
	return roomC
}

// cooling is how fast this unit's tank cools, by earlier outages and by the one
// that goes on.
func (u *Unit) cooling() process.Cooling {
	c := process.CombineFits(u.s.Cools)
	if k := u.s.Cool; k != nil {
		return c.WithBeginningOf(process.CoolingCurve{Points: k.Pts, Room: u.room()})
	}
	return c
}

// conditionsOf are the conditions in which the bath of a step is judged.
func (u *Unit) conditionsOf(c *runStep) *bathConditions {
	sp := u.spec(c)
	if sp == nil {
		return &bathConditions{limitS: u.readingLimitS()}
	}
	e := &bathConditions{step: sp, withinC: u.s.Run.Fig.withinC(), setC: sp.AimC, room: u.room(), cool: u.cooling(),
		limitS: u.readingLimitS(), powerLostWithin: u.powerLostWithin, latestEnd: u.latestEnd(c)}
	if c.SetC > 0 {
		e.setC = c.SetC
	}
	return e
}

// latestEnd is the latest moment at which a step can have ended whose end lies in
// a hole; zero for any other.
func (u *Unit) latestEnd(c *runStep) (t time.Time) {
	if c.EndUnsure {
		return c.LeftT
	}
	return t
}

// powerLostWithin tells whether power was lost between from and to. a is when it was
// first lost, b when it last came back: several outages count as one.
func (u *Unit) powerLostWithin(from, to time.Time) (a, b time.Time, ok bool) {
	for _, o := range u.s.Run.Outages {
		lost, back := o.LostT, o.BackT
		if back.IsZero() || back.After(to) {
			back = to
		}
		if lost.Before(from) {
			lost = from
		}
		if !lost.Before(back) {
			continue
		}
		if !ok {
			a, ok = lost, true
		}
		b = back
	}
	return a, b, ok
}

// aim is what a step is judged against.
func (u *Unit) aim(c *runStep) process.Aim {
	a := process.Aim{Push: u.s.Run.Push, SetS: c.SetS}
	a.HouseS, _ = u.houseS(c)
	return a
}

// equivalentSoFar is the equivalent time that the bath of c has come to by timeline time t,
// and the liquid's temperature then. Since the last reading the liquid is
// estimated: to cool, or to be kept by its heater.
func (u *Unit) equivalentSoFar(c *runStep, t time.Time, cooling bool) (eq, bath process.Range) {
	b, e := c.Bath, u.conditionsOf(c)
	if !b.HeldT.IsZero() {
		b.count(b.HeldT, b.HeldC, e)
	}
	if !b.Prev { // no reading yet: assumed to be near its set point
		b.FromT, b.PrevC, b.Prev = c.fromT(), e.setC, true
		e.withinC += heldWithinC
	}
	bath = process.Within(b.PrevC, e.withinC)
	dt := t.Sub(b.FromT).Seconds()
	if dt <= 0 {
		return b.Eq, bath
	}
	if cooling {
		b.Eq = b.Eq.Plus(e.step.Cooled(u.cooling(), bath, u.room(), 0, dt))
		return b.Eq, u.cooling().Between(bath, u.room(), dt)
	}
	b.to(t, b.PrevC, e)
	return b.Eq, bath
}

// curveMax is how many readings of one cooling are kept; coolsMax how many
// fits.
const (
	curveMax = 60
	coolsMax = 8
)

// coolNow is a cooling that goes on while the mains power is lost, with the
// readings of it.
type coolNow struct {
	FromT time.Time              `json:"from_t"`
	LastT time.Time              `json:"last_t"`
	Pts   []process.CoolingPoint `json:"pts"`
}

// followCooling keeps readings of the bath while the mains power is lost: they
// show how fast this unit's tank cools.
func (u *Unit) followCooling(v float64, t time.Time) {
	s := u.s
	if s.Power.LostT.IsZero() {
		u.coolingOver()
		return
	}
	k := s.Cool
	if k == nil {
		k = &coolNow{FromT: t}
		s.Cool = k
	}
	if len(k.Pts) > 0 && (len(k.Pts) >= curveMax || t.Sub(k.LastT) < lab.Seconds(coolEveryS)) {
		return
	}
	k.LastT = t
	k.Pts = append(k.Pts, process.CoolingPoint{S: t.Sub(k.FromT).Seconds(), C: v})
}

// coolingOf learns how fast the tank cools from a restart, during which nothing
// was read: by the last reading before it and the first after.
func (u *Unit) coolingOf(o *outage, c *runStep) {
	b, room := c.Bath, u.room()
	away := o.BackT.Sub(o.LostT).Seconds()
	late := b.HeldT.Sub(o.BackT).Seconds() + max(o.LostT.Sub(b.FromT).Seconds(), 0)
	fall := b.PrevC - b.HeldC
	if !b.Prev || away < 60 || late > coolLateS || fall < 0.5 || b.HeldC-room.Best < 3 || !u.s.Room.known() {
		return
	}
	tau := func(room float64) float64 { return away / math.Log((b.PrevC-room)/(b.HeldC-room)) }
	fit := process.CoolingFit{TauS: tau(room.Best)}
	fit.Error = math.Hypot(coolNoiseC/fall+late/away, math.Log(tau(room.High)/tau(room.Low))/2)
	u.keepFit(fit)
}

// coolLateS is how far from a restart those two readings may lie, seconds;
// coolNoiseC how far two readings may differ by noise, °C.
const (
	coolLateS  = 8
	coolNoiseC = 0.06
)

func (u *Unit) keepFit(fit process.CoolingFit) {
	u.s.Cools = append(u.s.Cools, fit)
	if more := len(u.s.Cools) - coolsMax; more > 0 {
		u.s.Cools = u.s.Cools[more:]
	}
}

// coolEveryS is how far apart the readings of a cooling are kept, seconds.
const coolEveryS = 4

// coolingOver ends a cooling and learns from it.
func (u *Unit) coolingOver() {
	k := u.s.Cool
	if k == nil {
		return
	}
	u.s.Cool = nil
	if fit, err := (process.CoolingCurve{Points: k.Pts, Room: u.room()}).Fit(); err == nil {
		u.keepFit(fit)
	}
}
