package process

import (
	"fmt"
	"math"
)

// CoolingCurve is a stretch in which nothing heated the tank: readings of the
// liquid, and the temperature of its room.
type CoolingCurve struct {
	Points []CoolingPoint
	Room   Range // Exactly where it was measured
}

// CoolingPoint is one reading, S seconds after the first.
type CoolingPoint struct{ S, C float64 }

// CoolingFit is the time constant of one curve, with the standard error of
// its logarithm.
type CoolingFit struct {
	TauS  float64 `json:"tau_s"`
	Error float64 `json:"error"`
}

// What a curve must show before it says anything: readings, seconds, °C that
// it starts from its room and °C that it comes closer, and the error of the
// time constant's logarithm. The lab's choice, common practice, no source.
const (
	fitPoints = 8
	fitSpanS  = 60
	fitAwayC  = 3
	fitFallC  = 0.5
	fitError  = 0.25
)

// Fit finds the curve's time constant: a straight line through the logarithm
// of the distance from the room, each reading weighted by the square of that
// distance since the same error of the thermometer weighs more when near.
func (c CoolingCurve) Fit() (CoolingFit, error) {
	best, err := c.fit(c.Room.Best)
	if err != nil {
		return best, err
	}
	for _, room := range []float64{c.Room.Low, c.Room.High} {
		if room == c.Room.Best {
			continue
		}
		other, err := c.fit(room)
		if err != nil {
			return best, fmt.Errorf("the room is not known well enough (%.1f to %.1f °C): %w", c.Room.Low, c.Room.High, err)
		}
		best.Error = math.Hypot(best.Error, math.Log(other.TauS/best.TauS)/2)
	}
	if best.Error > fitError {
		return best, fmt.Errorf("cooling must be known to %.0f %% or better; got %.0f %%", 100*fitError, 100*best.Error)
	}
	return best, nil
}

func (c CoolingCurve) fit(room float64) (CoolingFit, error) {
	n := len(c.Points)
	if n < fitPoints {
		return CoolingFit{}, fmt.Errorf("cooling must have %[2]d readings or more; got %[1]d", n, fitPoints)
	}
	first, last := c.Points[0], c.Points[n-1]
	if last.S-first.S < fitSpanS {
		return CoolingFit{}, fmt.Errorf("cooling must last %d s or more; got %.0f s", fitSpanS, last.S-first.S)
	}
	sign := math.Copysign(1, first.C-room)
	if away := sign * (first.C - room); away < fitAwayC {
		return CoolingFit{}, fmt.Errorf("cooling must begin %d °C or more from the room; got %.1f °C", fitAwayC, away)
	}
	x, y, w := c.logDistances(room)
	if len(x) < fitPoints {
		return CoolingFit{}, fmt.Errorf("cooling must have %[2]d readings or more over 1 °C from the room; got %[1]d", len(x), fitPoints)
	}
	l := fitLine(x, y, w)
	fall := math.Exp(l.a) - math.Exp(l.a+l.b*(x[len(x)-1]-x[0]))
	if l.b >= 0 || fall < fitFallC {
		return CoolingFit{}, fmt.Errorf("cooling must come %.1f °C or more closer to the room; got %.2f °C", fitFallC, max(fall, 0))
	}
	return CoolingFit{TauS: -1 / l.b, Error: l.seB / -l.b}, nil
}

// What is assumed of how much the time constant differs from one cooling to
// the next (filling, draught): a standard deviation of a tenth, worth two
// coolings beside those that were seen.
const (
	assumedSpread   = 0.10
	assumedCoolings = 2
)

// CombineFits takes the fits together. The bounds are for the next cooling:
// two standard deviations of the spread between the fits (the assumed one
// counted in) and of what the mean and the fits themselves leave open.
func CombineFits(fits []CoolingFit) Cooling {
	n := float64(len(fits))
	if n == 0 {
		return DefaultCooling
	}
	var mean, own, spread float64
	for _, f := range fits {
		mean += math.Log(f.TauS) / n
		own += f.Error * f.Error / n
	}
	for _, f := range fits {
		d := math.Log(f.TauS) - mean
		spread += d * d
	}
	spread = (assumedCoolings*assumedSpread*assumedSpread + spread) / (assumedCoolings + n - 1)
	half := 2 * math.Sqrt(spread*(1+1/n)+own/n)
	return Cooling{TauS: math.Exp(mean), TauLowS: math.Exp(mean - half), TauHighS: math.Exp(mean + half), Fits: len(fits)}
}

// What a cooling that still goes on must show: how many readings before it
// says anything, what noise and steps of the probe to allow for (°C), and by
// what part the time constant may change meanwhile (draught, a tank that is
// turned and rests). Common practice, no source.
const (
	beginningPoints = 4
	beginningNoiseC = 0.04
	beginningSteady = 0.03
)

// WithBeginningOf takes in what a cooling that still goes on has shown so far. The rate of
// cooling (one over the time constant) is what a line through the readings
// measures, so what was held before and what is seen are combined there, each
// by the inverse of its variance: it moves with every reading and never jumps.
// Two standard deviations are the bounds before it, each side its own, and
// those after it.
func (c Cooling) WithBeginningOf(seen CoolingCurve) Cooling {
	k, own, ok := seen.rate()
	if !ok {
		return c
	}
	was := 1 / c.TauS
	slower, quicker := (was-1/c.TauHighS)/2, (1/c.TauLowS-was)/2
	prior := slower
	if k > was {
		prior = quicker
	}
	own = math.Hypot(own, beginningSteady*max(k, was))
	mean := was + (k-was)*prior*prior/(prior*prior+own*own)
	half := func(side float64) float64 { return 2 * side * own / math.Hypot(side, own) }
	least := 1 / (4 * c.TauHighS) // even a vacuum flask cools
	mean = max(mean, least)
	out := Cooling{TauS: 1 / mean, TauLowS: 1 / (mean + half(quicker)), TauHighS: 1 / max(mean-half(slower), least), Fits: c.Fits}
	if own < prior { // it says more than what was held before
		out.Fits++
	}
	return out
}

// rate is one over the time constant by a line through the logarithms, with
// its standard error. A few readings may agree with each other by chance, so
// the error is never taken to be less than the probe's noise, and is raised
// where the readings are few.
func (c CoolingCurve) rate() (k, own float64, ok bool) {
	by := func(room float64) (b, se float64, ok bool) {
		x, y, w := c.logDistances(room)
		if len(x) < beginningPoints {
			return 0, 0, false
		}
		l := fitLine(x, y, w)
		var sw, sx, sxx float64
		for i := range x {
			sw, sx, sxx = sw+w[i], sx+w[i]*x[i], sxx+w[i]*x[i]*x[i]
		}
		sxx -= sx * sx / sw
		if sxx <= 0 {
			return 0, 0, false
		}
		n := float64(len(x))
		return -l.b, math.Sqrt(n/(n-2)) * max(l.seB, beginningNoiseC/math.Sqrt(sxx)), true
	}
	if k, own, ok = by(c.Room.Best); !ok {
		return 0, 0, false
	}
	low, _, okLow := by(c.Room.Low)
	high, _, okHigh := by(c.Room.High)
	return k, math.Hypot(own, (high-low)/2), okLow && okHigh
}

// logDistances are the readings over 1 °C from a room: their seconds, the logarithm of
// that distance and its weight.
func (c CoolingCurve) logDistances(room float64) (x, y, w []float64) {
	if len(c.Points) == 0 {
		return nil, nil, nil
	}
	first := c.Points[0]
	sign := math.Copysign(1, first.C-room)
	for _, p := range c.Points {
		if d := sign * (p.C - room); d > 1 { // nearer than that the logarithm says little
			x, y, w = append(x, p.S-first.S), append(y, math.Log(d)), append(w, d*d)
		}
	}
	return x, y, w
}
