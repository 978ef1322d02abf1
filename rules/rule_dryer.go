package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
)

// dryerBackC and dryerBackS are the dryer's dead band: how far below its limit
// it must be, and for how long, before it counts as cooled down.
const (
	dryerBackC = 1
	dryerBackS = 60
)

// dryer judges one reading of the dryer.
func (f *Unit) dryer(v float64, t time.Time) {
	sh, fig := f.sheet(), f.fig()
	if sh == nil || sh.DryMaxC == 0 || !f.judged() {
		return
	}
	a := alertKey{rule: RuleDryerTemperature, run: true}
	if f.open(a) != nil {
		if due, proved := f.held("dryer:in", v <= sh.DryMaxC-dryerBackC, t, dryerBackS); proved {
			f.drop("dryer")
			f.clear(a, due)
		}
		return
	}
	due, proved := f.held("dryer", v > sh.DryMaxC, t, fig.DryerHoldS)
	if !proved {
		return
	}
	f.drop("dryer")
	f.s.Run.DryerHot = true
	f.raise(a, due, alertContent{priority: lab.High,
		message: fmt.Sprintf("Dryer %.0f °C (%s: at most %.0f °C)", v, sh.Name, sh.DryMaxC),
		facts:   map[string]any{"dryer_c": lab.Round(v, 1), "max_c": sh.DryMaxC}})
}
