package process

import "math"

// Range is a figure with the bounds within which it lies: Low <= Best <= High.
type Range struct{ Best, Low, High float64 }

// Rates are sheet seconds a second, or what they add up to, with the bounds
// that the range of the kinetics gives.
type Rates = Range

// Exactly is a figure that is known.
func Exactly(v float64) Range { return Range{v, v, v} }

// Within is a figure that is known to plus or minus d.
func Within(v, d float64) Range { return Range{v, v - math.Abs(d), v + math.Abs(d)} }

// Plus adds two figures and their bounds.
func (r Range) Plus(o Range) Range { return Range{r.Best + o.Best, r.Low + o.Low, r.High + o.High} }

// curve is the logarithm of a rate over temperature: straight lines through
// points, carried on beyond the outer two by a slope a °C.
type curve struct {
	x, y         []float64 // x rising; y not falling
	below, above float64
}

// curves are the best estimate of a rate and bounds that hold at every
// temperature. They meet at 1 (logarithm 0) at the sheet's temperature.
type curves struct{ best, low, high curve }

// at reads the curve.
func (c *curve) at(x float64) float64 {
	n := len(c.x) - 1
	switch {
	case x <= c.x[0]:
		return c.y[0] + c.below*(x-c.x[0])
	case x >= c.x[n]:
		return c.y[n] + c.above*(x-c.x[n])
	}
	return interpolate(c.x, c.y, x)
}

// integralOverLine integrates the rate over dt seconds in which the temperature goes in a
// straight line from c0 to c1: exact, piece by piece between the points.
func (c *curve) integralOverLine(c0, c1, dt float64) float64 {
	if dt <= 0 {
		return 0
	}
	if c0 > c1 { // the way back takes the same temperatures for as long
		c0, c1 = c1, c0
	}
	if c1-c0 < 1e-12 {
		return dt * math.Exp(c.at((c0+c1)/2))
	}
	sum, from := 0.0, c0
	for _, x := range c.x {
		if x > from && x < c1 {
			sum += logMean(c.at(from), c.at(x)) * (x - from)
			from = x
		}
	}
	sum += logMean(c.at(from), c.at(c1)) * (c1 - from)
	return dt * sum / (c1 - c0)
}

// logMean is the mean of exp over a straight line from a to b.
func logMean(a, b float64) float64 {
	d := (b - a) / 2
	if math.Abs(d) < 1e-4 { // sinh(d)/d by its series
		return math.Exp((a+b)/2) * (1 + d*d/6)
	}
	return math.Exp((a+b)/2) * math.Sinh(d) / d
}

// byFactor are the curves of a factor for 10 °C with its range. Below the aim
// a higher factor makes less, so the bounds change sides there.
func byFactor(aim float64, f Factor) curves {
	slope := func(q float64) float64 { return math.Log(q) / 10 }
	at := func(below, above float64) curve {
		return curve{x: []float64{aim}, y: []float64{0}, below: below, above: above}
	}
	lo, hi := slope(f.Low), slope(f.High)
	return curves{best: at(slope(f.Best), slope(f.Best)), low: at(hi, lo), high: at(lo, hi)}
}

// curves are those of the step: its developer's, else its factor's.
func (s *Step) curves() curves {
	switch {
	case s.kinetics != nil:
		return *s.kinetics
	case s.Developer != nil && s.Developer.Factor == nil: // a step read back from a record
		return s.Developer.curves(s.AimC, s.Factor)
	case s.Kind == Dev && s.Factor.Low > 0:
		return byFactor(s.AimC, s.Factor)
	case s.Kind == Min && s.Slower != nil:
		return s.Slower.curves()
	case s.Kind == Min:
		c := byFactor(s.LowC, completion)
		c.best.above, c.low.above, c.high.above = 0, 0, 0
		return c
	}
	flat := curve{x: []float64{s.AimC}, y: []float64{0}}
	return curves{flat, flat, flat}
}

// Rates are the sheet seconds a second at temperature c. A min step counts in
// full down to its lower limit and less below it; an exact step counts by the
// clock.
func (s *Step) Rates(c float64) Rates {
	k := s.curves()
	return Rates{math.Exp(k.best.at(c)), math.Exp(k.low.at(c)), math.Exp(k.high.at(c))}
}

// Equivalent is the sheet time that dt seconds amount to while the
// temperature goes in a straight line from c0 to c1 (exact integral). Low and
// High bound every kinetics within the developer's range, whichever side of
// the aim the line runs on.
func (s *Step) Equivalent(c0, c1, dt float64) Rates { return s.EquivalentWithin(c0, c1, dt, 0) }

// EquivalentWithin is Equivalent where the temperatures themselves are known
// to plus or minus withinC only.
func (s *Step) EquivalentWithin(c0, c1, dt, withinC float64) Rates {
	k, w := s.curves(), math.Abs(withinC)
	return Rates{k.best.integralOverLine(c0, c1, dt), k.low.integralOverLine(c0-w, c1-w, dt), k.high.integralOverLine(c0+w, c1+w, dt)}
}

func distinct(xs []float64) map[float64]bool {
	m := map[float64]bool{}
	for _, x := range xs {
		m[x] = true
	}
	return m
}
