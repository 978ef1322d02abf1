package process

import "math"

// Fill is one fill of a tank: how warm the liquid was before it, and how warm
// once tank and liquid had come to one temperature, °C.
type Fill struct{ LiquidC, MixedC float64 }

// What is assumed until a unit has shown enough fills of its own: half a liter
// in a plastic tank with its reels. Common practice, no source.
const (
	shareBest   = 0.85
	shareSpread = 0.12
	fillNoiseC  = 0.15 // what a mixed temperature scatters by, least
)

// MixingShare is how much of a difference in the liquid is left once the tank
// has taken its share of the heat: liquid / (liquid + tank). It is learned
// from fills that differed, a line through them whose slope is weighed against
// what is usual; the bounds are two standard deviations.
func MixingShare(fills []Fill) Range {
	var n, sx, sy float64
	for _, f := range fills {
		n, sx, sy = n+1, sx+f.LiquidC, sy+f.MixedC
	}
	best, precision := shareBest, 1/(shareSpread*shareSpread)
	if n >= 3 {
		var xx, xy, rr float64
		for _, f := range fills {
			dx, dy := f.LiquidC-sx/n, f.MixedC-sy/n
			xx, xy = xx+dx*dx, xy+dx*dy
		}
		if xx > 1e-9 {
			slope := xy / xx
			for _, f := range fills {
				r := f.MixedC - sy/n - slope*(f.LiquidC-sx/n)
				rr += r * r
			}
			noise := math.Max(fillNoiseC, math.Sqrt(rr/(n-2)))
			p := xx / (noise * noise)
			best = (best*precision + slope*p) / (precision + p)
			precision += p
		}
	}
	best = min(max(best, 0.2), 1)
	sd := 2 / math.Sqrt(precision)
	return Range{best, max(best-sd, 0.1), min(best+sd, 1)}
}

// AfterFill is the equivalent time of a developer that is kept to the time
// targetS but enters off °C from where it usually does, which the heater evens
// out with the time constant tauS.
func (s *Step) AfterFill(off, tauS, targetS float64) float64 {
	sum, h := 0.0, 1.0
	for t := 0.0; t < targetS; t += h {
		h = min(1, targetS-t)
		sum += h * s.Rates(s.AimC+off*math.Exp(-(t+h/2)/tauS)).Best
	}
	return sum
}
