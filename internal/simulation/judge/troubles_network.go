package judge

import (
	"time"

	"wetside/internal/simulation/sim"
)

func clockLost(d *scenarioDraw) {
	st := d.dev()
	d.describe("from %s", st.ID)
	d.add(sim.Fault{Kind: sim.ClockLost, Step: st.ID, After: d.inside(st, 0, 0.8), For: seconds(between(d.r, 60, 900))})
}

func networkCut(d *scenarioDraw) {
	st := d.dev()
	long := []float64{8, 60, 400}[d.r.IntN(3)]
	d.describe("%.0f s in %s", long, st.ID)
	d.add(sim.Fault{Kind: sim.NetworkCut, Step: st.ID, After: d.inside(st, 0, 0.8), For: seconds(long)})
}

func networkLoss(d *scenarioDraw) {
	st := d.dev()
	if d.r.IntN(4) == 0 {
		st = d.other(false)
	}
	long := []float64{4, 25, 90}[d.r.IntN(3)]
	d.describe("%.0f s in %s", long, st.ID)
	d.want.firstReasons = []string{"missing-evidence"}
	d.add(sim.Fault{Kind: sim.NetworkLoss, Step: st.ID, After: d.inside(st, 0.05, 0.5), For: seconds(long)})
}

func silence(d *scenarioDraw) {
	st := d.dev()
	long := []float64{25, 120, 400}[d.r.IntN(3)]
	d.describe("%.0f s in %s", long, st.ID)
	d.want.firstReasons = []string{"missing-evidence"}
	d.add(sim.Fault{Kind: sim.Silence, Step: st.ID, After: d.inside(st, 0.1, 0.6), For: seconds(long)})
}

func disturbed(k sim.Kind) func(*scenarioDraw) {
	return func(d *scenarioDraw) {
		odds := []float64{0.02, 0.1, 0.3}[d.r.IntN(3)]
		d.describe("%.0f %%", 100*odds)
		// Not so late that the message counts as lost for good.
		d.add(sim.Fault{Kind: k, After: 60 * time.Second, For: 20 * time.Minute, Strength: odds, Ramp: 15 * time.Second})
	}
}

func malformed(d *scenarioDraw) {
	rate := []float64{3, 12, 40}[d.r.IntN(3)]
	d.describe("%.0f a minute", rate)
	d.add(sim.Fault{Kind: sim.Malformed, After: 60 * time.Second, For: 10 * time.Minute, Strength: rate, TakesSeq: d.r.IntN(2) == 0})
}
