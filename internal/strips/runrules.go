package strips

import (
	"fmt"
	"math"
)

// runRules are the Western Electric rules and the trend rule of Nelson.
// A point exactly on a zone's line belongs to the inner zone.
type runRules struct {
	points []Point
	row    int     // points in a row on one side, up to the one looked at
	side   float64 // of that row: +1, -1, or 0 for a point on its aim
	trend  int     // points in a row rising or falling
	toward float64 // +1 rising, -1 falling
}

func newRunRules(points []Point) *runRules { return &runRules{points: points} }

func (r *runRules) judge(i int, add func(Signal, string)) {
	p := r.points[i]
	for _, sign := range []float64{+1, -1} {
		if p.Sigma <= 0 {
			break
		}
		if p.beyond(sign, 3*p.Sigma) {
			add(WE1, fmt.Sprintf("%s is %.1f sigma %s the aim %s", num(p.Value), math.Abs(p.sigmas()), aboveOrBelow(sign), num(p.Aim)))
		}
		if p.beyond(sign, 2*p.Sigma) && r.count(i, 3, sign, 2) >= 2 {
			add(WE2, fmt.Sprintf("2 of 3 more than 2 sigma %s the aim", aboveOrBelow(sign)))
		}
		if p.beyond(sign, p.Sigma) && r.count(i, 5, sign, 1) >= 4 {
			add(WE3, fmt.Sprintf("4 of 5 more than 1 sigma %s the aim", aboveOrBelow(sign)))
		}
	}
	r.follow(i)
	if r.row >= 8 {
		add(WE4, fmt.Sprintf("%d in a row %s the aim", r.row, aboveOrBelow(r.side)))
	}
	if r.trend >= 6 {
		add(Nelson3, fmt.Sprintf("%d in a row %s", r.trend, map[float64]string{+1: "rising", -1: "falling"}[r.toward]))
	}
}

// count tells how many of the last n points up to i lie beyond so many sigmas
// on one side.
func (r *runRules) count(i, n int, sign, sigmas float64) int {
	k := 0
	for j := max(0, i-n+1); j <= i; j++ {
		if q := r.points[j]; q.Sigma > 0 && q.beyond(sign, sigmas*q.Sigma) {
			k++
		}
	}
	return k
}

// follow counts the rows that end at point i. A point on its aim, or equal to
// the one before it, ends a row.
func (r *runRules) follow(i int) {
	p := r.points[i]
	side := direction(p.deviation(), p.blur())
	if side == 0 {
		r.row = 0
	} else if side == r.side {
		r.row++
	} else {
		r.row = 1
	}
	r.side = side
	if i == 0 {
		r.trend = 1
		return
	}
	before := r.points[i-1]
	toward := direction(p.deviation()-before.deviation(), p.blur()+before.blur())
	switch {
	case toward == 0:
		r.trend = 1
	case toward == r.toward:
		r.trend++
	default:
		r.trend = 2
	}
	r.toward = toward
}

func direction(v, blur float64) float64 {
	switch {
	case v > blur:
		return +1
	case v < -blur:
		return -1
	}
	return 0
}

func aboveOrBelow(sign float64) string {
	if sign < 0 {
		return "below"
	}
	return "above"
}
