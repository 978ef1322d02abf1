package strips

import (
	"fmt"
	"math"
)

// limitTolerance is how far, in sigmas, beyond a drift chart's limit still counts
// as on it: far more than rounding in the arithmetic, far less than anybody
// can measure.
const limitTolerance = 1e-9

// ewma is the exponentially weighted moving average of the deviations in
// sigmas: z_i = lambda u_i + (1 - lambda) z_(i-1), z_0 the aim. Its limits have
// the exact variance, narrow at first:
// width^2 lambda / (2 - lambda) (1 - (1 - lambda)^2i).
// Source: NIST/SEMATECH e-Handbook 6.3.2.4, and Montgomery for the exact form.
type ewma struct {
	s     Settings
	z     float64
	faded float64 // (1 - lambda)^2i
}

func newEWMA(s Settings) *ewma { return &ewma{s: s, faded: 1} }

func (e *ewma) judge(p Point, add func(Signal, string)) {
	l := e.s.Lambda
	e.z = l*p.sigmas() + (1-l)*e.z
	e.faded *= (1 - l) * (1 - l)
	if limit := e.limit(); math.Abs(e.z) > limit+limitTolerance {
		sign := direction(e.z, 0)
		add(EWMA, fmt.Sprintf("moving average %s is %s its limit %s", num(p.Aim+e.z*p.Sigma), aboveOrBelow(sign), num(p.Aim+sign*limit*p.Sigma)))
	}
}

// limit is the half width for the average as it stands, in sigmas.
func (e *ewma) limit() float64 {
	return e.s.Width * math.Sqrt(e.s.Lambda/(2-e.s.Lambda)*(1-e.faded))
}

// cusum are two one-sided sums of the deviations in sigmas beyond the slack k;
// each signals beyond h and is not set back.
// Source: NIST/SEMATECH e-Handbook 6.3.2.3.
type cusum struct {
	s         Settings
	high, low float64
}

func newCUSUM(s Settings) *cusum { return &cusum{s: s} }

func (c *cusum) judge(p Point, add func(Signal, string)) {
	u := p.sigmas()
	c.high = math.Max(0, c.high+u-c.s.K)
	c.low = math.Max(0, c.low-u-c.s.K)
	if c.high > c.s.H+limitTolerance {
		add(CUSUM, fmt.Sprintf("sum above the aim %s sigma, limit %s", num(c.high), num(c.s.H)))
	}
	if c.low > c.s.H+limitTolerance {
		add(CUSUM, fmt.Sprintf("sum below the aim %s sigma, limit %s", num(c.low), num(c.s.H)))
	}
}
