package judge

import (
	"time"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
)

func bathOffset(d *scenarioDraw) {
	st := d.dev()
	c := d.sign() * []float64{0.2, 0.5, 1, 2}[d.r.IntN(4)] * between(d.r, 0.9, 1.1)
	d.describe("%+.1f °C in %s", c, st.ID)
	d.want.firstReasons = warmOrCool(c)
	d.add(sim.Fault{Kind: sim.BathOffset, Step: st.ID, After: d.inside(st, 0, 0.5), Strength: c, Ramp: seconds(between(d.r, 10, 60))})
}

func warmOrCool(c float64) []string {
	if c > 0 {
		return []string{"bath-warm"}
	}
	return []string{"bath-cool"}
}

func offsetElsewhere(d *scenarioDraw) {
	st := d.other(false)
	c := d.sign() * []float64{1, 4, 7}[d.r.IntN(3)]
	d.describe("%+.0f °C in %s", c, st.ID)
	d.want.firstReasons = warmOrCool(c)
	d.add(sim.Fault{Kind: sim.BathOffset, Step: st.ID, After: d.inside(st, 0, 0.3), Strength: c, Ramp: 30 * time.Second})
}

func drift(d *scenarioDraw) {
	st := d.dev()
	c := d.sign() * []float64{0.2, 0.6, 1.2}[d.r.IntN(3)]
	d.describe("%+.1f °C in %s", c, st.ID)
	d.want.firstReasons, d.want.onlyByProbe = warmOrCool(c), true
	d.add(sim.Fault{Kind: sim.ThermistorDrift, Step: st.ID, After: d.inside(st, 0, 0.3), Strength: c, Ramp: 30 * time.Second})
}

func weakHeater(d *scenarioDraw) {
	st := d.dev()
	left := []float64{0, 0.02, 0.2}[d.r.IntN(3)]
	d.describe("%.0f %% left in %s", 100*left, st.ID)
	d.want.firstReasons = []string{"bath-cool", "bath-warm"} // a warm room warms black and white
	if d.process != "bw" {
		d.want.firstReasons = []string{"bath-cool"}
	}
	d.add(sim.Fault{Kind: sim.WeakHeater, Step: st.ID, After: d.inside(st, 0, 0.2), Strength: left})
}

func noRotation(d *scenarioDraw) {
	st := d.dev()
	if d.r.IntN(4) == 0 {
		st = d.other(false)
	}
	long := []float64{5, 20, 60}[d.r.IntN(3)]
	rpm := []float64{0, 2, 30}[d.r.IntN(3)]
	d.describe("%.0f rpm for %.0f s in %s", rpm, long, st.ID)
	d.want.firstReasons = []string{"rotation"}
	d.add(sim.Fault{Kind: sim.NoRotation, Step: st.ID, After: d.inside(st, 0.1, 0.6), For: seconds(long), Strength: rpm})
}

func noReading(d *scenarioDraw) {
	st := d.dev()
	if d.r.IntN(4) == 0 {
		st = d.other(false)
	}
	long := []float64{6, 20, 60}[d.r.IntN(3)]
	d.describe("%.0f s in %s", long, st.ID)
	d.want.firstReasons = []string{"missing-evidence"}
	d.add(sim.Fault{Kind: sim.NoBathReading, Step: st.ID, After: d.inside(st, 0.05, 0.6), For: seconds(long)})
}

func hotDryer(d *scenarioDraw) {
	over := []float64{8, 18, 28}[d.r.IntN(3)]
	d.describe("%+.0f °C", over)
	d.want.firstReasons = []string{"dryer"}
	if off := min(45, d.sheet.DryMaxC-4) + over - d.sheet.DryMaxC; d.sheet.DryMaxC > 0 && off > 1 {
		d.want.leastVerdict, d.want.worstVerdict = inspect, inspect
	} else if off >= -1 {
		d.want.worstVerdict = inspect // on its limit: the noise decides
	}
	d.add(sim.Fault{Kind: sim.HotDryer, Step: string(lab.PhaseDrying), After: 20 * time.Second, Strength: over})
}

// probeChecked is a probe that is off by more than its class allows, as the lab
// has found out by a check; the bath may be off besides.
func probeChecked(d *scenarioDraw) {
	off := d.sign() * between(d.r, 0.15, 0.6)
	within := 0.05
	d.plan.ProbeC = off
	d.probe = &lab.ProbeCheck{OffsetC: -off + between(d.r, -within, within), UncertaintyC: &within, Reference: "glass thermometer no. 3"}
	d.describe("reads %+.2f °C", off)
	// The unit holds by its own probe: the film gets the offset.
	d.want.firstReasons = []string{"bath-warm", "bath-cool"}
	if d.r.IntN(2) == 0 {
		st := d.dev()
		c := off + d.sign()*[]float64{0, 0.8}[d.r.IntN(2)]
		d.strength += ", bath off too"
		d.add(sim.Fault{Kind: sim.BathOffset, Step: st.ID, After: 0, Strength: c, Ramp: 5 * time.Second})
	}
}
