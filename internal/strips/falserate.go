package strips

// FalseRate is how often the charts signal falsely on a process in control, by
// simulation: strips between two false signals, over all plots together. A
// signal that goes on from one strip to the next counts once. 0: never in the
// simulation.
type FalseRate struct {
	Plots       int                `json:"plots" doc:"How many figures are plotted."`
	Rules       float64            `json:"rules" doc:"Strips between two false calls, all rules together."`
	ControlOnly float64            `json:"control_only" doc:"Strips between two false calls of control limits at three sigma."`
	Signals     map[Signal]float64 `json:"signals" doc:"Strips between two false calls of each signal alone; 0: never in the simulation."`
	// Stops is how often the gate would stop: two strips in a row beyond a
	// control limit at three sigma.
	Stops float64 `json:"stops" doc:"Strips between two false stops of the gate: two in a row beyond a control limit at three sigma; 0: never in the simulation."`
}

// RateStrips is how many strips are simulated for a FalseRate where nothing
// else is asked.
const RateStrips = 4000

// FalseRateOf simulates strips of so many plots that are in control, each plot
// for itself; normal gives standard normal deviates. Limits stand at the lab's
// own two and three sigma. In truth the plots of one strip move together, so that
// there are somewhat fewer false signals than this says.
func FalseRateOf(plots, strips int, s Settings, normal func() float64) FalseRate {
	any := make([]bool, strips)
	calls := map[Signal][]bool{}
	for _, signal := range AllSignals {
		calls[signal] = make([]bool, strips)
	}
	for range plots {
		last := map[Signal]int{} // the strip, from 1, at which a signal stood last
		points := make([]Point, strips)
		for i := range points {
			points[i] = Point{Value: normal(), Sigma: 1, Action: ownActionSigmas, Control: ownControlSigmas, Side: Both}
		}
		for _, m := range Chart(points, s) {
			begins := last[m.Signal] == 0 || last[m.Signal] < m.Point
			last[m.Signal] = m.Point + 1
			if m.Signal == ControlLimit || m.Signal == ActionLimit || begins {
				calls[m.Signal][m.Point] = true
			}
			any[m.Point] = any[m.Point] || begins && m.Signal != ActionLimit
		}
	}
	out := FalseRate{Plots: plots, Rules: stripsPerCall(any), ControlOnly: stripsPerCall(calls[ControlLimit]), Signals: map[Signal]float64{}}
	for signal, c := range calls {
		out.Signals[signal] = stripsPerCall(c)
	}
	twice := make([]bool, strips)
	for i := 1; i < strips; i++ {
		twice[i] = calls[ControlLimit][i-1] && calls[ControlLimit][i]
	}
	out.Stops = stripsPerCall(twice)
	return out
}

// stripsPerCall is how many strips there are to one with a false signal; 0 where
// there is none.
func stripsPerCall(calls []bool) float64 {
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
