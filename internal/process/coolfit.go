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
		return best, fmt.Errorf("cooling known to %.0f %% only; want %.0f %% or better", 100*best.Error, 100*fitError)
	}
	return best, nil
}

func (c CoolingCurve) fit(room float64) (CoolingFit, error) {
	n := len(c.Points)
	if n < fitPoints {
		return CoolingFit{}, fmt.Errorf("cooling of %d readings; want %d or more", n, fitPoints)
	}
	first, last := c.Points[0], c.Points[n-1]
	if last.S-first.S < fitSpanS {
		return CoolingFit{}, fmt.Errorf("cooling lasted %.0f s; want %d s or more", last.S-first.S, fitSpanS)
	}
	sign := math.Copysign(1, first.C-room)
	if away := sign * (first.C - room); away < fitAwayC {
		return CoolingFit{}, fmt.Errorf("cooling began %.1f °C from the room; want %d °C or more", away, fitAwayC)
	}
	var x, y, w []float64
	for _, p := range c.Points {
		if d := sign * (p.C - room); d > 1 { // nearer than that the logarithm says little
			x, y, w = append(x, p.S-first.S), append(y, math.Log(d)), append(w, d*d)
		}
	}
	if len(x) < fitPoints {
		return CoolingFit{}, fmt.Errorf("cooling has %d readings over 1 °C from the room; want %d or more", len(x), fitPoints)
	}
	l := fitLine(x, y, w)
	fall := math.Exp(l.a) - math.Exp(l.a+l.b*(x[len(x)-1]-x[0]))
	if l.b >= 0 || fall < fitFallC {
		return CoolingFit{}, fmt.Errorf("cooling came %.2f °C closer to the room; want %.1f °C or more", max(fall, 0), fitFallC)
	}
	return CoolingFit{TauS: -1 / l.b, Error: l.seB / -l.b}, nil
}

// FitCooling is how a unit cools by what it has shown: curves that say too
// little are left out, and with none left it is DefaultCooling.
func FitCooling(curves []CoolingCurve) Cooling {
	var fits []CoolingFit
	for _, c := range curves {
		if f, err := c.Fit(); err == nil {
			fits = append(fits, f)
		}
	}
	return CombineFits(fits)
}

// What is assumed of how much the time constant differs from one cooling to
// the next (filling, draught): a standard deviation of a tenth, worth two
// coolings beside those that were seen.
const (
	assumedSpread = 0.10
	assumedWorth  = 2
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
	spread = (assumedWorth*assumedSpread*assumedSpread + spread) / (assumedWorth + n - 1)
	half := 2 * math.Sqrt(spread*(1+1/n)+own/n)
	return Cooling{TauS: math.Exp(mean), TauLowS: math.Exp(mean - half), TauHighS: math.Exp(mean + half), Fits: len(fits)}
}

// steadyError is how far the time constant may change within one cooling
// (draught, a tank that is turned and rests): common practice, no source.
const steadyError = 0.03

// With takes in what the cooling that goes on has shown so far: the fit and
// what was held before it, each by the inverse of its variance, in the
// logarithm of the time constant. Two standard deviations are the bounds
// before it, each side its own, and those after it.
func (c Cooling) With(fit CoolingFit) Cooling {
	was, seen := math.Log(c.TauS), math.Log(fit.TauS)
	below, above := (was-math.Log(c.TauLowS))/2, (math.Log(c.TauHighS)-was)/2
	own := math.Hypot(fit.Error, steadyError)
	prior := below
	if seen > was {
		prior = above
	}
	weight := prior * prior / (prior*prior + own*own)
	mean := was + weight*(seen-was)
	half := func(side float64) float64 { return 2 * side * own / math.Hypot(side, own) }
	return Cooling{TauS: math.Exp(mean), TauLowS: math.Exp(mean - half(below)), TauHighS: math.Exp(mean + half(above)), Fits: c.Fits + 1}
}
