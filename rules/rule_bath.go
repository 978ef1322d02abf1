package rules

import (
	"fmt"
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// temp folds readings.
func (f *fold) temp(m *lab.Temp) {
	s, t := f.s, f.s.Clock.T
	if m.RoomC != nil {
		s.Room = reading{*m.RoomC, t}
	}
	if m.DryerC != nil {
		f.dryer(*m.DryerC, t)
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

// waitingMax is how many readings wait for a step message at most.
const waitingMax = 64

// waitingReadings takes the readings that came after a hole, once a step
// message has told that they are of the bath that was in before it.
func (f *fold) waitingReadings() {
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

func (f *fold) bathReading(c *stepRec, v float64, t time.Time) {
	s := f.s
	if s.Bath.known() && !s.BathDue.After(s.Bath.T) {
		s.Intervals.add(t.Sub(s.Bath.T).Seconds())
	}
	v += s.Run.Fig.offsetC()
	s.Bath, s.BathDue = reading{v, t}, t
	f.clear(about{rule: RuleReadingMissing, step: c}, t)
	sp := f.spec(c)
	c.Bath.read(t, v, f.env(c))
	f.followCooling(v, t)
	f.adviseAgain(c)
	if sp != nil && s.Run.film() {
		f.bathTemperature(c, sp, v, t)
	}
}

// bathTemperature judges one reading of a bath against the sheet's limits.
func (f *fold) bathTemperature(c *stepRec, sp *process.Step, v float64, t time.Time) {
	fig, a := f.fig(), about{rule: RuleBathTemperature, step: c}
	over := excess(v, sp)
	if f.open(a) != nil {
		f.bathGoesOn(a, c, sp, v, over, t)
		return
	}
	holdS := fig.BathHoldS
	if sp.Kind == process.Dev {
		holdS = fig.BathHoldDevS
	}
	settled := c.BathT.Add(sec(fig.SettlingS))
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
	c.Out, c.OutWarm = true, v > sp.HighC
	f.drop("bath:in")
	f.raise(a, due, f.bathSays(c, sp, v, t))
}

// bathGoesOn follows an excursion until the bath has been inside for long enough.
func (f *fold) bathGoesOn(a about, c *stepRec, sp *process.Step, v, over float64, t time.Time) {
	due, proved := f.held("bath:in", over == 0, t, f.fig().BathClearS)
	if proved {
		f.drop("bath:")
		f.clear(a, due)
		return
	}
	if over > 0 {
		f.change(a, f.bathSays(c, sp, v, t), false)
	}
}

// excess is how far v lies outside the limits, 0 inside.
func excess(v float64, sp *process.Step) float64 {
	const tiny = 1e-9
	if d := max(v-sp.HighC, sp.LowC-v); d > tiny {
		return d
	}
	return 0
}

// bathSays words an excursion and gives its priority.
func (f *fold) bathSays(c *stepRec, sp *process.Step, v float64, t time.Time) say {
	off := round(v-sp.AimC, 2)
	way := "warm"
	if off < 0 {
		way = "cool"
	}
	w := say{priority: lab.Low, facts: map[string]any{"bath_c": round(v, 3), "low_c": sp.LowC, "high_c": sp.HighC,
		"aim_c": sp.AimC, "off_c": off, "way": way}}
	if sp.Kind != process.Dev {
		w.message = fmt.Sprintf("%s %.1f °C too %s: %.1f °C, limits %g to %g", capital(sp.Label), excess(v, sp), way, v, sp.LowC, sp.HighC)
		w.response = "Check heater and preheat; look at this step's temperature before the next run."
		w.harm = "Outside its limits this bath works too slowly, or too fast for the emulsion."
		return w
	}
	w.priority = lab.High
	w.message = fmt.Sprintf("%s %.1f °C %s", capital(sp.Label), math.Abs(off), way)
	if p, ok := f.project(c, sp, v, t); ok {
		f.bathHeads(p, t, &w)
	}
	return w
}

// bathHeads adds where the developer is heading, and past the edge what to do
// by when.
func (f *fold) bathHeads(p projection, t time.Time, w *say) {
	w.facts["equivalent_end_s"], w.facts["sheet_s"] = round(p.equivalentS, 1), p.sheetS
	w.facts["ends_in_s"] = round(max(p.leftS, 0), 0)
	if p.pushes {
		w.facts["push_error_end_stops"], w.facts["push_error_so_far_stops"] = round(p.stops, 2), round(p.soFarStops, 2)
		w.message += fmt.Sprintf(", so far %+.2f, heading %+.2f stop", p.soFarStops, p.stops)
	} else {
		of := "the sheet"
		if p.house {
			of = "the house aim"
		}
		w.message += fmt.Sprintf(", heading %+.0f %% of %s", 100*(p.equivalentS/p.sheetS-1), of)
	}
	if p.beyond > 0 {
		w.priority = lab.Urgent
	}
	f.bathAdvice(p, t, w)
}

// worthS is the smallest correction that is worth a hand on the unit, seconds.
const worthS = 3

// bathAdvice says by when the sheet's development is reached, where that is
// not when the unit will drain.
func (f *fold) bathAdvice(p projection, t time.Time, w *say) {
	early := p.leftS - p.endNowBetterS
	if math.Abs(early) < worthS {
		return
	}
	at := max(p.endNowBetterS, 0)
	w.facts["drain_in_s"] = round(at, 0)
	w.facts["act_at"] = lab.At(f.s.Clock.report(t.Add(sec(at)))).String()
	switch {
	case at == 0:
		w.response = "Drain now: the sheet's development is reached. Then hold the rolls to inspect."
	case early > 0:
		w.response = fmt.Sprintf("Drain %s early if it stays so. Check heater and preheat.", span(early))
	default:
		w.response = fmt.Sprintf("Drain %s late if it stays so. Check heater and preheat.", span(early))
	}
	w.harm = "Time buys back density, not the balance of the layers."
}

// projection is where a developer ends if it stays as it is.
type projection struct {
	equivalentS, sheetS, leftS float64
	stops, soFarStops          float64
	pushes                     bool
	beyond                     int
	endNowBetterS              float64 // seconds from now at which the aim's development is reached
	house                      bool
}

// project carries a developer on at its present temperature to its set end.
func (f *fold) project(c *stepRec, sp *process.Step, v float64, t time.Time) (projection, bool) {
	a := f.aim(c)
	target, ok := sp.TargetS(a)
	if !ok || !c.BathHeard {
		return projection{}, false
	}
	eq, _ := f.soFar(c, t, false)
	p := projection{sheetS: target, house: a.HouseS > 0, leftS: f.unitEndsS(c, t)}
	inS := t.Sub(c.BathT).Seconds()
	if p.leftS < 0 {
		p.leftS = max(target-inS, 0)
	}
	rate := sp.Rates(v).Best
	p.equivalentS = eq.Best + p.leftS*rate
	p.stops, p.pushes = sp.Stops(p.equivalentS, a)
	p.soFarStops, _ = sp.Stops(target+eq.Best-inS, a)
	p.beyond = sp.Off(p.equivalentS, a)
	p.endNowBetterS = (target - eq.Best) / rate
	return p, true
}

// bathEnds closes the integral of a bath at its end.
func (f *fold) bathEnds(c *stepRec, t time.Time) {
	c.Bath.finish(t, f.env(c))
}

// readingLimitS is how long a reading of the bath may stay away, seconds.
func (f *fold) readingLimitS() float64 {
	fig := f.fig()
	return max(fig.ReadingMissingS, fig.ReadingMissingIntervals*f.s.Intervals.median())
}

// readingDue raises reading-missing once a message of the same boot proves
// that no reading came in time. Readings that a hole may have swallowed are
// not missed.
func (f *fold) readingDue(t time.Time, m *lab.Message) {
	s, c := f.s, f.s.cur()
	if !f.judged() || s.Phase != lab.PhaseInBath || c == nil || c.ByHand {
		return
	}
	if s.GapNow || s.GapBoot {
		s.BathDue = t // start anew
		return
	}
	if s.Unsure == longHole {
		return // perhaps there is no bath any more
	}
	a := about{rule: RuleReadingMissing, step: c}
	if f.open(a) != nil {
		return
	}
	limit := f.readingLimitS()
	due := maxTime(s.PhaseT, s.BathDue).Add(sec(limit))
	if !t.After(due) {
		return
	}
	c.NoReading = true
	w := say{priority: lab.High, message: fmt.Sprintf("No bath temperature in %s for %s", stepWords(c.ID), span(limit)),
		facts: map[string]any{"for_s": limit}}
	if sp := f.spec(c); sp != nil && sp.Kind == process.Dev {
		w.priority = lab.Urgent
	}
	f.raise(a, due, w)
}

// dryer judges one reading of the dryer.
func (f *fold) dryer(v float64, t time.Time) {
	sh, fig := f.sheet(), f.fig()
	if sh == nil || sh.DryMaxC == 0 || !f.judged() {
		return
	}
	a := about{rule: RuleDryerTemperature, run: true}
	due, proved := f.held("dryer", v > sh.DryMaxC, t, fig.DryerHoldS)
	if v <= sh.DryMaxC {
		f.clear(a, t)
	}
	if !proved || f.open(a) != nil {
		return
	}
	f.s.Run.DryerHot = true
	f.raise(a, due, say{priority: lab.High,
		message: fmt.Sprintf("Dryer at %.0f °C, at most %.0f °C for %s", v, sh.DryMaxC, sh.Name),
		facts:   map[string]any{"dryer_c": round(v, 1), "max_c": sh.DryMaxC}})
}

// motion judges one reading of the rotation.
func (f *fold) motion(m *lab.Motion) {
	s, c, t := f.s, f.s.cur(), f.s.Clock.T
	if m.RPM == nil {
		return
	}
	s.RPM = reading{*m.RPM, t}
	if !f.judged() || s.Phase != lab.PhaseInBath || c == nil || c.ByHand || s.Unsure == longHole {
		return
	}
	fig, a := f.fig(), about{rule: RuleRotationStopped, step: c}
	sp := f.spec(c)
	dev := sp != nil && sp.Kind == process.Dev
	holdS := fig.RotationHoldS
	if dev {
		holdS = fig.RotationHoldDevS
	}
	due, proved := f.held("rotation", *m.RPM < fig.RotationRPM, t, holdS)
	switch {
	case *m.RPM >= fig.RotationRPM:
		if n := len(c.Still); n > 0 && c.Still[n-1].To.IsZero() {
			c.Still[n-1].To = t
		}
		f.clear(a, t)
	case proved && sp != nil && f.open(a) == nil:
		c.NoRotation = true
		c.Still = lastOf(append(c.Still, byHand{From: due.Add(-sec(holdS))}), stillKept)
		w := say{priority: lab.Low, message: fmt.Sprintf("The tank stands still in %s", sp.Label),
			facts: map[string]any{"rpm": round(*m.RPM, 1)}}
		if dev {
			w.priority = lab.Urgent
		}
		f.raise(a, due, w)
	}
}
