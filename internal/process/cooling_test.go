package process

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// A bottle of soda pop at 72 °F in a refrigerator at 44 °F has cooled to
// 61 °F in half an hour: after another half hour 54.3 °F, and 50 °F after
// 92.6 min. Stewart, Calculus (7th ed.), section 3.8, example 3, from memory;
// the law is linear, so the scale does not matter.
func TestCoolingAgainstStewart(t *testing.T) {
	fit, err := CoolingCurve{Room: Exactly(44), Points: []CoolingPoint{
		{0, 72}, {1800, 61}, // the two readings, repeated: a fit wants more than two
		{0, 72}, {1800, 61}, {0, 72}, {1800, 61}, {0, 72}, {1800, 61},
	}}.Fit()
	if err != nil {
		t.Fatal(err)
	}
	c := Cooling{TauS: fit.TauS, TauLowS: fit.TauS, TauHighS: fit.TauS}
	if got := c.Between(Exactly(72), Exactly(44), 3600).Best; math.Abs(got-54.3) > 0.05 {
		t.Errorf("after an hour %.2f °F, the book has 54.3", got)
	}
	when, ok := coolingPath{72, 44, fit.TauS}.until(50)
	if !ok || math.Abs(when/60-92.6) > 0.05 {
		t.Errorf("at 50 °F after %.2f min, the book has 92.6", when/60)
	}
}

// A cup of coffee cools from 95 to 61 °C in 30 min in a room at 20 °C:
// T = 20 + 75 exp(-0.02 t), its mean over that half hour 76 °C (an exercise of
// the same book's chapter on the mean of a function, from memory). The
// integral along the curve is that mean where the rate is all but straight.
func TestMeanOverCoolingAgainstStewart(t *testing.T) {
	p := coolingPath{95, 20, 30 / math.Log((95.0-20)/(61-20))}
	if math.Abs(1/p.tau-0.02) > 0.0005 {
		t.Fatalf("k = %.4f a minute, the book has 0.02", 1/p.tau)
	}
	const slope = 1e-7
	c := curve{x: []float64{0}, y: []float64{0}, below: slope, above: slope}
	if mean := (c.integralOverCooling(p, 0, 30)/30 - 1) / slope; math.Abs(mean-76) > 0.5 {
		t.Errorf("mean %.2f °C, the book has 76", mean)
	}
}

// The integral of a factor's rate over a cooling has a closed form with the
// entire exponential integral (Abramowitz and Stegun 5.1.40 and 5.1.10).
func TestCooledAgainstExponentialIntegral(t *testing.T) {
	ein := func(x float64) float64 { // sum of x^n / (n n!)
		sum, term := 0.0, 1.0
		for n := 1; n < 60; n++ {
			term *= x / float64(n)
			sum += term / float64(n)
		}
		return sum
	}
	rapid.Check(t, func(rt *rapid.T) {
		q := rapid.Float64Range(1.2, 4).Draw(rt, "q")
		tau := rapid.Float64Range(600, 12000).Draw(rt, "tau")
		start, room := rapid.Float64Range(15, 40).Draw(rt, "start"), rapid.Float64Range(10, 30).Draw(rt, "room")
		from := rapid.Float64Range(0, 2000).Draw(rt, "from")
		to := from + rapid.Float64Range(1, 5000).Draw(rt, "for")
		s := &Step{Kind: Dev, AimC: 20, AimS: 300, Factor: Factor{q, q, q}}
		got := s.Cooled(Cooling{tau, tau, tau, 1}, Exactly(start), Exactly(room), from, to)
		k := math.Log(q) / 10
		d := k * (start - room)
		want := math.Exp(k*(room-20)) * ((to - from) + tau*(ein(d*math.Exp(-from/tau))-ein(d*math.Exp(-to/tau))))
		near(rt, "closed form", got, Exactly(want), 1e-8)
	})
}

// Low and high bound every cooling and kinetics within their ranges, parts
// add up, and the best estimate lies between.
func TestCooledBoundsTheTruth(t *testing.T) {
	in := func(rt *rapid.T, r Range, name string) float64 {
		return r.Low + rapid.Float64Range(0, 1).Draw(rt, name)*(r.High-r.Low)
	}
	rapid.Check(t, func(rt *rapid.T) {
		s, _ := anyStep(rt)
		start := Within(rapid.Float64Range(15, 40).Draw(rt, "start"), 0.1)
		room := Within(rapid.Float64Range(15, 30).Draw(rt, "room"), rapid.Float64Range(0, 4).Draw(rt, "doubt"))
		c := DefaultCooling
		dt := rapid.Float64Range(1, 4000).Draw(rt, "dt")
		got := s.Cooled(c, start, room, 0, dt)
		if got.Low > got.Best+tiny || got.Best > got.High+tiny {
			rt.Fatalf("%+v is out of order", got)
		}
		cut := dt * rapid.Float64Range(0, 1).Draw(rt, "cut")
		near(rt, "parts", s.Cooled(c, start, room, 0, cut).Plus(s.Cooled(c, start, room, cut, dt)), got, 1e-7)

		tau := in(rt, Range{Low: c.TauLowS, High: c.TauHighS}, "tau")
		p := coolingPath{in(rt, start, "true start"), in(rt, room, "true room"), tau}
		const n = 2000
		var truth Rates // the bounds of the kinetics at the true temperatures
		for i := range n {
			r := s.Rates(p.at(dt * (float64(i) + 0.5) / n))
			truth = truth.Plus(Rates{r.Best * dt / n, r.Low * dt / n, r.High * dt / n})
		}
		if truth.Low < got.Low*(1-1e-5) || truth.High > got.High*(1+1e-5) {
			rt.Fatalf("truth %+v is not within %+v", truth, got)
		}
	})
}

// The default is what its derivation says: (mass*4186 + tank) / (area * U).
func TestDefaultCoolingDerivation(t *testing.T) {
	tau := func(liters, tankJ, area, u float64) float64 { return (liters*4186 + tankJ) / (area * u) }
	for _, tt := range []struct{ got, want float64 }{
		{DefaultCooling.TauLowS, tau(0.3, 350, 0.10, 13)},
		{DefaultCooling.TauS, tau(0.5, 400, 0.10, 10)},
		{DefaultCooling.TauHighS, tau(1, 500, 0.12, 3.2)},
	} {
		if math.Abs(tt.got/tt.want-1) > 0.05 {
			t.Errorf("%.0f s, derived %.0f", tt.got, tt.want)
		}
	}
}

// noisy is a cooling as a probe reads it: noise of 0.03 °C, steps of 0.05.
func noisy(r *rand.Rand, start, room, tau, forS float64) CoolingCurve {
	c := CoolingCurve{Room: Exactly(room)}
	for t := 0.0; t <= forS; t += 5 {
		v := coolingPath{start, room, tau}.at(t) + 0.03*r.NormFloat64()
		c.Points = append(c.Points, CoolingPoint{t, math.Round(v*20) / 20})
	}
	return c
}

// fitCooling is how a unit cools by what it has shown: curves that say too
// little are left out, as the rules leave them out.
func fitCooling(curves []CoolingCurve) Cooling {
	var fits []CoolingFit
	for _, c := range curves {
		if f, err := c.Fit(); err == nil {
			fits = append(fits, f)
		}
	}
	return CombineFits(fits)
}

// The next cooling lies within the bounds in nineteen of twenty units or
// better, from one curve as from eight, and more curves bring them closer.
func TestFitCoolingCoversTheNext(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	width := map[int]float64{}
	for _, curves := range []int{1, 8} {
		covered, n := 0, 400
		for range n {
			unit := 1500 + 6000*r.Float64()
			each := func() float64 { return unit * math.Exp(0.06*r.NormFloat64()) }
			var seen []CoolingCurve
			for range curves {
				seen = append(seen, noisy(r, 37, 20+3*r.Float64(), each(), 300+600*r.Float64()))
			}
			c := fitCooling(seen)
			if c.Fits != curves {
				t.Fatalf("%d of %d curves were used", c.Fits, curves)
			}
			if next := each(); next >= c.TauLowS && next <= c.TauHighS {
				covered++
			}
			width[curves] += math.Log(c.TauHighS/c.TauLowS) / float64(n)
		}
		if covered < n*95/100 {
			t.Errorf("from %d curves: %d of %d within the bounds", curves, covered, n)
		}
	}
	if width[8] >= width[1] || width[1] > math.Log(2.2) {
		t.Errorf("widths (logarithm) %v: want more curves narrower, one curve within a factor of 2.2", width)
	}
}

// What a cooling shows in its first half a minute or more is taken in:
// nineteen of twenty within the bounds, nearer than what was assumed, the
// bounds never wider, and no reading moves it far.
func TestCoolingWithItsOwnBeginning(t *testing.T) {
	r := rand.New(rand.NewPCG(17, 5))
	covered, off, assumed := 0, 0.0, 0.0
	const n = 500
	for range n {
		tau := DefaultCooling.TauLowS * math.Pow(DefaultCooling.TauHighS/DefaultCooling.TauLowS, r.Float64())
		curve := noisy(r, 38, 21, tau, 30+240*r.Float64())
		curve.Room = Within(21+0.5*(2*r.Float64()-1), 0.5)
		c := DefaultCooling.WithBeginningOf(curve)
		if c.TauLowS <= tau && tau <= c.TauHighS {
			covered++
		}
		off += math.Abs(1/c.TauS - 1/tau)
		assumed += math.Abs(1/DefaultCooling.TauS - 1/tau)
		if w := 1/c.TauLowS - 1/c.TauHighS; w > 1/DefaultCooling.TauLowS-1/DefaultCooling.TauHighS || c.Fits == 0 {
			t.Errorf("%+v from a cooling of %g s", c, tau)
		}
	}
	if covered < n*95/100 || off > assumed/4 {
		t.Errorf("%d of %d within the bounds; off by %.2g, assumed by %.2g", covered, n, off/n, assumed/n)
	}
}

// One reading more moves what is taken for the cooling by a little only: nobody
// sees the moment to drain jump.
func TestCoolingWithMovesSmoothly(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 9))
	far, all := 0, 0
	for range 200 {
		curve := noisy(r, 38, 21, 1300+5000*r.Float64(), 200)
		was := DefaultCooling
		for i := range curve.Points {
			is := DefaultCooling.WithBeginningOf(CoolingCurve{Points: curve.Points[:i+1], Room: Within(21, 0.5)})
			moved := math.Abs(1/is.TauS-1/was.TauS) * DefaultCooling.TauS
			if all++; moved > 0.15 {
				far++
			}
			if moved > 0.75 {
				t.Errorf("reading %d: from %g to %g s", i, was.TauS, is.TauS)
			}
			was = is
		}
	}
	if far > all*4/100 {
		t.Errorf("%d of %d readings moved the rate of cooling by more than 15 %% of the assumed", far, all)
	}
}

// Readings that say nothing change nothing much, a liquid that is held does
// not stand for ever, and one at the room's temperature is no cooling.
func TestCoolingWithLittle(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	c := DefaultCooling
	for name, curve := range map[string]CoolingCurve{
		"none": {Room: Exactly(21)}, "two": {Points: noisy(r, 38, 21, 2500, 5).Points, Room: Exactly(21)},
		"at the room": noisy(r, 21.3, 21, 2500, 100),
	} {
		if got := c.WithBeginningOf(curve); got != c {
			t.Errorf("%s: %+v", name, got)
		}
	}
	vague := noisy(r, 38, 21, 2500, 60)
	vague.Room = Within(25, 12)
	if got := c.WithBeginningOf(vague); got.TauHighS < 4000 || got.TauLowS > 2200 || got.Fits != 0 {
		t.Errorf("in a room that is not known: %+v", got)
	}
	if got := c.WithBeginningOf(noisy(r, 38, 21, 1e9, 300)); got.TauS < 9000 || got.TauHighS > 4*c.TauHighS+1 || math.IsInf(got.TauS, 0) {
		t.Errorf("held: %+v", got)
	}
}

// A long cooling has many readings near the room, where the logarithm makes
// much of the probe's noise: the weights are there for that.
func TestFitWeighsReadingsNearTheRoomLess(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	weighted, plain := 0.0, 0.0
	for range 200 {
		c := CoolingCurve{Room: Exactly(21)}
		var x, y []float64
		for t := 0.0; t <= 5500; t += 20 { // to 1.8 °C from the room
			v := coolingPath{37, 21, 2500}.at(t) + 0.1*r.NormFloat64()
			c.Points = append(c.Points, CoolingPoint{t, v})
			x, y = append(x, t), append(y, math.Log(v-21))
		}
		f, err := c.Fit()
		if err != nil {
			t.Fatal(err)
		}
		weighted += math.Pow(f.TauS-2500, 2)
		plain += math.Pow(-1/fitLine(x, y, nil).b-2500, 2)
	}
	if weighted > 0.7*plain {
		t.Errorf("mean square error %.1f with weights, %.1f without", weighted/200, plain/200)
	}
}

func TestFitRefusesWhatSaysNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	good := noisy(r, 37, 21, 2500, 600)
	away := CoolingCurve{Room: Exactly(21)} // heated: it goes away from the room
	for i := range 60 {
		away.Points = append(away.Points, CoolingPoint{5 * float64(i), 30 + 0.05*float64(i)})
	}
	for name, c := range map[string]CoolingCurve{
		"too few":       {Points: good.Points[:6], Room: good.Room},
		"too short":     noisy(r, 37, 21, 2500, 45),
		"near the room": noisy(r, 23, 21, 2500, 600),
		"held":          noisy(r, 37, 21, 1e7, 600),
		"room unknown":  {Points: noisy(r, 26, 21, 2500, 600).Points, Room: Within(21, 3)},
		"heated":        away,
		"nothing":       {Room: Exactly(21)},
	} {
		if f, err := c.Fit(); err == nil {
			t.Errorf("%s: fitted %+v", name, f)
		}
	}
	if got := fitCooling([]CoolingCurve{{Room: Exactly(21)}}); got != DefaultCooling {
		t.Errorf("nothing to fit gives %+v, want the default", got)
	}
	warm := noisy(r, 8, 22, 3000, 900) // ice-cold water warms up by the same law
	if f, err := warm.Fit(); err != nil || math.Abs(f.TauS/3000-1) > 0.05 {
		t.Errorf("warming: %+v, %v; want about 3000 s", f, err)
	}
}
