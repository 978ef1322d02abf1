package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
)

// The dryer has cooled down when it was dryerBackC below its limit for dryerBackS
// seconds: a dead band, so that the alert does not flicker.
const (
	dryerBackC = 1
	dryerBackS = 60
)

// judgeDryer judges one reading of the dryer.
func (u *Unit) judgeDryer(v float64, t time.Time) {
	sh, fig := u.sheet(), u.fig()
	if sh == nil || sh.DryMaxC == 0 || !u.judged() {
		return
	}
	a := alertKey{rule: RuleDryerTemperature, run: true}
	if u.open(a) != nil {
		if due, proved := u.held("dryer:in", v <= sh.DryMaxC-dryerBackC, t, dryerBackS); proved {
			u.dropHolds("dryer")
			u.clear(a, due)
		}
		return
	}
	due, proved := u.held("dryer", v > sh.DryMaxC, t, fig.DryerHoldS)
	if !proved {
		return
	}
	u.dropHolds("dryer")
	u.s.Run.DryerHot = true
	u.raise(a, due, alertContent{priority: lab.High,
		message: fmt.Sprintf("Dryer %.0f °C (%s: at most %.0f °C)", v, sh.Name, sh.DryMaxC),
		facts:   map[string]any{"dryer_c": lab.Round(v, 1), "max_c": sh.DryMaxC}})
}
