package strips

// FalseRate is how often a chart in control calls, by simulation: strips
// between two calls, on so many plots together.
type FalseRate struct {
	Plots       int     `json:"plots"`
	Rules       float64 `json:"rules"`        // all run rules and drift charts together
	ControlOnly float64 `json:"control_only"` // control limits at three sigma
}

// rateStrips is how many strips are simulated for a FalseRate.
const rateStrips = 4000

// FalseRateOf simulates plots that are in control, each for itself; normal gives
// standard normal deviates. The plots of one strip are related in truth, so
// that they call together a little more seldom than this says.
func FalseRateOf(plots int, s Settings, normal func() float64) FalseRate {
	any, control := make([]bool, rateStrips), make([]bool, rateStrips)
	for range plots {
		points := make([]Point, rateStrips)
		for i := range points {
			points[i] = Point{Value: normal(), Sigma: 1, Control: 3, Side: Both}
		}
		for _, m := range Chart(points, s) {
			any[m.Point] = true
			if m.Signal == ControlLimit {
				control[m.Point] = true
			}
		}
	}
	return FalseRate{Plots: plots, Rules: every(any), ControlOnly: every(control)}
}

// every gives how many strips there are to one that calls; 0 where none does.
func every(calls []bool) float64 {
	n := 0
	for _, c := range calls {
		if c {
			n++
		}
	}
	if n == 0 {
		return 0
	}
	return float64(len(calls)) / float64(n)
}
