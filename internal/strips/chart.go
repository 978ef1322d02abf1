package strips

import (
	"fmt"
	"math"
	"strconv"
)

// Signal is the name of a finding on a chart.
type Signal string

// The signals, in the order in which they are given for one point.
const (
	ControlLimit Signal = "control-limit" // beyond the control limit
	ActionLimit  Signal = "action-limit"  // beyond the action limit
	WE1          Signal = "we-1"          // 1 beyond 3 sigma
	WE2          Signal = "we-2"          // 2 of 3 beyond 2 sigma on one side
	WE3          Signal = "we-3"          // 4 of 5 beyond 1 sigma on one side
	WE4          Signal = "we-4"          // 8 in a row on one side
	Nelson3      Signal = "nelson-3"      // six in a row rising or falling
	EWMA         Signal = "ewma"          // exponentially weighted moving average
	CUSUM        Signal = "cusum"         // two one-sided cumulative sums
)

// AllSignals lists them in that order.
var AllSignals = []Signal{ControlLimit, ActionLimit, WE1, WE2, WE3, WE4, Nelson3, EWMA, CUSUM}

// Settings are the figures of the drift charts. Use Defaults where nothing
// else is asked for.
type Settings struct {
	Lambda float64 // weight of the newest value in the EWMA, over 0 to 1
	Width  float64 // of the EWMA's limits, in its own sigmas
	K      float64 // slack of the CUSUM, in sigmas
	H      float64 // decision interval of the CUSUM, in sigmas
}

// Defaults are the usual figures of the drift charts. They show a shift of one
// sigma after about ten points, and signal falsely about every 465 points
// (CUSUM, both sides together).
var Defaults = Settings{Lambda: 0.2, Width: 3, K: 0.5, H: 5}

// Check says which figure cannot be used, and what could.
func (s Settings) Check() error {
	for _, f := range []struct {
		name     string
		v        float64
		low, top float64
	}{
		{"lambda", s.Lambda, 0.001, 1},
		{"width", s.Width, 0.1, 100},
		{"k", s.K, 0, 100},
		{"h", s.H, 0.1, 1000},
	} {
		if !(f.v >= f.low && f.v <= f.top) { // NaN too
			return fmt.Errorf("%s must be %g to %g; got %g", f.name, f.low, f.top, f.v)
		}
	}
	return nil
}

// Mark is a signal at the point that completes it.
type Mark struct {
	Point  int // index into the points
	Signal Signal
	Detail string // what was seen, for a person
}

// Chart gives the marks of one parameter's points, in their order. The points
// must be in order of time; their numbers must be finite.
func Chart(points []Point, s Settings) []Mark {
	var marks []Mark
	runs, average, sums := newRunRules(points), newEWMA(s), newCUSUM(s)
	for i, p := range points {
		add := func(signal Signal, detail string) {
			marks = append(marks, Mark{Point: i, Signal: signal, Detail: detail})
		}
		limits(p, add)
		runs.judge(i, add)
		if p.Sigma > 0 {
			average.judge(p, add)
			sums.judge(p, add)
		}
	}
	return marks
}

// limits tells of a value beyond its action or control limit. Beyond the
// control limit it is beyond the action limit as well, and both are told.
func limits(p Point, add func(Signal, string)) {
	for _, l := range []struct {
		signal Signal
		name   string
		width  float64
	}{{ControlLimit, "control limit", p.Control}, {ActionLimit, "action limit", p.Action}} {
		if l.width <= 0 {
			continue
		}
		if p.Side != Low && p.beyond(+1, l.width) {
			add(l.signal, fmt.Sprintf("%s is above the %s %s (aim %s + %s)", num(p.Value), l.name, num(p.Aim+l.width), num(p.Aim), num(l.width)))
		}
		if p.Side != High && p.beyond(-1, l.width) {
			add(l.signal, fmt.Sprintf("%s is below the %s %s (aim %s - %s)", num(p.Value), l.name, num(p.Aim-l.width), num(p.Aim), num(l.width)))
		}
	}
}

// num writes a number as a person would: no binary tails.
func num(v float64) string {
	s := strconv.FormatFloat(v, 'g', 7, 64)
	if r, err := strconv.ParseFloat(s, 64); err == nil && r != 0 && math.Abs(r) >= 1e-4 && math.Abs(r) < 1e9 {
		return strconv.FormatFloat(r, 'f', -1, 64)
	}
	return s
}
