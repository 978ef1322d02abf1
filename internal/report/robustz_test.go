package report

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// The median absolute deviation of 1 1 2 2 4 6 9 is 1 about a median of 2:
// the worked example of Wikipedia, "Median absolute deviation". The robust z
// of its 9 is then 0.6745 (9 - 2) / 1 (the formula of Iglewicz and Hoaglin
// 1993, as the NIST/SEMATECH handbook, 1.3.5.17, gives it).
func TestRobustZ(t *testing.T) {
	data := []float64{1, 1, 2, 2, 4, 6, 9}
	if m, d := median(data), mad(data); m != 2 || d != 1 {
		t.Fatalf("median %v, MAD %v; want 2 and 1", m, d)
	}
	z, med := robustZ(9, data, 0)
	if !scalar.EqualWithinAbs(z, 4.7215, 1e-12) || med != 2 || z <= standsOutZ {
		t.Errorf("robust z of 9: %v about %v; want 4.7215 about 2, beyond 3.5", z, med)
	}
	if z, _ := robustZ(6, data, 0); !scalar.EqualWithinAbs(z, 2.698, 1e-12) || z > standsOutZ {
		t.Errorf("robust z of 6: %v; want 2.698, within 3.5", z)
	}
	if z, _ := robustZ(5, []float64{4, 4, 4, 4, 4, 4, 4, 4}, 0.5); !scalar.EqualWithinAbs(z, 1.349, 1e-12) {
		t.Errorf("robust z beside runs all alike: %v; want 0.6745 / 0.5", z)
	}
}

// 0.6745 is the 75th percentile of the standard normal distribution, by gonum.
func TestScaleOfZ(t *testing.T) {
	if q := distuv.UnitNormal.Quantile(0.75); !scalar.EqualWithinAbs(q, zScale, 5e-5) {
		t.Errorf("the 75th percentile is %v", q)
	}
}

// Median, MAD and percentiles against gonum's own, on data of odd length,
// where the definitions agree.
func TestAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		v := make([]float64, 1+2*r.IntN(40))
		for i := range v {
			v[i] = r.NormFloat64()*3 + 38
		}
		s := slices.Sorted(slices.Values(v))
		want := stat.Quantile(0.5, stat.Empirical, s, nil)
		if got := median(v); got != want {
			t.Fatalf("median of %v: %v, gonum has %v", v, got, want)
		}
		d := make([]float64, len(v))
		for i := range v {
			d[i] = math.Abs(v[i] - want)
		}
		slices.Sort(d)
		if got, want := mad(v), stat.Quantile(0.5, stat.Empirical, d, nil); got != want {
			t.Fatalf("MAD of %v: %v, gonum has %v", v, got, want)
		}
		for _, p := range []float64{0.05, 0.95} { // ours interpolates between gonum's own steps
			low, high := stat.Quantile(max(0, p-1/float64(len(v))), stat.Empirical, s, nil), stat.Quantile(min(1, p+1/float64(len(v))), stat.Empirical, s, nil)
			if got := percentile(p, v); len(v) > 20 && (got < low || got > high) {
				t.Fatalf("percentile %v of %v: %v, gonum's lie at %v and %v", p, v, got, low, high)
			}
		}
	}
	if m := median([]float64{4, 1, 3, 2}); m != 2.5 {
		t.Errorf("median of 1 2 3 4: %v, want 2.5", m)
	}
	if !math.IsNaN(median(nil)) {
		t.Error("the median of nothing is a number")
	}
}
