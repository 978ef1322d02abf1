package judge

import (
	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
)

// outages in seconds: a blink to a long one.
var outageS = []float64{18, 30, 60, 120, 300}

func powerCut(d *scenarioDraw) {
	st := d.dev()
	long := outageS[d.r.IntN(len(outageS))] * between(d.r, 0.9, 1.1)
	d.describe("%.0f s in %s", long, st.ID)
	d.want.firstReasons = []string{"outage"}
	d.add(sim.Fault{Kind: sim.PowerCut, Step: st.ID, After: d.inside(st, 0.05, 0.9), For: seconds(long)})
}

func restart(d *scenarioDraw) {
	st := d.dev()
	long := outageS[d.r.IntN(len(outageS))] * between(d.r, 0.9, 1.1)
	quiet := d.r.IntN(3) == 0
	d.describe("%.0f s in %s", long, st.ID)
	if quiet {
		d.describe("%.0f s in %s, quiet", long, st.ID)
	}
	d.want.firstReasons = []string{"outage"}
	after := d.inside(st, 0.05, 0.9)
	d.add(sim.Fault{Kind: sim.Restart, Step: st.ID, After: after, For: seconds(long), Quiet: quiet})
	if d.r.IntN(4) == 0 {
		d.strength += ", clock lost"
		d.add(sim.Fault{Kind: sim.ClockLost, Step: st.ID, After: after, For: seconds(long + 400)})
	}
}

func outageElsewhere(d *scenarioDraw) {
	st := d.other(false)
	long := []float64{30, 120, 500}[d.r.IntN(3)]
	kind := []sim.Kind{sim.PowerCut, sim.Restart}[d.r.IntN(2)]
	d.describe("%s %.0f s in %s", kind, long, st.ID)
	d.want.firstReasons = []string{"outage"}
	d.add(sim.Fault{Kind: kind, Step: st.ID, After: d.inside(st, 0.1, 0.8), For: seconds(long), Quiet: d.r.IntN(3) == 0})
}

func outageInPump(d *scenarioDraw) {
	st := d.dev()
	long := []float64{20, 60, 150}[d.r.IntN(3)]
	phase := []lab.Phase{lab.PhaseFilling, lab.PhaseDraining}[d.r.IntN(2)]
	kind := []sim.Kind{sim.PowerCut, sim.Restart}[d.r.IntN(2)]
	d.describe("%s %.0f s, %s %s", kind, long, phase, st.ID)
	d.want = expected{firstReasons: []string{"outage"}, leastVerdict: inspect, worstVerdict: outOfControl, pushUndefined: true}
	d.add(sim.Fault{Kind: kind, Step: st.ID, Phase: phase, After: seconds(between(d.r, 2, 6)), For: seconds(long)})
}

func batteryWeak(d *scenarioDraw) {
	st := d.dev()
	d.describe("2 %% in %s", st.ID)
	d.want.firstReasons = []string{"outage"}
	after := d.inside(st, 0.1, 0.5)
	d.add(sim.Fault{Kind: sim.BatteryWeak, Step: st.ID, After: after, Strength: 2})
	d.add(sim.Fault{Kind: sim.PowerCut, Step: st.ID, After: after, For: seconds(between(d.r, 150, 300))})
}

// turnedByHand is an outage in which a person turns the tank.
func turnedByHand(d *scenarioDraw) {
	st := d.dev()
	long := []float64{40, 90, 200}[d.r.IntN(3)]
	kind := []sim.Kind{sim.PowerCut, sim.Restart}[d.r.IntN(2)]
	after := d.inside(st, 0.2, 0.6)
	d.describe("%s %.0f s in %s", kind, long, st.ID)
	d.want.firstReasons = []string{"outage"}
	d.want.worstVerdict = inspect // the film was turned all the time: within or not, both are fair
	d.add(sim.Fault{Kind: kind, Step: st.ID, After: after, For: seconds(long)})
	d.add(sim.Fault{Kind: sim.HandTurned, Step: st.ID, After: after + seconds(2), For: seconds(long - 2)})
}

// drainedByHand is an outage in which a person drains the developer.
func drainedByHand(d *scenarioDraw) {
	st := d.dev()
	kind := []sim.Kind{sim.PowerCut, sim.Restart}[d.r.IntN(2)]
	set := d.setS(st)
	cut := set * between(d.r, 0.3, 0.7)
	drain := set * []float64{0.85, 1, 1.3}[d.r.IntN(3)]
	long := drain - cut + between(d.r, 20, 200)
	d.describe("%s %.0f s in %s, drained at %.0f s", kind, long, st.ID, drain)
	d.want.firstReasons = []string{"outage"}
	d.add(sim.Fault{Kind: kind, Step: st.ID, After: seconds(cut), For: seconds(long)})
	d.add(sim.Fault{Kind: sim.HandDrained, Step: st.ID, After: seconds(drain)})
}
