package rules

import (
	"fmt"
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// addProjection adds to an alert the push error that the developer will have at
// its end, and what to do when where that is beyond the limits.
func (u *Unit) addProjection(p projection, t time.Time, w *alertContent) {
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
	u.bathAdvice(p, t, w)
}

// correctionLeastS is the smallest correction that is worth a trip to the unit,
// seconds.
const correctionLeastS = 3

// bathAdvice says when to drain, where the sheet's development is reached earlier
// or later than the unit will drain.
func (u *Unit) bathAdvice(p projection, t time.Time, w *alertContent) {
	early := p.leftS - p.endNowBetterS
	if math.Abs(early) < correctionLeastS {
		return
	}
	at := max(p.endNowBetterS, 0)
	w.facts["drain_in_s"] = lab.Round(at, 0)
	w.facts["act_at"] = lab.At(u.s.Clock.report(t.Add(lab.Seconds(at)))).String()
	switch {
	case at == 0:
		w.response = "Drain now: the sheet's development is reached. Then hold the rolls for inspection."
	case early > 0:
		w.response = fmt.Sprintf("At %s press the button to drain (%s early). Check heater and preheat.", u.clockWords(t.Add(lab.Seconds(at))), lab.SpanText(early))
	default:
		w.response = fmt.Sprintf("Set a longer time at the unit now. At %s press the button to drain (%s late). Check heater and preheat.", u.clockWords(t.Add(lab.Seconds(at))), lab.SpanText(early))
	}
	w.harm = "Time buys back density, not color balance."
}

// projection is what a developer will have come to at its end if its temperature
// stays as it is.
type projection struct {
	equivalentS, sheetS, leftS float64
	stops, soFarStops          float64
	pushes                     bool
	beyond                     int
	endNowBetterS              float64 // seconds from now at which the aim's development is reached
	house                      bool
	side                       int     // on which side of the push table it ends, 0 within it
	bound                      float64 // the end of the push table on that side, in stops
}

func moreLess(side int) string {
	if side < 0 {
		return "less"
	}
	return "more"
}

// project carries a developer on at its present temperature to its set end.
func (u *Unit) project(c *runStep, sp *process.Step, v float64, t time.Time) (projection, bool) {
	a := u.aim(c)
	target, ok := sp.TargetS(a)
	if !ok || !c.BathHeard {
		return projection{}, false
	}
	eq, _ := u.equivalentSoFar(c, t, false)
	p := projection{sheetS: target, house: a.HouseS > 0, leftS: u.unitEndsS(c, t)}
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
