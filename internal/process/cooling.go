package process

import (
	"math"
	"slices"
)

// Cooling is how fast the tank of a unit goes to the temperature of its
// surroundings with nothing heating it: Newton's law, with the time constant
// and its bounds, seconds.
type Cooling struct {
	TauS     float64 `json:"tau_s"`
	TauLowS  float64 `json:"tau_low_s"`
	TauHighS float64 `json:"tau_high_s"`
	// Fits is how many coolings of the unit it rests on. With 0 it is assumed,
	// which is to be said wherever it is shown.
	Fits int `json:"fits"`
}

// DefaultCooling is assumed until a unit has shown how it cools. The time
// constant is heat capacity over loss: m*4186 J/K of liquid and the tank's
// own, over area times a coefficient. 0.3 l in a bare plastic tank (350 J/K)
// of 0.10 m² at 13 W/m²K (turning in moving air): 1600/1.3 = 1240 s. 0.5 l in
// a tank of 400 J/K and 0.10 m² at 10 W/m²K (still air, radiation with it):
// 2500/1.0 = 2500 s. 1 l in an insulated tank (500 J/K, 0.12 m², 3.2 W/m²K):
// 4690/0.38 = 12200 s. The coefficients are those of engineering tables, from
// memory.
var DefaultCooling = Cooling{TauS: 2500, TauLowS: 1200, TauHighS: 12000}

// Between is the temperature afterS seconds after the start, where start and
// room are known within a range only.
func (c Cooling) Between(start, room Range, afterS float64) Range {
	b, l, h := c.paths(start, room)
	return Range{b.at(afterS), l.at(afterS), h.at(afterS)}
}

// coolingPath is one cooling whose start, room and time constant are known.
type coolingPath struct{ start, room, tau float64 }

func (p coolingPath) at(s float64) float64 {
	if p.tau <= 0 {
		return p.room
	}
	return p.room + (p.start-p.room)*math.Exp(-max(s, 0)/p.tau)
}

// until is when the path comes to x, seconds; false where it never does.
func (p coolingPath) until(x float64) (float64, bool) {
	f := (p.start - p.room) / (x - p.room)
	if x == p.room || f <= 1 || p.tau <= 0 {
		return 0, false
	}
	return p.tau * math.Log(f), true
}

// paths are the best estimate, the coldest and the warmest cooling. The temperature
// rises with the start and with the room, so each bound takes its own end of
// both; the time constant is the one that brings it there sooner, or keeps it
// from getting away.
func (c Cooling) paths(start, room Range) (best, low, high coolingPath) {
	tau := func(quick bool) float64 {
		if quick {
			return c.TauLowS
		}
		return c.TauHighS
	}
	best = coolingPath{start.Best, room.Best, c.TauS}
	low = coolingPath{start.Low, room.Low, tau(start.Low > room.Low)}
	high = coolingPath{start.High, room.High, tau(start.High < room.High)}
	return best, low, high
}

// Cooled is the sheet time that a stretch of cooling amounts to, from fromS
// to toS seconds after the start. Low and High bound the temperatures, the
// time constant and the kinetics together.
func (s *Step) Cooled(c Cooling, start, room Range, fromS, toS float64) Rates {
	k := s.curves()
	b, l, h := c.paths(start, room)
	return Rates{k.best.integralOverCooling(b, fromS, toS), k.low.integralOverCooling(l, fromS, toS), k.high.integralOverCooling(h, fromS, toS)}
}

// integralOverCooling integrates the rate over a cooling: Gauss's rule of five points over
// pieces short beside the time constant, cut where the curve has a corner.
func (c *curve) integralOverCooling(p coolingPath, from, to float64) float64 {
	from = max(from, 0)
	if to <= from {
		return 0
	}
	if p.tau <= 0 || p.start == p.room {
		return (to - from) * math.Exp(c.at(p.at(from)))
	}
	cuts := []float64{from, to}
	for _, x := range c.x {
		if t, ok := p.until(x); ok && t > from && t < to {
			cuts = append(cuts, t)
		}
	}
	slices.Sort(cuts)
	sum := 0.0
	for i := 1; i < len(cuts); i++ {
		sum += c.integralWithoutCorner(p, cuts[i-1], cuts[i])
	}
	return sum
}

// integralWithoutCorner integrates where the curve has no corner.
func (c *curve) integralWithoutCorner(p coolingPath, from, to float64) float64 {
	const settled = 40 // time constants after which nothing moves any more
	sum, end := 0.0, min(to, max(from, settled*p.tau))
	n := max(1, int(math.Ceil((end-from)/(p.tau/4))))
	h := (end - from) / float64(n)
	for i := range n {
		mid := from + (float64(i)+0.5)*h
		for j, x := range gaussX {
			sum += gaussW[j] * h / 2 * math.Exp(c.at(p.at(mid+x*h/2)))
		}
	}
	return sum + (to-end)*math.Exp(c.at(p.room))
}

// Abscissas and weights of Gauss's rule for five points (Abramowitz and
// Stegun, table 25.4).
var (
	gaussX = [5]float64{0, -0.538469310105683, 0.538469310105683, -0.906179845938664, 0.906179845938664}
	gaussW = [5]float64{0.568888888888889, 0.478628670499366, 0.478628670499366, 0.236926885056189, 0.236926885056189}
)
