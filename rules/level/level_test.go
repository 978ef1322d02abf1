package level_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"wetside/rules/level"
)

// The building of kalmanfilter.net (Alex Becker, "Kalman Filter in one
// dimension", https://www.kalmanfilter.net/kalman1d.html, the example of
// estimating the height of a building): guessed at 60 m to within 15 m, ten
// readings of an altimeter to within 5 m. The readings are as printed there; the
// estimates and variances after each, to their printed rounding, are from
// memory. By hand, the first: gain 225/(225+25) = 0.9, 60 - 0.9*11.46 = 49.686,
// variance 0.1*225 = 22.5.
func TestTextbook(t *testing.T) {
	readings := []float64{48.54, 47.11, 55.01, 55.15, 49.89, 40.85, 46.72, 50.05, 51.27, 49.95}
	height := []float64{49.69, 48.47, 50.57, 51.68, 51.33, 49.62, 49.21, 49.31, 49.53, 49.57}
	variance := []float64{22.5, 11.84, 8.04, 6.08, 4.89, 4.09, 3.52, 3.08, 2.74, 2.47}
	e := level.Begin(60, 15, 0, 0)
	for i, z := range readings {
		e.Stated(z, 5)
		if math.Abs(e.L-height[i]) > 0.006 || math.Abs(e.Var.LL-variance[i]) > 0.006 {
			t.Errorf("after reading %d: %.3f, variance %.3f; the book has %.2f and %.2f", i+1, e.L, e.Var.LL, height[i], variance[i])
		}
	}
}

// The same ten readings, all at once: with a spread of their own each, the best
// value is the mean weighted by one over the variance, and one over its variance
// is the sum of those (Gauss; any textbook of statistics).
func TestOrderMakesNoDifference(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		e := level.Begin(10, 3, 0, 0)
		sum, weight := 10/9., 1/9.
		for range rapid.IntRange(1, 20).Draw(rt, "n") {
			l, spread := rapid.Float64Range(0, 20).Draw(rt, "l"), rapid.Float64Range(0.01, 5).Draw(rt, "spread")
			e.Stated(l, spread)
			sum, weight = sum+l/(spread*spread), weight+1/(spread*spread)
		}
		if math.Abs(e.L-sum/weight) > 1e-6 || math.Abs(e.Var.LL*weight-1) > 1e-6 {
			rt.Fatalf("%g, variance %g; weighted mean %g, %g", e.L, e.Var.LL, sum/weight, 1/weight)
		}
	})
}

// matrices is the same filter written out in matrices, by gonum: x = (level,
// gain, offset).
type matrices struct{ x, p *mat.Dense }

func (m *matrices) predict(l, own float64) {
	gain := m.x.At(1, 0)
	f := mat.NewDense(3, 3, []float64{1, l, 0, 0, 1, 0, 0, 0, 1})
	m.x.Set(0, 0, m.x.At(0, 0)+l*(1+gain))
	var fp, p mat.Dense
	fp.Mul(f, m.p)
	p.Mul(&fp, f.T())
	p.Set(0, 0, p.At(0, 0)+own*own)
	m.p = &p
}

func (m *matrices) update(h *mat.Dense, z, r float64) {
	var ph, hph, k, hx, kh, p mat.Dense
	ph.Mul(m.p, h.T())
	hph.Mul(h, &ph)
	k.Scale(1/(hph.At(0, 0)+r*r), &ph)
	hx.Mul(h, m.x)
	var dx mat.Dense
	dx.Scale(z-hx.At(0, 0), &k)
	m.x.Add(m.x, &dx)
	kh.Mul(&k, h)
	kh.Sub(mat.NewDiagDense(3, []float64{1, 1, 1}), &kh)
	p.Mul(&kh, m.p)
	m.p = &p
}

// Any sequence of pumping, readings and words: the same as the filter in plain
// matrix form by gonum (mat), to rounding; and the covariances stay those of
// something real (their matrix has no eigenvalue below zero).
func TestAgainstGonum(t *testing.T) {
	probe, said := mat.NewDense(1, 3, []float64{1, 0, 1}), mat.NewDense(1, 3, []float64{1, 0, 0})
	rapid.Check(t, func(rt *rapid.T) {
		e := level.Begin(9, 0.5, 0.05, 0.2)
		m := matrices{mat.NewDense(3, 1, []float64{9, 0, 0}), mat.NewDense(3, 3, []float64{0.25, 0, 0, 0, 0.0025, 0, 0, 0, 0.04})}
		for range rapid.IntRange(1, 60).Draw(rt, "n") {
			l := rapid.Float64Range(-2, 2).Draw(rt, "l")
			spread := rapid.Float64Range(0.01, 0.5).Draw(rt, "spread")
			switch rapid.IntRange(0, 2).Draw(rt, "what") {
			case 0:
				e.Pump(l, spread)
				m.predict(l, spread)
			case 1:
				e.Probe(9+l, spread)
				m.update(probe, 9+l, spread)
			case 2:
				e.Stated(9+l, spread)
				m.update(said, 9+l, spread)
			}
		}
		got := []float64{e.L, e.Gain, e.Offset, e.Var.LL, e.Var.LG, e.Var.LO, e.Var.GG, e.Var.GO, e.Var.OO}
		want := []float64{m.x.At(0, 0), m.x.At(1, 0), m.x.At(2, 0), m.p.At(0, 0), m.p.At(0, 1), m.p.At(0, 2), m.p.At(1, 1), m.p.At(1, 2), m.p.At(2, 2)}
		for i := range got {
			if math.Abs(got[i]-want[i]) > 1e-6*max(1, math.Abs(want[i])) {
				rt.Fatalf("value %d: %g, gonum %g", i, got[i], want[i])
			}
		}
		var eig mat.EigenSym
		sym := mat.NewSymDense(3, []float64{e.Var.LL, e.Var.LG, e.Var.LO, e.Var.LG, e.Var.GG, e.Var.GO, e.Var.LO, e.Var.GO, e.Var.OO})
		if !eig.Factorize(sym, false) || eig.Values(nil)[0] < -1e-9 {
			rt.Fatalf("covariances of nothing real: %v", eig.Values(nil))
		}
	})
}

// The pump's error is common to all fills: after n fills of half a liter, of 5 %
// and nothing else, the level is off by 5 % of all of them, n times as much as
// after one, and not by its root. A level that is then read off says how much
// the pump really moves.
func TestCountedVolumeSpreads(t *testing.T) {
	e := level.Begin(0, 0.001, 0.05, 0)
	for n := 1; n <= 20; n++ {
		e.Pump(0.5, 0)
		if want := 0.05 * 0.5 * float64(n); math.Abs(e.Spread()-want) > 0.001 {
			t.Errorf("after %d fills %.4f L; want %.4f", n, e.Spread(), want)
		}
	}
	e.Stated(10.6, 0.01)
	if math.Abs(e.Gain-0.06) > 0.001 || e.GainSpread() > 0.002 {
		t.Errorf("the pump moves %.3f more, to within %.3f; want 0.06", e.Gain, e.GainSpread())
	}
}

// A probe shows level and offset together, and cannot tell them apart; a level
// that is read off can. Where it parts from the probe, the probe is off.
func TestProbeIsDoubted(t *testing.T) {
	e := level.BeginAt(5, 0.02, 0.05, 0.2)
	for range 50 {
		e.Probe(5, 0.02)
	}
	if math.Abs(e.L-5) > 1e-3 || math.Abs(e.Spread()-0.2) > 0.01 {
		t.Errorf("%.3f L to within %.3f; want 5 to within the probe's own 0.2", e.L, e.Spread())
	}
	e.Doubt(30)
	e.Stated(8, 0.15)
	e.Probe(5, 0.02)
	if math.Abs(e.L-8) > 0.01 || math.Abs(e.Offset+3) > 0.01 || math.Abs(e.Spread()-0.15) > 0.01 {
		t.Errorf("%.3f L to within %.3f, offset %.3f; want 8 to within 0.15, offset -3", e.L, e.Spread(), e.Offset)
	}
	if s := e.Surprise(5, 0.02); math.Abs(s) > 0.1 {
		t.Errorf("what the probe goes on to read surprises by %.1f", s)
	}
}
