package judge

import (
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
)

// judgedAdvice sets the advice on one outage in a developer beside the physics.
type judgedAdvice struct {
	Step    string
	Kind    string  // battery or restart
	Known   bool    // the unit's cooling was seen before
	Word    string  // what was advised
	Right   bool    // the word fits
	OffS    float64 // advised less best moment to drain, s
	Costs   float64 // what following it costs against the best, stops
	Missing bool    // no advice, or none in seconds
	Text    string
}

// judgeAdvice judges the advice on each outage of the run from which the film
// came back in a developer that was still in the tank.
func (p *playedScenario) judgeAdvice(t *sim.RunTruth, steps []stepTruth, run *lab.Run) []judgedAdvice {
	var out []judgedAdvice
	for _, f := range p.faults {
		if f.Run != t.Run || f.Fault.Kind != sim.PowerCut && f.Fault.Kind != sim.Restart || f.To.IsZero() {
			continue
		}
		for i := range steps {
			x := &steps[i]
			inside := x.sheet.Kind == process.Dev && f.From.After(x.InBath) && (x.Drained.IsZero() || f.To.Before(x.Drained))
			if inside && !x.ByHand {
				out = append(out, p.adviceOn(x, f, run))
			}
		}
	}
	return out
}

func (p *playedScenario) adviceOn(x *stepTruth, f sim.FaultTruth, run *lab.Run) judgedAdvice {
	a := judgedAdvice{Step: x.Step, Known: p.known, Missing: true}
	o := outageAt(p.replay.advice[run.ID], f.To)
	if o == nil {
		return a
	}
	a.Kind, a.Word, a.Text = o.Kind, o.Advice, o.Text
	best := p.bestDrain(x, f.To)
	own := x.Drained // where the unit itself drained
	a.Right = wordFits(o.Advice, x, best, own, f.To, p.endStops(x, f.To.Add(seconds(process.ReactS))))
	if o.AdvisedRemainingS == nil || o.BackAt == nil {
		return a
	}
	a.Missing = false
	at := f.To.Add(seconds(*o.AdvisedRemainingS))
	a.OffS = at.Sub(best).Seconds()
	a.Costs = math.Abs(p.endStops(x, at)) - math.Abs(p.endStops(x, best))
	return a
}

// outageAt finds what was advised on an outage by when the power came back.
func outageAt(given []firstAdvice, to time.Time) *lab.Outage {
	var best *lab.Outage
	for i := range given {
		o := &given[i].Outage
		off := o.BackAt.Sub(to).Abs()
		if best == nil || off < best.BackAt.Sub(to).Abs() {
			best = o
		}
	}
	return best
}

// bestDrain is when the film would have had the sheet's time at the sheet's
// temperature, by what the bath really did; at the soonest when the power is
// back.
func (p *playedScenario) bestDrain(x *stepTruth, back time.Time) time.Time {
	sum, rate, at := 0.0, 1.0, x.InBath
	for _, m := range x.wet {
		rate = math.Pow(x.sheet.Factor.Best, (p.at(m, byProbe)-x.sheet.AimC)/10)
		if sum += tickS * rate; sum >= x.aimS() {
			if m.At.Before(back) {
				return back
			}
			return m.At
		}
		at = m.At
	}
	// The unit drained before: what it held goes on.
	return at.Add(seconds((x.aimS() - sum) / rate))
}

// endStops is the push error of draining at a moment; for a developer that
// does not push, half a minute counts as a stop: what a stop is in C-41.
func (p *playedScenario) endStops(x *stepTruth, at time.Time) float64 {
	sum, rate, last := 0.0, 1.0, x.InBath
	for _, m := range x.wet {
		if m.At.After(at) {
			break
		}
		rate = math.Pow(x.sheet.Factor.Best, (p.at(m, byProbe)-x.sheet.AimC)/10)
		sum += tickS * rate
		last = m.At
	}
	sum += max(0, at.Sub(last).Seconds()) * rate
	if x.sheet.Push == nil {
		return (sum - x.sheetS) / 30
	}
	v, _ := x.stops(sum, p.push)
	return v
}

// wordFits tells whether the advice says what the physics does: to go on
// where the unit's own end is within the tolerance of the best, else sooner
// or later; giving up only where more than the second edge is already gone.
func wordFits(word string, x *stepTruth, best, own, back time.Time, soonest float64) bool {
	short, over := x.sheet.Tolerance(x.sheetS)
	off := own.Sub(best).Seconds() // beyond the best, left to itself
	const gray = 4
	switch word {
	case "continue": // or the unit ends it before a person could
		return off > -short-gray && (off < over+gray || own.Sub(back).Seconds() < process.ReactS+gray)
	case "shorten":
		return off > -gray
	case "extend":
		return off < gray
	case "discard":
		return !best.After(back) && x.pastOut(soonest)
	}
	return false
}

// pastOut tells whether a push error, or what stands for it, is past the
// second edge or on it.
func (x *stepTruth) pastOut(stops float64) bool {
	if e := x.sheet.Edges; e.Ratio {
		return stops > e.OutOver*x.sheetS/30-2*edgeStops
	}
	return stops > x.sheet.Edges.OutStops-edgeStops
}
