package process

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// anyStep draws a developer step: by a factor, or by a table whose times were
// rounded. trueRate is a kinetics that the step's range must cover.
func anyStep(rt *rapid.T) (step *Step, trueRate func(c float64) float64) {
	aim := rapid.SampledFrom([]float64{18, 20, 21.5, 24, 37.8}).Draw(rt, "aim")
	s := &Step{ID: "developer", Kind: Dev, AimC: aim, AimS: 360, LowC: aim - 0.3, HighC: aim + 0.3}
	low := rapid.Float64Range(1, 4).Draw(rt, "low")
	best := low + rapid.Float64Range(0, 1).Draw(rt, "best")
	s.Factor = Factor{best, low, best + rapid.Float64Range(0, 1).Draw(rt, "high")}
	if rapid.Bool().Draw(rt, "factor") {
		q := low + rapid.Float64Range(0, 1).Draw(rt, "q")*(s.Factor.High-low)
		return s, func(c float64) float64 { return math.Pow(q, (c-aim)/10) }
	}
	d := &Developer{ID: "drawn", Brew: "drawn", RoundS: rapid.SampledFrom([]float64{15, 30}).Draw(rt, "round")}
	c, l := aim-rapid.Float64Range(-1, 4).Draw(rt, "from"), math.Log(rapid.Float64Range(300, 900).Draw(rt, "first"))
	var x, y []float64
	for range rapid.IntRange(2, 6).Draw(rt, "columns") {
		x, y = append(x, c), append(y, l)
		s := d.RoundS * math.Round(math.Exp(l)/d.RoundS)
		d.Table = append(d.Table, TimeAt{c, s})
		c += rapid.Float64Range(0.5, 3).Draw(rt, "next")
		l -= rapid.Float64Range(0, 0.3).Draw(rt, "fall")
	}
	truth := func(c float64) float64 { return interpolate(x, y, c) }
	return s.With(d), func(c float64) float64 { return math.Exp(truth(aim) - truth(c)) }
}

const tiny = 1e-9

// The best estimate lies between the bounds, all rise with temperature, and
// at the aim all are 1.
func TestRatesAreOrderedAndRise(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s, _ := anyStep(rt)
		last := Rates{}
		for c := s.AimC - 12; c < s.AimC+12; c += 0.37 {
			r := s.Rates(c)
			if r.Low > r.Best+tiny || r.Best > r.High+tiny {
				rt.Fatalf("at %.2f °C %+v is out of order", c, r)
			}
			if r.Low < last.Low-tiny || r.Best < last.Best-tiny || r.High < last.High-tiny {
				rt.Fatalf("at %.2f °C %+v is below %+v, which was cooler", c, r, last)
			}
			last = r
		}
		if r := s.Rates(s.AimC); math.Abs(r.Low-1)+math.Abs(r.High-1)+math.Abs(r.Best-1) > tiny {
			rt.Fatalf("at the aim %+v, want 1", r)
		}
	})
}

// Low and high bound every kinetics of the range: every factor in it, and
// every table that is rounded to the one that is printed.
func TestRatesBoundTheTruth(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s, truth := anyStep(rt)
		c := s.AimC + rapid.Float64Range(-10, 10).Draw(rt, "off")
		if d := s.Developer; d != nil { // beyond the table the bounds are the sheet's, not the true table's
			c = min(max(c, d.Table[0].C), d.Table[len(d.Table)-1].C)
			if s.AimC < d.Table[0].C || s.AimC > d.Table[len(d.Table)-1].C {
				return
			}
		}
		if r, v := s.Rates(c), truth(c); v < r.Low-tiny || v > r.High+tiny {
			rt.Fatalf("at %.2f °C the true rate %.6f is not within %+v", c, v, r)
		}
	})
}

// The integral is that of the rates: equal to a fine sum, and additive over a
// split at any place.
func TestEquivalentIsTheIntegralOfRates(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s, _ := anyStep(rt)
		c0 := s.AimC + rapid.Float64Range(-8, 8).Draw(rt, "c0")
		c1 := s.AimC + rapid.Float64Range(-8, 8).Draw(rt, "c1")
		dt := rapid.Float64Range(0.1, 600).Draw(rt, "dt")
		whole := s.Equivalent(c0, c1, dt)

		at := rapid.Float64Range(0, 1).Draw(rt, "split")
		mid := c0 + at*(c1-c0)
		parts := s.Equivalent(c0, mid, at*dt).Plus(s.Equivalent(mid, c1, (1-at)*dt))
		near(rt, "split", parts, whole, 1e-9)

		const n = 4000
		var sum Rates
		for i := range n {
			r := s.Rates(c0 + (c1-c0)*(float64(i)+0.5)/n)
			sum = sum.Plus(Rates{r.Best * dt / n, r.Low * dt / n, r.High * dt / n})
		}
		near(rt, "fine sum", sum, whole, 1e-5)
	})
}

func near(t interface{ Fatalf(string, ...any) }, what string, got, want Range, rel float64) {
	for _, x := range [][2]float64{{got.Best, want.Best}, {got.Low, want.Low}, {got.High, want.High}} {
		if math.Abs(x[0]-x[1]) > rel*(math.Abs(x[1])+tiny) {
			t.Fatalf("%s: %+v, want %+v", what, got, want)
		}
	}
}

// What a probe can be off widens the equivalent time by the kinetics alone.
func TestEquivalentWithinAProbesTolerance(t *testing.T) {
	sheet, _ := Builtin().Sheet("c41")
	dev, _ := sheet.Step("developer")
	in := dev.EquivalentWithin(37.8, 37.8, 100, 0.1)
	// A tenth of a degree at 2.5 to 3.1 for 10 °C: less than 1.2 %.
	if in.Best != 100 || math.Abs(in.Low-100*math.Pow(3.1, -0.01)) > 1e-9 || math.Abs(in.High-100*math.Pow(3.1, 0.01)) > 1e-9 {
		t.Errorf("with a probe within 0.1 °C: %+v", in)
	}
}

// A bath that runs to completion counts in full within its limits and less
// below; a wash whose time counts both ways goes by the clock.
func TestRatesOfOtherSteps(t *testing.T) {
	sheet, _ := Builtin().Sheet("c41")
	bleach, _ := sheet.Step("bleach") // 35 to 41 °C
	for _, tt := range []struct {
		c    float64
		want Rates
	}{{38, Rates{1, 1, 1}}, {45, Rates{1, 1, 1}}, {35, Rates{1, 1, 1}}, {25, Rates{1 / 2.0, 1 / 4.0, 1 / 1.5}}} {
		near(t, "bleach", bleach.Rates(tt.c), tt.want, 1e-12)
	}
	sheet, _ = Builtin().Sheet("e6-7")
	wash, _ := sheet.Step("wash-1")
	near(t, "exact", wash.Equivalent(20, 38, 50), Rates{50, 50, 50}, 1e-12)
}
