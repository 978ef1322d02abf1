package rules

import (
	"fmt"
	"math"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// temp folds readings.
func (f *Unit) temp(m *lab.Temp) {
	s, t := f.s, f.s.Clock.T
	if m.RoomC != nil && *m.RoomC >= f.fig().BelieveLowC && *m.RoomC <= f.fig().BelieveRoomC {
		s.Room = reading{*m.RoomC, t}
	}
	if m.DryerC != nil && *m.DryerC <= f.fig().BelieveDryerC && !f.saysFahrenheit() {
		f.dryer(*m.DryerC, t)
	}
	if m.PreheatC != nil {
		f.preheat(*m.PreheatC, t)
	}
	if m.BathC == nil || s.Phase != lab.PhaseInBath || !s.running() {
		return
	}
	c := s.cur()
	if c == nil || c.ByHand {
		return
	}
	if s.Unsure == longHole { // of which bath, the next step message tells
		if len(s.Waiting) < waitingMax {
			s.Waiting = append(s.Waiting, reading{*m.BathC, t})
		}
		return
	}
	f.bathReading(c, *m.BathC, t)
}

// saysFahrenheit tells whether the unit sent its baths in °F in this run: its
// dryer is no other.
func (f *Unit) saysFahrenheit() bool {
	return f.s.Run != nil && slices.ContainsFunc(f.s.Run.Steps, func(c *runStep) bool { return c.Doubt.Why == doubtFahrenheit })
}

// waitingMax is how many readings wait for a step message at most.
const waitingMax = 64

// waitingReadings takes the readings that came after a hole, once a step
// message has told that they are of the bath that was in before it.
func (f *Unit) waitingReadings() {
	s, c := f.s, f.s.cur()
	if c != nil && s.Phase == lab.PhaseInBath && s.running() {
		for _, r := range s.Waiting {
			if r.T.After(s.PhaseT) {
				f.bathReading(c, r.V, r.T)
			}
		}
	}
	s.Waiting = nil
}

func (f *Unit) bathReading(c *runStep, v float64, t time.Time) {
	s, q := f.s, &f.s.Probe
	if !q.HeardT.IsZero() && !s.BathDue.After(q.HeardT) {
		s.Intervals.add(t.Sub(q.HeardT).Seconds())
	}
	q.HeardT, s.BathDue = t, t
	f.clear(alertKey{rule: RuleReadingMissing, step: c}, t)
	raw := v
	v += f.offsetC(c)
	if why := f.doubts(c, raw, v, t); why != "" {
		f.disbelieved(c, v, t, why)
		return
	}
	f.believed(c, v, t)
	s.Bath = reading{v, t}
	f.ownAim(c, v, t)
	sp := f.spec(c)
	c.Bath.read(t, v, f.conditionsOf(c))
	f.followCooling(v, t)
	f.followMixing(c, v, t)
	f.adviseAgain(c)
	if sp != nil && s.Run.followed() && f.aimKnown(c, sp) && !s.Probe.carried() {
		f.bathTemperature(c, sp, v, t)
	}
}

// bathTemperature judges a bath against the sheet's limits, at each reading:
// by the reading itself, or by a mean where the probe is noisy.
func (f *Unit) bathTemperature(c *runStep, sp *process.Step, v float64, t time.Time) {
	fig, a := f.fig(), alertKey{rule: RuleBathTemperature, step: c}
	q, errC, ok := f.smoothed(sp, v, t)
	if !ok {
		return
	}
	over := outside(q, sp, max(f.bathMarginC(sp), errC))
	f.noteSwing(c, sp, q, over, t)
	if f.open(a) != nil {
		f.followExcursion(a, c, sp, q, over, t)
		return
	}
	holdS := fig.BathHoldS
	if sp.Kind == process.Dev {
		holdS = fig.BathHoldDevS
	}
	settled := c.BathT.Add(lab.Seconds(fig.SettlingS))
	due, proved := f.held("bath:out", over > 0, t, holdS)
	if due.Before(settled) {
		due = settled
	}
	proved = proved && !t.Before(due)
	// far out counts at once, even in the settling time
	far, farProved := f.held("bath:far", over > fig.SettlingExcessC, t, fig.SettlingHoldS)
	if farProved && far.Before(settled) && (!proved || far.Before(due)) {
		due, proved = far, true
	}
	if !proved {
		return
	}
	c.Out, c.OutWarm = true, q > sp.HighC
	c.Outs++
	c.OutMostC = over
	f.drop("bath:in")
	f.raise(a, due, f.bathContent(c, sp, q, t))
}

// followExcursion follows an excursion until the bath has been inside for long
// enough: longer where it swings, and where it comes back again and again by
// no more than the probe trembles, until the bath is done.
func (f *Unit) followExcursion(a alertKey, c *runStep, sp *process.Step, v, over float64, t time.Time) {
	c.OutMostC = max(c.OutMostC, over)
	clearS := f.fig().BathClearS
	if c.Swings {
		clearS = swingS
	}
	if due, proved := f.held("bath:in", over == 0, t, clearS); proved {
		if c.Outs >= 2 && c.OutMostC <= edgeTimes*max(f.s.Probe.Sigma, f.s.Probe.halfStepC()) {
			return
		}
		f.drop("bath:")
		f.clear(a, due)
		return
	}
	if over > 0 {
		f.change(a, f.bathContent(c, sp, v, t), false)
	}
}

const (
	swingS    = 60 // outside on both sides within this is one swinging condition, seconds
	edgeTimes = 4  // an excursion by less than this times the noise is one at the edge
)

// noteSwing notes a bath that is outside on both sides within a minute: its
// heater hunts.
func (f *Unit) noteSwing(c *runStep, sp *process.Step, v, over float64, t time.Time) {
	if over <= 0 || t.Sub(c.BathT) < lab.Seconds(f.fig().SettlingS) {
		return
	}
	mine, other := &c.WarmT, &c.CoolT
	if v < sp.LowC {
		mine, other = other, mine
	}
	*mine = t
	if !other.IsZero() && t.Sub(*other) <= lab.Seconds(swingS) {
		c.Swings = true
	}
}

// bathMarginC is how far outside its limits a bath must be read to be outside:
// half the probe's step, and where no second counts, its noise too.
func (f *Unit) bathMarginC(sp *process.Step) float64 {
	if sp.Kind == process.Dev {
		return f.s.Probe.halfStepC()
	}
	return max(f.s.Probe.halfStepC(), f.s.Probe.Sigma)
}

// outside is how far v lies outside the limits, 0 where that is no more than
// the margin.
func outside(v float64, sp *process.Step, marginC float64) float64 {
	if d := excess(v, sp); d > marginC+1e-9 {
		return d
	}
	return 0
}

// excess is how far v lies outside the limits, 0 inside.
func excess(v float64, sp *process.Step) float64 {
	const tiny = 1e-9
	if d := max(v-sp.HighC, sp.LowC-v); d > tiny {
		return d
	}
	return 0
}

// bathContent words an excursion and gives its priority.
func (f *Unit) bathContent(c *runStep, sp *process.Step, v float64, t time.Time) alertContent {
	off := lab.Round(v-sp.AimC, 2)
	way := "warm"
	if off < 0 {
		way = "cool"
	}
	if c.Swings {
		return f.swingContent(c, sp, v, t)
	}
	w := alertContent{priority: lab.Low, facts: map[string]any{"bath_c": lab.Round(v, 3), "low_c": sp.LowC, "high_c": sp.HighC,
		"aim_c": sp.AimC, "off_c": off, "way": way}}
	if sp.Kind != process.Dev {
		w.message = fmt.Sprintf("%s %.1f °C, %.1f °C too %s (limits %g to %g °C)", capital(sp.Label), v, excess(v, sp), way, sp.LowC, sp.HighC)
		w.response = "Check heater and preheat; look at this step's temperature before the next run."
		w.harm = "Outside its limits this bath works too slowly, or too fast for the emulsion."
		f.judgeCompletion(c, sp, v, t, &w)
		return w
	}
	w.priority = lab.High
	w.message = fmt.Sprintf("%s %.1f °C (aim %.1f °C)", capital(sp.Label), v, sp.AimC)
	if p, ok := f.project(c, sp, v, t); ok {
		f.addProjection(p, t, &w)
	}
	return w
}

// addProjection adds where the developer is heading, and past the edge what to do
// by when.
func (f *Unit) addProjection(p projection, t time.Time, w *alertContent) {
	w.facts["equivalent_end_s"], w.facts["sheet_s"] = lab.Round(p.equivalentS, 1), p.sheetS
	w.facts["ends_in_s"] = lab.Round(max(p.leftS, 0), 0)
	switch {
	case p.pushes && p.side != 0:
		w.facts["beyond_table"] = p.side
		w.message += fmt.Sprintf(", ends %s than %s", moreLess(p.side), process.Stops(p.bound))
	case p.pushes:
		w.facts["push_error_end_stops"], w.facts["push_error_so_far_stops"] = lab.Round(p.stops, 2), lab.Round(p.soFarStops, 2)
		w.message += fmt.Sprintf(", ends %s", process.ThirdsShort(p.stops))
	default:
		of := "the sheet"
		if p.house {
			of = "the house aim"
		}
		w.message += fmt.Sprintf(", ends %+.0f %% against %s", 100*(p.equivalentS/p.sheetS-1), of)
	}
	if p.beyond > 0 {
		w.priority = lab.Urgent
	}
	f.bathAdvice(p, t, w)
}

// correctionLeastS is the smallest correction that is worth a hand on the unit, seconds.
const correctionLeastS = 3

// bathAdvice says by when the sheet's development is reached, where that is
// not when the unit will drain.
func (f *Unit) bathAdvice(p projection, t time.Time, w *alertContent) {
	early := p.leftS - p.endNowBetterS
	if math.Abs(early) < correctionLeastS {
		return
	}
	at := max(p.endNowBetterS, 0)
	w.facts["drain_in_s"] = lab.Round(at, 0)
	w.facts["act_at"] = lab.At(f.s.Clock.report(t.Add(lab.Seconds(at)))).String()
	switch {
	case at == 0:
		w.response = "Drain now: the sheet's development is reached. Then hold the rolls for inspection."
	case early > 0:
		w.response = fmt.Sprintf("At %s press the button to drain (%s early). Check heater and preheat.", f.clockWords(t.Add(lab.Seconds(at))), lab.SpanText(early))
	default:
		w.response = fmt.Sprintf("Set a longer time at the unit now. At %s press the button to drain (%s late). Check heater and preheat.", f.clockWords(t.Add(lab.Seconds(at))), lab.SpanText(early))
	}
	w.harm = "Time buys back density, not color balance."
}

// projection is where a developer ends if it stays as it is.
type projection struct {
	equivalentS, sheetS, leftS float64
	stops, soFarStops          float64
	pushes                     bool
	beyond                     int
	endNowBetterS              float64 // seconds from now at which the aim's development is reached
	house                      bool
	side                       int     // beyond the push table
	bound                      float64 // and what the push error is beyond, then
}

func moreLess(side int) string {
	if side < 0 {
		return "less"
	}
	return "more"
}

// project carries a developer on at its present temperature to its set end.
func (f *Unit) project(c *runStep, sp *process.Step, v float64, t time.Time) (projection, bool) {
	a := f.aim(c)
	target, ok := sp.TargetS(a)
	if !ok || !c.BathHeard {
		return projection{}, false
	}
	eq, _ := f.soFar(c, t, false)
	p := projection{sheetS: target, house: a.HouseS > 0, leftS: f.unitEndsS(c, t)}
	inS := t.Sub(c.fromT()).Seconds()
	if p.leftS < 0 {
		p.leftS = max(target-inS, 0)
	}
	rate := sp.Rates(v).Best
	p.equivalentS = eq.Best + p.leftS*rate
	p.stops, p.pushes = sp.Stops(p.equivalentS, a)
	if p.side = sp.Side(p.equivalentS, a); p.side != 0 {
		p.bound = sp.Bound(p.side, a)
	}
	p.soFarStops, _ = sp.Stops(target+eq.Best-inS, a)
	p.beyond = sp.Off(p.equivalentS, a)
	p.endNowBetterS = (target - eq.Best) / rate
	return p, true
}

// bathEnds closes the integral of a bath at its end.
func (f *Unit) bathEnds(c *runStep, t time.Time) {
	f.endDoubt(c, t)
	c.Bath.finish(t, f.conditionsOf(c))
}

// readingLimitS is how long a reading of the bath may stay away, seconds.
func (f *Unit) readingLimitS() float64 {
	fig := f.fig()
	return max(fig.ReadingMissingS, fig.ReadingMissingIntervals*f.usualIntervalS())
}

// slowestReadS is the slowest reading that a unit is expected to be capable of
// while it has not shown how often it reads, seconds: common practice, no
// source.
const slowestReadS = 30

// usualIntervalS is the time between this unit's readings of a bath: until
// three are known the longest of them, with one reading alone as slow as units
// are; 0 where it never read any.
func (f *Unit) usualIntervalS() float64 {
	switch n := len(f.s.Intervals); {
	case n >= 3:
		return f.s.Intervals.median()
	case n > 0:
		return f.s.Intervals.most()
	case !f.s.Probe.HeardT.IsZero():
		return slowestReadS
	}
	return 0
}

// readingDue raises reading-missing once a message of the same boot proves
// that no reading came in time. Readings that a hole may have swallowed are
// not missed.
func (f *Unit) readingDue(t time.Time, m *lab.Message) {
	s, c := f.s, f.s.cur()
	if !f.followed() || s.Phase != lab.PhaseInBath || c == nil || c.ByHand {
		return
	}
	if s.GapNow || s.GapBoot || s.Unsure == shortHole { // perhaps it drains already
		s.BathDue = t // start anew
		return
	}
	if s.Unsure == longHole {
		return // perhaps there is no bath any more
	}
	a := alertKey{rule: RuleReadingMissing, step: c}
	if f.open(a) != nil {
		return
	}
	limit := f.readingLimitS()
	due := lab.Later(s.PhaseT, s.BathDue).Add(lab.Seconds(limit))
	if !t.After(due) {
		return
	}
	c.NoReading = true
	w := alertContent{priority: lab.High, message: fmt.Sprintf("No bath temperature in %s for %s", StepWords(c.ID), lab.SpanText(limit)),
		facts: map[string]any{"for_s": limit}}
	if sp := f.spec(c); sp != nil && sp.Kind == process.Dev {
		w.priority = lab.Urgent
	}
	f.raise(a, due, w)
}
