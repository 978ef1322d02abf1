package judge

import (
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
)

// outages in seconds: a blink to a long one.
var outageS = []float64{18, 30, 60, 120, 300}

func powerCut(d *draw) {
	st := d.dev()
	long := outageS[d.r.IntN(len(outageS))] * between(d.r, 0.9, 1.1)
	d.how("%.0f s in %s", long, st.ID)
	d.want.first = []string{"outage"}
	d.add(sim.Fault{Kind: sim.PowerCut, Step: st.ID, After: d.inside(st, 0.05, 0.9), For: seconds(long)})
}

func restart(d *draw) {
	st := d.dev()
	long := outageS[d.r.IntN(len(outageS))] * between(d.r, 0.9, 1.1)
	quiet := d.r.IntN(3) == 0
	d.how("%.0f s in %s", long, st.ID)
	if quiet {
		d.how("%.0f s in %s, quiet", long, st.ID)
	}
	d.want.first = []string{"outage"}
	after := d.inside(st, 0.05, 0.9)
	d.add(sim.Fault{Kind: sim.Restart, Step: st.ID, After: after, For: seconds(long), Quiet: quiet})
	if d.r.IntN(4) == 0 {
		d.strength += ", clock lost"
		d.add(sim.Fault{Kind: sim.ClockLost, Step: st.ID, After: after, For: seconds(long + 400)})
	}
}

func outageElsewhere(d *draw) {
	st := d.other(false)
	long := []float64{30, 120, 500}[d.r.IntN(3)]
	kind := []sim.Kind{sim.PowerCut, sim.Restart}[d.r.IntN(2)]
	d.how("%s %.0f s in %s", kind, long, st.ID)
	d.want.first = []string{"outage"}
	d.add(sim.Fault{Kind: kind, Step: st.ID, After: d.inside(st, 0.1, 0.8), For: seconds(long), Quiet: d.r.IntN(3) == 0})
}

func outageInPump(d *draw) {
	st := d.dev()
	long := []float64{20, 60, 150}[d.r.IntN(3)]
	phase := []lab.Phase{lab.PhaseFilling, lab.PhaseDraining}[d.r.IntN(2)]
	kind := []sim.Kind{sim.PowerCut, sim.Restart}[d.r.IntN(2)]
	d.how("%s %.0f s, %s %s", kind, long, phase, st.ID)
	d.want = want{first: []string{"outage"}, least: inspect, upTo: outOfControl, noPush: true}
	d.add(sim.Fault{Kind: kind, Step: st.ID, Phase: phase, After: seconds(between(d.r, 2, 6)), For: seconds(long)})
}

func batteryWeak(d *draw) {
	st := d.dev()
	d.how("2 %% in %s", st.ID)
	d.want.first = []string{"outage"}
	after := d.inside(st, 0.1, 0.5)
	d.add(sim.Fault{Kind: sim.BatteryWeak, Step: st.ID, After: after, Strength: 2})
	d.add(sim.Fault{Kind: sim.PowerCut, Step: st.ID, After: after, For: seconds(between(d.r, 150, 300))})
}

// turnedByHand is an outage in which a person turns the tank.
func turnedByHand(d *draw) {
	st := d.dev()
	long := []float64{40, 90, 200}[d.r.IntN(3)]
	kind := []sim.Kind{sim.PowerCut, sim.Restart}[d.r.IntN(2)]
	after := d.inside(st, 0.2, 0.6)
	d.how("%s %.0f s in %s", kind, long, st.ID)
	d.want.first = []string{"outage"}
	d.want.upTo = inspect // the film was turned all the time: within or not, both are fair
	d.add(sim.Fault{Kind: kind, Step: st.ID, After: after, For: seconds(long)})
	d.add(sim.Fault{Kind: sim.HandTurned, Step: st.ID, After: after + seconds(2), For: seconds(long - 2)})
}

// drainedByHand is an outage in which a person drains the developer.
func drainedByHand(d *draw) {
	st := d.dev()
	kind := []sim.Kind{sim.PowerCut, sim.Restart}[d.r.IntN(2)]
	set := d.setS(st)
	cut := set * between(d.r, 0.3, 0.7)
	drain := set * []float64{0.85, 1, 1.3}[d.r.IntN(3)]
	long := drain - cut + between(d.r, 20, 200)
	d.how("%s %.0f s in %s, drained at %.0f s", kind, long, st.ID, drain)
	d.want.first = []string{"outage"}
	d.add(sim.Fault{Kind: kind, Step: st.ID, After: seconds(cut), For: seconds(long)})
	d.add(sim.Fault{Kind: sim.HandDrained, Step: st.ID, After: seconds(drain)})
}

func clockLost(d *draw) {
	st := d.dev()
	d.how("from %s", st.ID)
	d.add(sim.Fault{Kind: sim.ClockLost, Step: st.ID, After: d.inside(st, 0, 0.8), For: seconds(between(d.r, 60, 900))})
}

func networkCut(d *draw) {
	st := d.dev()
	long := []float64{8, 60, 400}[d.r.IntN(3)]
	d.how("%.0f s in %s", long, st.ID)
	d.add(sim.Fault{Kind: sim.NetworkCut, Step: st.ID, After: d.inside(st, 0, 0.8), For: seconds(long)})
}

func networkLoss(d *draw) {
	st := d.dev()
	if d.r.IntN(4) == 0 {
		st = d.other(false)
	}
	long := []float64{4, 25, 90}[d.r.IntN(3)]
	d.how("%.0f s in %s", long, st.ID)
	d.want.first = []string{"missing-evidence"}
	d.add(sim.Fault{Kind: sim.NetworkLoss, Step: st.ID, After: d.inside(st, 0.05, 0.5), For: seconds(long)})
}

func silence(d *draw) {
	st := d.dev()
	long := []float64{25, 120, 400}[d.r.IntN(3)]
	d.how("%.0f s in %s", long, st.ID)
	d.want.first = []string{"missing-evidence"}
	d.add(sim.Fault{Kind: sim.Silence, Step: st.ID, After: d.inside(st, 0.1, 0.6), For: seconds(long)})
}

func mischief(k sim.Kind) func(*draw) {
	return func(d *draw) {
		odds := []float64{0.02, 0.1, 0.3}[d.r.IntN(3)]
		d.how("%.0f %%", 100*odds)
		// Not so late that the message counts as lost for good.
		d.add(sim.Fault{Kind: k, After: 60 * time.Second, For: 20 * time.Minute, Strength: odds, Ramp: 15 * time.Second})
	}
}

func malformed(d *draw) {
	rate := []float64{3, 12, 40}[d.r.IntN(3)]
	d.how("%.0f a minute", rate)
	d.add(sim.Fault{Kind: sim.Malformed, After: 60 * time.Second, For: 10 * time.Minute, Strength: rate, TakesSeq: d.r.IntN(2) == 0})
}

func stuckFloat(d *draw) {
	closed := float64(d.r.IntN(2))
	d.how("%.0f", closed)
	d.add(sim.Fault{Kind: sim.StuckFloat, Strength: closed, Container: "waste", After: 10 * time.Minute, For: seconds(between(d.r, 60, 300))})
	d.want.first = []string{"step-long"} // a closed float makes the unit wait with film in the bath
}

func stuckLevel(d *draw) {
	c := []string{"waste", "wash", d.process + "/" + d.sheet.Steps[0].ID}[d.r.IntN(3)]
	d.how("%s", c)
	d.add(sim.Fault{Kind: sim.StuckLevel, Container: c})
}

func leak(d *draw) {
	rate := []float64{0.05, 0.3, 1}[d.r.IntN(3)]
	c := []string{"waste", "wash"}[d.r.IntN(2)]
	d.how("%.2f l/min from %s", rate, c)
	d.want.first = []string{"step-long"}
	d.add(sim.Fault{Kind: sim.Leak, Container: c, Strength: rate, After: 5 * time.Minute, For: 4 * time.Minute})
}

func wasteFull(d *draw) {
	full := []float64{0.8, 0.93, 0.99}[d.r.IntN(3)]
	d.how("%.0f %%", 100*full)
	d.want.first = []string{"step-long"}
	d.add(sim.Fault{Kind: sim.WasteFull, Strength: full, For: seconds(between(d.r, 500, 1500))})
}

func washLow(d *draw) {
	left := []float64{0.02, 0.06, 0.1}[d.r.IntN(3)]
	d.how("%.0f %%", 100*left)
	d.want.first = []string{"step-long"}
	d.add(sim.Fault{Kind: sim.WashLow, Strength: left, For: seconds(between(d.r, 500, 1500))})
}

func bottleShort(d *draw) {
	st := d.other(true)
	left := []float64{0.02, 0.06}[d.r.IntN(2)]
	d.how("%.0f %% of %s", 100*left, st.ID)
	d.want.first, d.want.upTo = []string{"chemistry"}, inspect
	d.add(sim.Fault{Kind: sim.BottleShort, Container: d.process + "/" + st.ID, Strength: left, For: seconds(between(d.r, 700, 1500))})
}

func fillShort(d *draw) {
	st := d.dev()
	left := []float64{0.3, 0.6}[d.r.IntN(2)]
	d.how("%.0f %% of %s", 100*left, st.ID)
	d.want = want{first: []string{"chemistry"}, least: inspect, upTo: outOfControl, noPush: true}
	d.add(sim.Fault{Kind: sim.FillShort, Step: st.ID, Strength: left})
}

func pumpWeak(d *draw) {
	st := d.dev()
	phase := []lab.Phase{lab.PhaseFilling, lab.PhaseDraining}[d.r.IntN(2)]
	left := []float64{0, 0.1}[d.r.IntN(2)]
	long := []float64{40, 120}[d.r.IntN(2)]
	d.how("%.0f %% for %.0f s, %s %s", 100*left, long, phase, st.ID)
	d.want = want{first: []string{"step-long", "chemistry"}, least: inspect, upTo: outOfControl, noPush: true}
	d.add(sim.Fault{Kind: sim.PumpWeak, Step: st.ID, Phase: phase, After: seconds(1), For: seconds(long), Strength: left})
}

func aborted(d *draw) {
	i := d.r.IntN(len(d.sheet.Steps) - 1)
	st := &d.sheet.Steps[i]
	d.how("in %s", st.ID)
	d.want = want{first: []string{"aborted", "step-short", "step-skipped"}, least: inspect, upTo: outOfControl, noPush: true}
	d.add(sim.Fault{Kind: sim.Aborted, Step: st.ID, After: d.inside(st, 0.1, 0.8)})
}

func unattended(d *draw) {
	d.how("10 min")
	d.add(sim.Fault{Kind: sim.Unattended, Step: string(lab.PhaseWaiting), For: 10 * time.Minute})
}

func hotDryer(d *draw) {
	over := []float64{8, 18, 28}[d.r.IntN(3)]
	d.how("%+.0f °C", over)
	d.want.first = []string{"dryer"}
	if off := min(45, d.sheet.DryMaxC-4) + over - d.sheet.DryMaxC; d.sheet.DryMaxC > 0 && off > 1 {
		d.want.least, d.want.upTo = inspect, inspect
	} else if off >= -1 {
		d.want.upTo = inspect // on its limit: the noise decides
	}
	d.add(sim.Fault{Kind: sim.HotDryer, Step: string(lab.PhaseDrying), After: 20 * time.Second, Strength: over})
}

// wrongProcess is a tank whose rolls want something else than the unit does.
func wrongProcess(d *draw) {
	rolls := []lab.Roll{{TwinCheck: "4471", Process: d.process, Push: d.push}, {TwinCheck: "4472", Process: d.process, Push: d.push}}
	odd := &rolls[d.r.IntN(2)]
	load := lab.Load{Process: d.process, Push: d.push}
	switch d.r.IntN(3) {
	case 0:
		odd.Process = map[string]string{"c41": "e6-3", "c41-kit": "e6-3"}[d.process]
		if odd.Process == "" {
			odd.Process = "c41"
		}
		d.how("one roll wants %s", odd.Process)
	case 1:
		odd.Push = d.push + 1
		d.how("one roll wants %+.1f", odd.Push)
	default:
		load.Process = map[string]string{"c41": "bw", "c41-kit": "bw"}[d.process]
		if load.Process == "" {
			load.Process = "c41"
		}
		for i := range rolls {
			rolls[i].Process = load.Process
		}
		d.how("all rolls want %s", load.Process)
	}
	load.Rolls = rolls
	d.load = &load
	d.want.first, d.want.least, d.want.upTo = []string{"wrong-process"}, inspect, outOfControl
}

// twoAtOnce is a run in which two things go wrong, each of which is reason
// enough; either may be named first.
func twoAtOnce(d *draw) {
	pick := []func(*draw){bathOffset, shortStep, noRotation, powerCut, restart, noReading, hotDryer, outageElsewhere, networkLoss}
	i := d.r.IntN(len(pick))
	j := (i + 1 + d.r.IntN(len(pick)-1)) % len(pick)
	var words []string
	var both want
	for _, k := range []int{i, j} {
		d.want = want{}
		pick[k](d)
		words = append(words, d.strength)
		both.first = append(both.first, d.want.first...)
		both.least, both.upTo = max(both.least, d.want.least), max(both.upTo, d.want.upTo)
	}
	d.want = both
	d.how("%s; %s", words[0], words[1])
}

// houseAim is a lab whose good runs get another time than the sheet's.
func houseAim(d *draw) {
	st := &d.sheet.Steps[0]
	times := st.Push.Values
	stopS := times[len(times)-1] - times[len(times)-2]
	if st.Push.Factors {
		stopS *= d.setS(st)
	}
	off := d.sign() * []float64{0.1, 0.3, 0.9}[d.r.IntN(3)]
	d.house = &lab.HouseAim{Process: d.process, Step: st.ID, Push: d.push, EquivalentS: math.Round(d.setS(st) + off*stopS/2)}
	d.how("%.0f s", d.house.EquivalentS)
	// The unit keeps the sheet: against the house aim it is off.
	d.want.first = []string{"step-short", "bath-cool", "out-of-pattern"}
	if off < 0 {
		d.want.first = []string{"step-long", "bath-warm", "out-of-pattern"}
	}
}

// probeChecked is a probe that is off by more than a probe is worth, which
// the lab has found out; with a bath that is off or not.
func probeChecked(d *draw) {
	off := d.sign() * between(d.r, 0.15, 0.6)
	within := 0.05
	d.plan.ProbeC = off
	d.probe = &lab.ProbeCheck{OffsetC: -off + between(d.r, -within, within), UncertaintyC: &within, Reference: "glass thermometer no. 3"}
	d.how("reads %+.2f °C", off)
	// The unit holds by its own probe: the film gets the offset.
	d.want.first = []string{"bath-warm", "bath-cool"}
	if d.r.IntN(2) == 0 {
		st := d.dev()
		c := off + d.sign()*[]float64{0, 0.8}[d.r.IntN(2)]
		d.strength += ", bath off too"
		d.add(sim.Fault{Kind: sim.BathOffset, Step: st.ID, After: 0, Strength: c, Ramp: 5 * time.Second})
	}
}
