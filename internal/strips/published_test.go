package strips

import (
	"math"
	"slices"
	"testing"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.Abs(got-want) > tolerance {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, tolerance)
	}
}

// NIST/SEMATECH e-Handbook 6.3.2.4: lambda 0.3, target 50, s 2.0539, limits
// 52.5884 and 47.4115 (the printed lower one is truncated, hence 1e-3). The
// narrower limits of the first five points are computed from its formula.
func TestEWMAOfTheHandbook(t *testing.T) {
	x := []float64{52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	printed := []float64{50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99}
	upper := []float64{51.8485, 52.2564, 52.4314, 52.5127, 52.5516}
	e := newEWMA(Settings{Lambda: 0.3, Width: 3})
	const target, s = 50, 2.0539
	for i, v := range x {
		e.judge(Point{Value: v, Aim: target, Sigma: s}, func(signal Signal, detail string) {
			t.Errorf("point %d: %s (%s); the handbook calls it in control", i+1, signal, detail)
		})
		near(t, "average", target+e.z*s, printed[i], 0.005001)
		if i < len(upper) {
			near(t, "upper limit", target+e.limit()*s, upper[i], 5e-5)
		}
	}
	near(t, "upper limit at last", target+e.limit()*s, 52.5884, 1e-3)
	near(t, "lower limit at last", target-e.limit()*s, 47.4115, 1e-3)
}

// NIST/SEMATECH e-Handbook 6.3.2.3: target 325, k 0.3175, h 4.1959, first
// signal at 14. The printed column rounds halves both ways, hence 0.006.
func TestCUSUMOfTheHandbook(t *testing.T) {
	x := []float64{324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350}
	high := []float64{0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04}
	low := []float64{0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31, 0, 0, 0, 0, 0, 0, 0, 0, 0}
	c := newCUSUM(Settings{K: 0.3175, H: 4.1959})
	first := 0
	for i, v := range x {
		c.judge(Point{Value: v, Aim: 325, Sigma: 1}, func(Signal, string) {
			if first == 0 {
				first = i + 1
			}
		})
		near(t, "sum above", c.high, high[i], 0.006)
		near(t, "sum below", c.low, low[i], 0.006)
	}
	if first != 14 {
		t.Errorf("first signal at %d, the handbook has 14", first)
	}
}

// NIST/SEMATECH e-Handbook 6.3.2.2: mean 50.81, mean moving range 1.8778,
// limits 55.8041 and 45.8159, in control.
func TestIndividualsOfTheHandbook(t *testing.T) {
	x := []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	aim, sigma, ok := baselineOf(x)
	if !ok {
		t.Fatal("ten values set no baseline")
	}
	near(t, "mean", aim, 50.81, 1e-9)
	near(t, "mean moving range", sigma*d2, 1.8778, 5e-5)
	near(t, "upper limit", aim+3*sigma, 55.8041, 5e-5)
	near(t, "lower limit", aim-3*sigma, 45.8159, 5e-5)
	for i, v := range x {
		limits(Point{Value: v, Aim: aim, Sigma: sigma, Control: 3 * sigma, Side: Both}, func(s Signal, d string) {
			t.Errorf("point %d: %s; the handbook calls it in control", i+1, d)
		})
	}
}

// The run rules as they are published (Western Electric 1956 as NIST 6.3.2
// quotes them; Nelson, J. Quality Technology, October 1984, test 3): a point
// exactly on a zone's line belongs to the inner zone, and nothing restarts.
func TestRunRules(t *testing.T) {
	tests := []struct {
		name   string
		values []float64 // in sigmas from the aim
		signal Signal
		at     []int // points at which it stands, from 1
	}{
		{"one beyond 3", []float64{0, 3.01, 0}, WE1, []int{2}},
		{"on 3 is inside", []float64{0, 3, -3, 0}, WE1, nil},
		{"below counts as above does", []float64{0, -3.5}, WE1, []int{2}},
		{"2 of 3 beyond 2", []float64{2.1, 0, 2.1}, WE2, []int{3}},
		{"2 of 3, two together", []float64{0, 2.1, 2.1, 0}, WE2, []int{3}},
		{"2 of 3 on two sides", []float64{2.1, 0, -2.1}, WE2, nil},
		{"2 of 4", []float64{2.1, 0, 0, 2.1}, WE2, nil},
		{"on 2 is inside", []float64{2, 2, 2}, WE2, nil},
		{"the last one must be among them", []float64{2.1, 2.1, 0, 2.1}, WE2, []int{2, 4}},
		{"4 of 5 beyond 1", []float64{1.1, 1.1, 0, 1.1, 1.1}, WE3, []int{5}},
		{"4 of 5, the odd one on the other side", []float64{1.1, 1.1, -3.5, 1.1, 1.1}, WE3, []int{5}},
		{"4 of 6", []float64{1.1, 1.1, 0, 0, 1.1, 1.1}, WE3, nil},
		{"on 1 is inside", []float64{1, 1, 1, 1, 1}, WE3, nil},
		{"8 in a row", []float64{.1, .2, .1, .2, .1, .2, .1, .2, .1}, WE4, []int{8, 9}},
		{"a point on the aim ends the row", []float64{.1, .2, .1, 0, .1, .2, .1, .2, .1}, WE4, nil},
		{"six rising", []float64{-.2, -.1, 0, .1, .2, .3}, Nelson3, []int{6}},
		{"six falling, and a seventh", []float64{.5, .4, .3, .2, .1, 0, -.1}, Nelson3, []int{6, 7}},
		{"five rising", []float64{.5, 0, .1, .2, .3, .4, .4, .5}, Nelson3, nil},
		{"equal is not rising", []float64{0, .1, .2, .2, .3, .4, .5}, Nelson3, nil},
		{"turned round", []float64{0, .1, .2, .3, .2, .1, 0, -.1}, Nelson3, nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			var at []int
			for _, m := range Chart(scaled(test.values, 0.30, 0.02), Defaults) {
				if m.Signal == test.signal {
					at = append(at, m.Point+1)
				}
			}
			if !slices.Equal(at, test.at) {
				t.Errorf("%s at %v, want %v", test.signal, at, test.at)
			}
		})
	}
}

// scaled gives densities that lie so many sigmas from the aim: what is exact
// in sigmas is not in binary.
func scaled(sigmas []float64, aim, sigma float64) []Point {
	points := make([]Point, len(sigmas))
	for i, s := range sigmas {
		points[i] = Point{Value: aim + s*sigma, Aim: aim, Sigma: sigma}
	}
	return points
}

// C-41 strips: D-min +0.03 and +0.05 (one side), LD ±0.06 and ±0.08, HD-LD
// ±0.07 and ±0.09. Source: Kodak Z-131 Table 5-1, quoted elsewhere (a digest).
func TestLimitsAreStrict(t *testing.T) {
	tests := []struct {
		name            string
		value, aim      float64
		action, control float64
		side            Side
		want            []Signal
	}{
		{"on the action limit", 0.36, 0.30, 0.06, 0.08, Both, nil},
		{"beyond the action limit", 0.37, 0.30, 0.06, 0.08, Both, []Signal{ActionLimit}},
		{"on the control limit", 0.38, 0.30, 0.06, 0.08, Both, []Signal{ActionLimit}},
		{"beyond the control limit", 0.39, 0.30, 0.06, 0.08, Both, []Signal{ControlLimit, ActionLimit}},
		{"below it", 0.21, 0.30, 0.06, 0.08, Both, []Signal{ControlLimit, ActionLimit}},
		{"D-min low is no fault", 0.10, 0.22, 0.03, 0.05, High, nil},
		{"D-min high", 0.28, 0.22, 0.03, 0.05, High, []Signal{ControlLimit, ActionLimit}},
		{"on the D-min action limit", 0.25, 0.22, 0.03, 0.05, High, nil},
		{"one side, low", 0.28, 0.22, 0.03, 0.05, Low, nil},
		{"no limits", 9, 0.22, 0, 0, Both, nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			var got []Signal
			limits(Point{Value: test.value, Aim: test.aim, Action: test.action, Control: test.control, Side: test.side},
				func(s Signal, _ string) { got = append(got, s) })
			if !slices.Equal(got, test.want) {
				t.Errorf("got %v, want %v", got, test.want)
			}
		})
	}
}
