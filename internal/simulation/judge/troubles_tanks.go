package judge

import (
	"time"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
)

func stuckFloat(d *scenarioDraw) {
	closed := float64(d.r.IntN(2))
	d.describe("%.0f", closed)
	d.add(sim.Fault{Kind: sim.StuckFloat, Strength: closed, Container: "waste", After: 10 * time.Minute, For: seconds(between(d.r, 60, 300))})
	d.want.firstReasons = []string{"step-long"} // a closed float makes the unit wait with film in the bath
}

func stuckLevel(d *scenarioDraw) {
	c := []string{"waste", "wash", d.process + "/" + d.sheet.Steps[0].ID}[d.r.IntN(3)]
	d.describe("%s", c)
	d.add(sim.Fault{Kind: sim.StuckLevel, Container: c})
}

func leak(d *scenarioDraw) {
	rate := []float64{0.05, 0.3, 1}[d.r.IntN(3)]
	c := []string{"waste", "wash"}[d.r.IntN(2)]
	d.describe("%.2f l/min from %s", rate, c)
	d.want.firstReasons = []string{"step-long"}
	d.add(sim.Fault{Kind: sim.Leak, Container: c, Strength: rate, After: 5 * time.Minute, For: 4 * time.Minute})
}

func wasteFull(d *scenarioDraw) {
	full := []float64{0.8, 0.93, 0.99}[d.r.IntN(3)]
	d.describe("%.0f %%", 100*full)
	d.want.firstReasons = []string{"step-long"}
	d.add(sim.Fault{Kind: sim.WasteFull, Strength: full, For: seconds(between(d.r, 500, 1500))})
}

func washLow(d *scenarioDraw) {
	left := []float64{0.02, 0.06, 0.1}[d.r.IntN(3)]
	d.describe("%.0f %%", 100*left)
	d.want.firstReasons = []string{"step-long"}
	d.add(sim.Fault{Kind: sim.WashLow, Strength: left, For: seconds(between(d.r, 500, 1500))})
}

func bottleShort(d *scenarioDraw) {
	st := d.other(true)
	left := []float64{0.02, 0.06}[d.r.IntN(2)]
	d.describe("%.0f %% of %s", 100*left, st.ID)
	d.want.firstReasons, d.want.worstVerdict = []string{"chemistry"}, inspect
	d.add(sim.Fault{Kind: sim.BottleShort, Container: d.process + "/" + st.ID, Strength: left, For: seconds(between(d.r, 700, 1500))})
}

func fillShort(d *scenarioDraw) {
	st := d.dev()
	left := []float64{0.3, 0.6}[d.r.IntN(2)]
	d.describe("%.0f %% of %s", 100*left, st.ID)
	d.want = expected{firstReasons: []string{"chemistry"}, leastVerdict: inspect, worstVerdict: outOfControl, pushUndefined: true}
	d.add(sim.Fault{Kind: sim.FillShort, Step: st.ID, Strength: left})
}

func pumpWeak(d *scenarioDraw) {
	st := d.dev()
	phase := []lab.Phase{lab.PhaseFilling, lab.PhaseDraining}[d.r.IntN(2)]
	left := []float64{0, 0.1}[d.r.IntN(2)]
	long := []float64{40, 120}[d.r.IntN(2)]
	d.describe("%.0f %% for %.0f s, %s %s", 100*left, long, phase, st.ID)
	d.want = expected{firstReasons: []string{"step-long", "chemistry"}, leastVerdict: inspect, worstVerdict: outOfControl, pushUndefined: true}
	d.add(sim.Fault{Kind: sim.PumpWeak, Step: st.ID, Phase: phase, After: seconds(1), For: seconds(long), Strength: left})
}
