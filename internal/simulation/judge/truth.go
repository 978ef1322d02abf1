package judge

import (
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
)

// stepTruth is what happened in one step, from the trace of the film.
type stepTruth struct {
	sim.StepTruth
	sheet           *process.Step
	sheetS          float64 // the sheet's time for what the run was set to
	houseS          float64 // the lab's own aim for it, 0: none
	wet             []sim.FilmMoment
	tickS           float64
	drainedS        float64   // seconds of liquid on the film beyond a usual draining
	drainC          float64   // mean temperature meanwhile
	filledS         float64   // seconds of filling beyond a usual one
	outside         excursion // outside the limits
	longestStillS   float64   // longest time that it stood still, s
	withoutReadingS float64   // longest time without a reading that arrived, s
	edgeLost        bool      // messages around its beginning or end did not arrive
}

// excursion tells whether a step left its limits for as long as the rules wait:
// for certain, or possibly.
type excursion struct{ certain, possible bool }

// steps works out the truth of each step of a run.
func (p *playedScenario) steps(t *sim.RunTruth) []stepTruth {
	sheet, _ := process.Builtin().Sheet(t.Process)
	var out []stepTruth
	for _, s := range t.Steps {
		st, ok := sheet.Step(s.Step)
		if !ok {
			continue
		}
		x := stepTruth{StepTruth: s, sheet: st}
		x.sheetS, _ = st.TimeFor(t.Push, s.ControllerSetS)
		if h := p.house; h != nil && h.Step == s.Step && h.Process == t.Process && h.Push == t.Push {
			x.houseS = h.EquivalentS
		}
		p.collectWet(&x, t)
		p.excursions(&x)
		p.evidence(&x, t)
		out = append(out, x)
	}
	return out
}

const tickS = 0.5 // the simulator's step of time, s

// collectWet collects the steps of time with liquid on the film within the step,
// and what of them was a slow filling or draining.
func (p *playedScenario) collectWet(x *stepTruth, t *sim.RunTruth) {
	var drain, fill, run, sumC, over float64
	for _, m := range t.Trace {
		if m.N != x.N {
			continue
		}
		if m.Phase == lab.PhaseFilling && x.sheet.Kind == process.Dev && m.Litres > 0 {
			fill += tickS
		}
		if m.Litres <= 0 || !m.At.After(x.InBath) {
			run = 0
			continue
		}
		if m.Phase == lab.PhaseDraining && (x.Drained.IsZero() || m.At.After(x.Drained)) {
			if drain += tickS; drain > p.usualDrainS() {
				over += tickS
				sumC += m.C * tickS
			}
			continue
		}
		x.wet = append(x.wet, m)
		if run += tickS; m.RPM >= 5 || m.ByHand {
			run = 0
		}
		x.longestStillS = max(x.longestStillS, run)
	}
	x.drainedS, x.filledS = over, max(0, fill-0.5/p.traits.FillLS-1.5)
	if over > 0 {
		x.drainC = sumC / over
	}
}

func (p *playedScenario) usualDrainS() float64 { return 0.5/p.traits.DrainLS + 1 }

// correction is what the lab adds to what the probe shows.
func (p *playedScenario) correction() float64 {
	if p.probe != nil {
		return p.probe.OffsetC
	}
	return 0
}

// probeWithinC is how far the probe may then still be off, °C.
func (p *playedScenario) probeWithinC() float64 {
	if p.house != nil {
		return 0.1 // only the drift since
	}
	if p.probe != nil {
		return *p.probe.UncertaintyC
	}
	return 0.30 + 0.005*38 // IEC 60751, class B
}

// By whose reading a time is worked out.
const (
	byFilm  = iota // what the film really got
	byProbe        // what a perfect reading of the probe gives, corrected as the lab says
)

func (p *playedScenario) at(m sim.FilmMoment, by int) float64 {
	if by == byFilm {
		return m.C
	}
	return m.ProbeC + p.correction()
}

// equivalentS is the integral of the sheet's definition over the trace. more
// is added to each temperature.
func (p *playedScenario) equivalentS(x *stepTruth, by int, factor, more float64) float64 {
	sum := 0.0
	for _, m := range x.wet {
		sum += tickS * math.Pow(factor, (p.at(m, by)+more-x.sheet.AimC)/10)
	}
	return sum + x.drainedS*math.Pow(factor, (x.drainC+more-x.sheet.AimC)/10)
}

// aimS is the equivalent time that was aimed at.
func (x *stepTruth) aimS() float64 {
	if x.houseS > 0 {
		return x.houseS
	}
	return x.sheetS
}

// The rules' holds, by the contract, and how surely they must be met.
const (
	settlingS = 30
	holdDevS  = 3
	holdS     = 15
	grayS     = 6    // two readings further
	grayC     = 0.07 // three deviations of the noise of a reading
)

// excursions finds whether the step left its limits for longer than the hold.
func (p *playedScenario) excursions(x *stepTruth) {
	hold := float64(holdS)
	if x.sheet.Kind == process.Dev {
		hold = holdDevS
	}
	x.outside = excursion{
		certain:  p.beyond(x, grayC, hold+grayS, settlingS+grayS) || p.settles(x, 1+grayC, 10+grayS),
		possible: p.beyond(x, -grayC/2, hold-1, settlingS) || p.settles(x, 1-grayC, 9),
	}
}

// beyond tells whether the bath was outside its limits by more than c for
// longer than hold, past the settling time of its fill.
func (p *playedScenario) beyond(x *stepTruth, c, hold, settling float64) bool {
	var in, run float64
	var last time.Time
	for _, m := range x.wet {
		if m.At.Sub(last) > 2*time.Second {
			in, run = 0, 0 // another fill
		}
		last = m.At
		in += tickS
		v := p.at(m, byProbe)
		if v < x.sheet.LowC-c || v > x.sheet.HighC+c {
			run += tickS
		} else {
			run = 0
		}
		if run >= hold && in >= settling {
			return true
		}
	}
	return false
}

// settles tells whether the bath was further out than c in the settling time.
func (p *playedScenario) settles(x *stepTruth, c, hold float64) bool {
	run := 0.0
	for _, m := range x.wet {
		if m.At.Sub(x.InBath).Seconds() > settlingS {
			break
		}
		if v := p.at(m, byProbe); v < x.sheet.LowC-c || v > x.sheet.HighC+c {
			run += tickS
		} else {
			run = 0
		}
		if run >= hold {
			return true
		}
	}
	return false
}

// evidence finds which messages of the step did not arrive.
func (p *playedScenario) evidence(x *stepTruth, t *sim.RunTruth) {
	from, to := x.InBath, x.Drained
	if to.IsZero() {
		to = t.Ended
	}
	last := from
	for _, s := range t.Sent {
		heard := p.replay.arrived[messageKey{s.Boot, s.Seq}]
		if !heard && (withinASecond(s.At, from) || withinASecond(s.At, to)) {
			x.edgeLost = true
		}
		if !heard || !s.Bath || s.At.Before(from) || s.At.After(to) {
			continue
		}
		x.withoutReadingS = max(x.withoutReadingS, s.At.Sub(last).Seconds())
		last = s.At
	}
	x.withoutReadingS = max(x.withoutReadingS, to.Sub(last).Seconds())
}

func withinASecond(a, b time.Time) bool { return a.Sub(b).Abs() < time.Second }
