package process

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"
)

// NIST StRD, Norris (linear regression, 36 observations), y then x, with its
// certified values.
var norris = [][2]float64{{0.1, 0.2}, {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6}, {9.2, 10.1}, {228.1, 226.5}, {668.5, 666.3},
	{998.5, 996.3}, {449.1, 448.6}, {778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4}, {0.1, 0.6}, {778.1, 775.5}, {668.8, 666.9},
	{339.3, 338.0}, {448.9, 447.5}, {10.8, 11.6}, {557.7, 556.0}, {228.3, 228.1}, {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2},
	{0.3, 0.3}, {0.6, 0.3}, {557.6, 556.8}, {339.3, 339.1}, {888.0, 887.2}, {998.5, 999.0}, {778.9, 779.0}, {10.2, 11.1},
	{117.6, 118.3}, {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5}}

func TestLineAgainstNorris(t *testing.T) {
	var x, y []float64
	for _, p := range norris {
		y, x = append(y, p[0]), append(x, p[1])
	}
	l := fitLine(x, y, nil)
	for _, tt := range []struct {
		what      string
		got, want float64
	}{
		{"B0", l.a, -0.262323073774029}, {"sd of B0", l.seA, 0.232818234301152},
		{"B1", l.b, 1.00211681802045}, {"sd of B1", l.seB, 0.000429796848199937},
		{"residual sd", l.residual, 0.884796396144373},
	} {
		if math.Abs(tt.got/tt.want-1) > 1e-11 {
			t.Errorf("%s = %.15g, certified %.15g", tt.what, tt.got, tt.want)
		}
	}
}

// Weighted lines against gonum's.
func TestWeightedLineAgainstGonum(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(4, 40).Draw(rt, "n")
		x, y, w := make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range n {
			x[i] = float64(i) + rapid.Float64Range(0, 0.5).Draw(rt, "x")
			y[i] = rapid.Float64Range(-50, 50).Draw(rt, "y")
			w[i] = rapid.Float64Range(0.1, 10).Draw(rt, "w")
		}
		a, b := stat.LinearRegression(x, y, w, false)
		l := fitLine(x, y, w)
		if math.Abs(l.a-a) > 1e-8*(1+math.Abs(a)) || math.Abs(l.b-b) > 1e-8*(1+math.Abs(b)) {
			rt.Fatalf("line %g + %g x, gonum %g + %g x", l.a, l.b, a, b)
		}
	})
}
