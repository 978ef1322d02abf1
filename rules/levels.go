package rules

import (
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/rules/level"
)

// What is held true of pumps, probes and a person's eye before they have shown
// themselves. Common practice, no source.
const (
	pumpGainShare = 0.05  // a pump's volumes, all of them alike
	pumpOwnL      = 0.02  // a single fill: 10 to 40 mL stay on reels and film (from memory)
	pumpWears     = 0.002 // by what share its measure may change from one fill to the next
	gainLeast     = 0.015 // better than that no pump is known: what comes and goes beside it looks like its error
	probeShare    = 0.01  // a probe's offset, of the capacity
	probeLeastL   = 0.03  // and at least
	probeNoiseL   = 0.03  // a probe's noise, before it is known
	probeFinestL  = 0.01  // no probe is finer
	readOffL      = 0.15  // a level that a person read off
	emptyL        = 0.1   // what is left in a container that was emptied
	filledShare   = 0.02  // how full one is that was filled up, of the capacity
	driftL        = 0.05  // by how much a level may change in driftS by what is no pump: poured, evaporated, leaked
	driftS        = 30
	driftMostS    = 3600
	unreadLH      = 0.02 // the same within an hour where no probe reads: evaporation alone
	unheardL      = 0.5  // what may have been pumped of which nothing is known
	surprising    = 3    // standard deviations beyond which a reading shows more than noise
	doubtful      = 2.5  // the same, between what a person read off and what the probe makes believe
	olderStateL   = 0.3  // how far a level may be off that was stored before there were estimates
)

// noiseL is the noise of the container's probe, as it has shown itself.
func (t *tank) noiseL() float64 {
	if len(t.Diffs) < noiseLeast {
		return probeNoiseL
	}
	return max(t.Diffs.sigma(), probeFinestL)
}

// offsetL is how far a probe may read wrong that nobody has checked.
func offsetL(capacity float64) float64 { return max(probeShare*capacity, probeLeastL) }

// best is the best value of the level.
func (t *tank) best() float64 { return max(0, t.Est.L) }

// estimated gives the estimate, begun from the level as it was stored where that
// is from before there were estimates.
func (t *tank) estimated(capacity float64, now time.Time) *level.Estimate {
	if !t.Est.Known() && t.Known {
		t.Est, t.EstT = level.Begin(t.Level, olderStateL, pumpGainShare, offsetL(capacity)), now
		if h := t.Measured; h.counts() && h.Sensor {
			t.Est.Offset = h.SensorL - h.L
		}
	}
	return &t.Est
}

// begin begins the estimate anew; what was learned of the pump stays.
func (t *tank) begin(e level.Estimate, now time.Time) {
	if t.Est.Var.GG > 0 {
		e.Gain, e.Var.GG = t.Est.Gain, t.Est.Var.GG
	}
	t.Est, t.EstT, t.Odd, t.PumpedL = e, now, reading{}, 0
}

// beginByProbe begins the estimate anew by what the probe reads.
func (t *tank) beginByProbe(l, capacity float64, now time.Time) {
	t.begin(level.BeginAt(l, t.noiseL(), pumpGainShare, offsetL(capacity)), now)
}

// arrivesAs says how a reading of a level comes.
type arrivesAs struct {
	pumped bool // something may have been pumped since the last one
	moving bool // a pump moves the level now: it only shows where it is on the way
	into   bool // pumps only fill this container; they only draw from any other
}

// follow takes a reading of the probe into the estimate.
func (t *tank) follow(l, capacity float64, now time.Time, as arrivesAs) {
	e := t.estimated(capacity, now)
	switch {
	case !e.Known():
		t.beginByProbe(l, capacity, now)
	case t.Still.Stuck:
		// the level is counted
	case as.moving:
		t.Level = max(0, l-e.Offset)
		return
	case t.isOdd(l, now, as):
		t.Odd = reading{l, now}
		t.Level = max(0, l-e.Offset) // so it is, if the next one agrees
		return
	default:
		t.correct(l, capacity, now, as)
	}
	t.Level = t.best()
}

// isOdd tells whether a reading shows for the first time what no pump and no leak
// can have done: the container is carried, or people emptied it. The next reading
// tells which.
func (t *tank) isOdd(l float64, now time.Time, as arrivesAs) bool {
	byPeople := !as.pumped || (l < t.HeardL) == as.into // no pump takes out of a waste container
	return !t.Odd.known() && !t.HeardT.IsZero() && byPeople && t.peopleMoved(l, now) && math.Abs(t.Est.Surprise(l, t.noiseL())) > surprising
}

// handled tells whether a reading that surprises by off shows what people did:
// where it came twice with no pump running, or goes against the pump by more than
// the pump moved.
func (t *tank) handled(off float64, as arrivesAs) bool {
	against := (off < 0) == as.into && math.Abs(off) > math.Abs(t.PumpedL)+2*balancePeopleL
	return t.Odd.known() && (!as.pumped || against) || as.pumped && against
}

// correct is the filter's step for a reading. One that is far from what was
// expected shows liquid that came or went: the level goes there, and nothing is
// learned from it of pump and probe.
func (t *tank) correct(l, capacity float64, now time.Time, as arrivesAs) {
	e, noise := &t.Est, t.noiseL()
	since := min(max(now.Sub(t.EstT).Seconds(), 0), driftMostS)
	e.Pass(driftL * driftL * since / driftS)
	if math.Abs(e.Surprise(l, noise)) > surprising {
		off := l - e.L - e.Offset
		if t.handled(off, as) {
			t.noteMoved(l-e.Offset, now)
			t.Share.Spoiled = true
			if h := t.Measured; h.counts() {
				h.EndT, h.Why = now, lab.MeasuredEndedMoved
				t.beginByProbe(l, capacity, now)
				return
			}
		}
		e.Pass(off * off)
	}
	e.Probe(l, noise)
	t.EstT, t.Odd, t.PumpedL = now, reading{}, 0
}

// pump counts a fill or drain that ended; l is below zero for what was drawn.
func (t *tank) pump(l, capacity float64, now time.Time) {
	e := t.estimated(capacity, now)
	if !e.Known() {
		return
	}
	t.passUnread(now)
	e.Pump(l, pumpOwnL)
	e.Wear(pumpWears)
	t.Level = t.best()
}

// passUnread lets time pass over a level that no probe reads.
func (t *tank) passUnread(now time.Time) {
	if since := now.Sub(t.EstT); since > 0 && !t.sensorFresh(now) {
		t.Est.Pass(unreadLH * unreadLH * since.Hours())
		t.EstT = now
	}
}

// stated takes a level that a person read off. Where it parts from what the probe
// makes believe, the probe is doubted: it reads wrong by so much from then on.
func (t *tank) stated(l, capacity float64, now time.Time) {
	e := t.estimated(capacity, now)
	if !e.Known() || !t.sensorFresh(now) {
		t.begin(level.Begin(l, readOffL, pumpGainShare, offsetL(capacity)), now)
	} else {
		if off := l - e.L; math.Abs(off) > doubtful*math.Hypot(e.Spread(), readOffL) {
			e.Doubt(10 * off)
		}
		e.Stated(l, readOffL)
		t.Odd = reading{}
	}
	t.Level = t.best()
}
