package rules

import (
	"fmt"
	"math"

	"wetside/internal/process"
)

// developerError says how much of a developer's push error is due to its time
// and how much to its speed (its temperature). time and speed are logarithms of
// the ratio to the sheet's, above zero where they push in the direction of the
// error and below where they make up for it.
type developerError struct {
	level          int // of the verdict: 0 within the limits, 1 beyond the first, 2 beyond the second
	time, speed    float64
	timeLong, warm bool
	text           string // the push error in words
}

func (u *Unit) developerErrorOf(c *runStep, sp *process.Step) developerError {
	a := u.aim(c)
	target, ok := sp.TargetS(a)
	if !ok || !c.BathHeard || c.Bath.N == 0 || c.BathT.IsZero() || sp.Kind != process.Dev {
		return developerError{}
	}
	timeS := c.EndT.Sub(c.fromT()).Seconds()
	if u.mostlyUnread(c) {
		return u.certainError(c, sp, a, timeS, target)
	}
	p := developerError{level: sp.Off(c.Bath.Eq.Best, a)}
	if timeS <= 0 || c.Bath.Eq.Best <= 0 {
		return p
	}
	byTime, bySpeed := math.Log(timeS/target), math.Log(c.Bath.Eq.Best/timeS)
	p.timeLong, p.warm = byTime > 0, bySpeed > 0
	sign := math.Copysign(1, byTime+bySpeed)
	p.time, p.speed = byTime*sign, bySpeed*sign
	p.text = fmt.Sprintf(" Development %+.0f %% against the %s: color balance is at risk.", 100*(c.Bath.Eq.Best/target-1), aimWord(a))
	if side := sp.Side(c.Bath.Eq.Best, a); side != 0 {
		p.text = fmt.Sprintf(" Push error %s than %s: the sheet's push times end there.", moreLess(side), process.Stops(sp.Bound(side, a)))
	} else if stops, ok := sp.StopsRange(u.equivalentBounds(c, sp), a); ok {
		stops = sp.Scaled(stops)
		p.text = fmt.Sprintf(" Push error %s. A kinetic equivalence, not a density prediction.", process.ThirdsRange(stops))
	}
	return p
}

// certainError is the error of a developer whose bath was mostly not read: only
// what holds whatever temperature it had within the bounds. By the clock alone
// it was too long, or too short.
func (u *Unit) certainError(c *runStep, sp *process.Step, a process.Aim, timeS, target float64) developerError {
	eq := u.equivalentBounds(c, sp)
	over, under := eq.Low > target, eq.High < target
	if timeS <= 0 || eq.Low <= 0 || !over && !under {
		return developerError{}
	}
	near := eq.Low
	if under {
		near = eq.High
	}
	p := developerError{level: sp.Off(near, a), timeLong: over, warm: over}
	if p.level == 0 {
		return developerError{}
	}
	p.time = math.Abs(math.Log(timeS / target))
	p.text = fmt.Sprintf(" Most of it was not read; by the clock it went beyond the %s's limits whatever the bath did.", aimWord(a))
	return p
}

func aimWord(a process.Aim) string {
	if a.HouseS > 0 {
		return "house aim"
	}
	return "sheet"
}

func (u *Unit) isDev(c *runStep) bool {
	sp := u.spec(c)
	return sp != nil && sp.Kind == process.Dev
}
