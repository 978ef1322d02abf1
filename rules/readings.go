package rules

import (
	"fmt"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// takeTemperatures takes a message of temperatures.
func (u *Unit) takeTemperatures(m *lab.Temp) {
	s, t := u.s, u.s.Clock.T
	if m.RoomC != nil && *m.RoomC >= u.fig().BelieveLowC && *m.RoomC <= u.fig().BelieveRoomC {
		s.Room = reading{*m.RoomC, t}
	}
	if m.DryerC != nil && *m.DryerC <= u.fig().BelieveDryerC && !u.saysFahrenheit() {
		u.judgeDryer(*m.DryerC, t)
	}
	if m.PreheatC != nil {
		u.takePreheat(*m.PreheatC, t)
	}
	if m.BathC == nil || s.Phase != lab.PhaseInBath || !s.running() {
		return
	}
	c := s.currentStep()
	if c == nil || c.ByHand {
		return
	}
	if s.Unsure == longHole { // the next step message tells of which bath it is
		if len(s.Waiting) < waitingMax {
			s.Waiting = append(s.Waiting, reading{*m.BathC, t})
		}
		return
	}
	u.bathReading(c, *m.BathC, t)
}

// saysFahrenheit tells whether the unit sent its baths in °F in this run: then
// its dryer is in °F too.
func (u *Unit) saysFahrenheit() bool {
	return u.s.Run != nil && slices.ContainsFunc(u.s.Run.Steps, func(c *runStep) bool { return c.Doubt.Why == doubtFahrenheit })
}

// waitingMax is how many readings wait for a step message at most.
const waitingMax = 64

// waitingReadings takes the readings that came after a hole, once a step message
// has told which bath they are of.
func (u *Unit) waitingReadings() {
	s, c := u.s, u.s.currentStep()
	if c != nil && s.Phase == lab.PhaseInBath && s.running() {
		for _, r := range s.Waiting {
			if r.T.After(s.PhaseT) {
				u.bathReading(c, r.V, r.T)
			}
		}
	}
	s.Waiting = nil
}

func (u *Unit) bathReading(c *runStep, v float64, t time.Time) {
	s, q := u.s, &u.s.Probe
	if !q.HeardT.IsZero() && !s.BathDue.After(q.HeardT) {
		s.Intervals.add(t.Sub(q.HeardT).Seconds())
	}
	q.HeardT, s.BathDue = t, t
	u.clear(alertKey{rule: RuleReadingMissing, step: c}, t)
	raw := v
	v += u.offsetC(c)
	if why := u.doubtIn(c, raw, v, t); why != "" {
		u.disbelieved(c, v, t, why)
		return
	}
	u.believed(c, v, t)
	s.Bath = reading{v, t}
	u.ownAim(c, v, t)
	sp := u.spec(c)
	c.Bath.read(t, v, u.conditionsOf(c))
	u.followCooling(v, t)
	u.followMixing(c, v, t)
	u.adviseAgain(c)
	if sp != nil && s.Run.followed() && u.aimKnown(c, sp) && !s.Probe.carried() {
		u.bathTemperature(c, sp, v, t)
	}
}

// bathEnds ends the integral of a bath.
func (u *Unit) bathEnds(c *runStep, t time.Time) {
	u.endDoubt(c, t)
	c.Bath.finish(t, u.conditionsOf(c))
}

// readingLimitS is how long it may take until the next reading of the bath,
// seconds, before one counts as missing.
func (u *Unit) readingLimitS() float64 {
	fig := u.fig()
	return max(fig.ReadingMissingS, fig.ReadingMissingIntervals*u.usualIntervalS())
}

// slowestReadS is how far apart the readings of a unit may be while it has not
// shown how often it reads, seconds: common practice, no source.
const slowestReadS = 30

// usualIntervalS is the usual time between this unit's readings of a bath,
// seconds. Of fewer than three intervals it is the longest; after a single
// reading, that of the slowest units; 0 before any.
func (u *Unit) usualIntervalS() float64 {
	switch n := len(u.s.Intervals); {
	case n >= 3:
		return u.s.Intervals.median()
	case n > 0:
		return u.s.Intervals.most()
	case !u.s.Probe.HeardT.IsZero():
		return slowestReadS
	}
	return 0
}

// readingDue raises reading-missing once a message of the same boot proves that
// no reading came in time. A reading that may have been lost in a hole is not
// missing.
func (u *Unit) readingDue(t time.Time, m *lab.Message) {
	s, c := u.s, u.s.currentStep()
	if !u.followed() || s.Phase != lab.PhaseInBath || c == nil || c.ByHand {
		return
	}
	if s.GapNow || s.GapBoot || s.Unsure == shortHole { // it may be draining by now
		s.BathDue = t // the wait begins anew
		return
	}
	if s.Unsure == longHole {
		return // the bath may be over
	}
	a := alertKey{rule: RuleReadingMissing, step: c}
	if u.open(a) != nil {
		return
	}
	limit := u.readingLimitS()
	due := lab.Later(s.PhaseT, s.BathDue).Add(lab.Seconds(limit))
	if !t.After(due) {
		return
	}
	c.NoReading = true
	w := alertContent{priority: lab.High, message: fmt.Sprintf("No bath temperature in %s for %s", StepWords(c.ID), lab.SpanText(limit)),
		facts: map[string]any{"for_s": limit}}
	if sp := u.spec(c); sp != nil && sp.Kind == process.Dev {
		w.priority = lab.Urgent
	}
	u.raise(a, due, w)
}
