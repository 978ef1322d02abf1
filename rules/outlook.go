package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// byHandText is the first thing to do while film stands in a bath and nothing
// turns it.
const byHandText = "Turn the tank by hand, a turn a second, and note the time."

// Why there is an outlook.
const (
	outBattery     = "battery"
	outSilent      = "silent"
	outResumed     = "resumed"
	outTemperature = "temperature"
)

// outlookWhy says why the film in the bath of c needs an outlook, "" where it
// needs none. quiet: no data is received of the unit.
func (u *Unit) outlookWhy(c *runStep, sp *process.Step, quiet bool) string {
	o := u.lastOutage()
	mine := o != nil && o.N == c.N && o.Step == c.ID
	switch {
	case quiet && (sp.Kind == process.Dev || u.s.Power.Source == lab.SourceBattery):
		return outSilent
	case quiet:
		return ""
	case u.s.Power.Source == lab.SourceBattery:
		return outBattery
	case mine && !o.BackT.IsZero():
		return outResumed
	case sp.Kind == process.Dev && u.open(alertKey{rule: RuleBathTemperature, step: c}) != nil:
		return outTemperature
	}
	return ""
}

// outlook says what to do with film that stands in a bath in trouble, at a
// moment of the unit's clock; nil where nothing is to be said.
func (u *Unit) outlook(quiet bool, now time.Time) *lab.Outlook {
	c, sp := u.inBath()
	if c == nil {
		return u.outlookElsewhere(now)
	}
	why := u.outlookWhy(c, sp, quiet)
	v := &lab.Outlook{Step: c.ID, Why: why, Measured: []string{}, Estimated: []string{}, Assumed: []string{}}
	ok := false
	switch why {
	case outBattery, outSilent:
		ok = u.outlookStands(c, sp, v, now)
	case outResumed:
		ok = u.outlookResumed(c, sp, v, now)
	case outTemperature:
		ok = u.outlookWarm(c, sp, v, now)
	}
	if !ok {
		return nil
	}
	return v
}

// outlookStands is the outlook for a bath in which, as far as is known, nothing
// heats, pumps or turns.
func (u *Unit) outlookStands(c *runStep, sp *process.Step, v *lab.Outlook, now time.Time) bool {
	t, base := u.s.Clock.T, u.s.now()
	st := u.filmInBath(c, sp, t, true)
	st.CounterStands = v.Why == outSilent // a controller that is down does not count the step's time
	m, ok := sp.Outlook(st)
	if !ok {
		return false
	}
	later := max(now.Sub(base).Seconds(), 0)
	v.Action = m.ActionAt(later)
	v.GoOnUntil, v.DrainFrom, v.TooLateFrom = finite(base, m.GoOnUntilS), finite(base, m.DrainFromS), finite(base, m.TooLateFromS)
	if v.Action != process.Hold {
		v.ActAt = finite(base, max(m.ActS, min(later, m.TooLateFromS)))
		if later < m.ActS {
			v.ActAt = finite(base, m.ActS)
		}
	}
	if m.Pushes {
		done := m.DoneStops
		_, atNow, _ := sp.IfDrained(st, later)
		if later > m.ActS {
			done = atNow
		}
		v.PushStops, v.PushLowStops, v.PushHighStops = new(lab.Round(done.Best, 2)), new(lab.Round(done.Low, 2)), new(lab.Round(done.High, 2))
		v.NowStops = new(lab.Round(atNow.Best, 2))
	}
	u.addBasis(c, sp, v, t)
	v.Assumed = append(v.Assumed, fmt.Sprintf("%s from going to it until the film is out of the bath", lab.SpanText(st.ReactS)))
	v.Text = u.standsText(sp, v, m, later)
	return true
}

// standsText is the text of an outlook without power.
func (u *Unit) standsText(sp *process.Step, v *lab.Outlook, m process.Deadlines, later float64) string {
	wall := func(s float64) string { return u.clockWords(u.s.Clock.T.Add(lab.Seconds(s))) }
	text := byHandText + "\n"
	if v.Why == outSilent {
		text = "If it has no power: turn the tank by hand, a turn a second, and note the time.\n"
	}
	switch {
	case sp.Kind == process.Min:
		return text + fmt.Sprintf("No hurry with %s: longer does little harm. Keep the tank closed.", sp.Label)
	case v.Action == process.Hold:
		return text + "Draining now will not help: leave it to the unit. Hold the rolls for inspection."
	case v.Action == process.DrainAt && later >= m.ActS:
		return text + fmt.Sprintf("Drain %s by hand now.", sp.Label) + pushWords(v)
	case v.Action == process.DrainAt:
		return text + fmt.Sprintf("Begin to drain %s by hand at %s, to have it out at %s.", sp.Label, wall(m.ActS), wall(m.ActS+u.fig().HandS)) + pushWords(v)
	}
	return text + fmt.Sprintf("If mains power is not back by %s, begin to drain %s by hand at %s, to have it out at %s.",
		wall(m.GoOnUntilS), sp.Label, wall(m.ActS), wall(m.ActS+u.fig().HandS)) + pushWords(v)
}

func pushWords(v *lab.Outlook) string {
	if v.PushStops == nil {
		return ""
	}
	return fmt.Sprintf(" Push error will be %s.", process.ThirdsRange(process.Range{Best: *v.PushStops, Low: *v.PushLowStops, High: *v.PushHighStops}))
}

func (u *Unit) addBasis(c *runStep, sp *process.Step, v *lab.Outlook, lost time.Time) {
	m, e, a := u.basisOf(c, sp, lost, time.Time{})
	v.Measured, v.Estimated, v.Assumed = append(v.Measured, m...), append(v.Estimated, e...), append(v.Assumed, a...)
}

// outlookResumed is the outlook once the power is back, until the step is over.
func (u *Unit) outlookResumed(c *runStep, sp *process.Step, v *lab.Outlook, now time.Time) bool {
	o := u.lastOutage()
	if o.Advice == "" {
		return false
	}
	v.Action, v.ActAt = o.Advice, nil
	if !o.ActT.IsZero() {
		v.ActAt = lab.AtPtr(u.s.Clock.report(o.ActT))
	}
	if o.Done != nil {
		v.PushStops, v.PushLowStops, v.PushHighStops = new(lab.Round(o.Done.Best, 2)), new(lab.Round(o.Done.Low, 2)), new(lab.Round(o.Done.High, 2))
	}
	u.outlookNow(c, sp, v, now)
	v.Measured, v.Estimated, v.Assumed = append(v.Measured, o.Measured...), append(v.Estimated, o.Estimated...), append(v.Assumed, o.Assumed...)
	v.Text = o.Text
	return true
}

// outlookNow adds the push error if the film were drained now.
func (u *Unit) outlookNow(c *runStep, sp *process.Step, v *lab.Outlook, now time.Time) {
	st := u.filmInBath(c, sp, u.s.Clock.T, false)
	if _, stops, ok := sp.IfDrained(st, now.Sub(u.s.now()).Seconds()); ok {
		v.NowStops = new(lab.Round(stops.Best, 2))
	}
}

// outlookWarm is the outlook for a developer that is off its temperature.
func (u *Unit) outlookWarm(c *runStep, sp *process.Step, v *lab.Outlook, now time.Time) bool {
	t := u.s.Clock.T
	st := u.filmInBath(c, sp, t, false)
	st.Cooling = nil // it is assumed to stay as it is
	adv, ok := sp.Advise(st)
	if !ok {
		return false
	}
	v.Action = adv.Action
	if adv.Pushes {
		v.PushStops, v.PushLowStops, v.PushHighStops = new(lab.Round(adv.DoneStops.Best, 2)), new(lab.Round(adv.DoneStops.Low, 2)), new(lab.Round(adv.DoneStops.High, 2))
	}
	u.outlookNow(c, sp, v, now)
	u.addBasis(c, sp, v, t)
	v.Estimated = append(v.Estimated, "the bath stays as warm as it is now")
	act := t.Add(lab.Seconds(adv.LeftS - u.fig().PressS))
	v.ActAt = lab.AtPtr(u.s.Clock.report(lab.Later(act, t)))
	v.Text = fmt.Sprintf("%s %.1f °C (aim %.1f °C). %s%s\nTime buys back density, not color balance.",
		capital(sp.Label), u.s.Bath.V, sp.AimC, u.actWords(adv, sp, lab.Later(act, t), t), pushWords(v))
	return true
}

// Outlook says what to do with film that stands in a bath in trouble, at a
// moment of the unit's clock; nil where nothing is to be said. quiet: nothing
// is received of the unit though it should be.
func (u *Unit) Outlook(quiet bool, now time.Time) *lab.Outlook {
	if !u.s.running() {
		return nil
	}
	return u.outlook(quiet, now)
}
