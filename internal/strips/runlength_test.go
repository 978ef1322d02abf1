package strips

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Average run lengths by simulation, held to the published ones:
// a 3 sigma chart 370 (exact: 1 / 0.0026998); all four Western Electric rules
// 91.75 (Champ and Woodall 1987, quoted by NIST 6.3.2); CUSUM k 0.5 h 5 465 in
// control and 10.4 at one sigma (NIST 6.3.2.3.1); EWMA lambda 0.2, L 3: about
// 560 and 10 (Lucas and Saccucci 1990 give 559.9 and 9.4 to 10; from memory).
func TestAverageRunLengths(t *testing.T) {
	tests := []struct {
		name    string
		signals []Signal
		shift   float64
		want    float64
		within  float64 // part of want: four times the simulation's own spread, and the difference of the exact variance
	}{
		{"3 sigma, in control", []Signal{WE1}, 0, 370.4, 0.08},
		{"3 sigma, one sigma off", []Signal{WE1}, 1, 43.9, 0.08},
		{"Western Electric, in control", []Signal{WE1, WE2, WE3, WE4}, 0, 91.75, 0.08},
		{"CUSUM, in control", []Signal{CUSUM}, 0, 465, 0.08},
		{"CUSUM, one sigma off", []Signal{CUSUM}, 1, 10.4, 0.04},
		{"EWMA, in control", []Signal{EWMA}, 0, 555, 0.09},
		{"EWMA, one sigma off", []Signal{EWMA}, 1, 9.7, 0.09},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			got := runLength(test.signals, test.shift, 3000)
			t.Logf("simulated %.1f, published %.1f", got, test.want)
			if math.Abs(got-test.want) > test.within*test.want {
				t.Errorf("average run length %.1f, published %.1f", got, test.want)
			}
		})
	}
}

// runLength is how many points it takes on average until one of the signals
// stands.
func runLength(signals []Signal, shift float64, tries int) float64 {
	wanted := map[Signal]bool{}
	for _, s := range signals {
		wanted[s] = true
	}
	random := rand.New(rand.NewPCG(7, uint64(len(signals))))
	total := 0
	for range tries {
		total += firstSignal(wanted, shift, random)
	}
	return float64(total) / float64(tries)
}

func firstSignal(wanted map[Signal]bool, shift float64, random *rand.Rand) int {
	var points []Point
	rules, average, sums := newRunRules(nil), newEWMA(Defaults), newCUSUM(Defaults)
	for i := 0; ; i++ {
		points = append(points, Point{Value: shift + random.NormFloat64(), Sigma: 1})
		rules.points = points
		seen := false
		see := func(s Signal, _ string) { seen = seen || wanted[s] }
		rules.judge(i, see)
		average.judge(points[i], see)
		sums.judge(points[i], see)
		if seen {
			return i + 1
		}
	}
}
