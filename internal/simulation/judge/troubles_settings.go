package judge

import (
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
)

func longStep(d *scenarioDraw) {
	st := d.dev()
	if d.r.IntN(4) == 0 {
		st = d.other(false)
	}
	by := d.setS(st) * []float64{0.04, 0.12, 0.35}[d.r.IntN(3)] * between(d.r, 0.9, 1.1)
	d.describe("%.0f s in %s", by, st.ID)
	d.want.firstReasons = []string{"step-long"}
	d.add(sim.Fault{Kind: sim.LongStep, Step: st.ID, Strength: by})
}

func shortStep(d *scenarioDraw) {
	st := d.dev()
	if d.r.IntN(2) == 0 {
		st = d.other(false)
	}
	by := d.setS(st) * []float64{0.05, 0.15, 0.5}[d.r.IntN(3)] * between(d.r, 0.9, 1.1)
	d.describe("%.0f s in %s", by, st.ID)
	d.want.firstReasons = []string{"step-short"}
	d.add(sim.Fault{Kind: sim.ShortStep, Step: st.ID, Strength: by})
}

func wrongTime(d *scenarioDraw) {
	st := d.dev()
	if d.r.IntN(3) == 0 {
		st = d.other(false)
	}
	by := d.sign() * d.setS(st) * []float64{0.06, 0.15, 0.4}[d.r.IntN(3)] * between(d.r, 0.9, 1.1)
	d.describe("%+.0f s in %s", by, st.ID)
	d.want.firstReasons = []string{"wrong-time"}
	d.add(sim.Fault{Kind: sim.WrongTime, Step: st.ID, Strength: by})
}

func skippedStep(d *scenarioDraw) {
	st := &d.sheet.Steps[d.r.IntN(len(d.sheet.Steps))]
	d.describe("%s", st.ID)
	d.want.firstReasons = []string{"step-skipped"}
	d.add(sim.Fault{Kind: sim.SkippedStep, Step: st.ID})
}

// wrongProcess is a tank whose rolls want something else than the unit does.
func wrongProcess(d *scenarioDraw) {
	rolls := []lab.Roll{{TwinCheck: "4471", Process: d.process, Push: d.push}, {TwinCheck: "4472", Process: d.process, Push: d.push}}
	odd := &rolls[d.r.IntN(2)]
	load := lab.Load{Process: d.process, Push: d.push}
	switch d.r.IntN(3) {
	case 0:
		odd.Process = map[string]string{"c41": "e6-3", "c41-kit": "e6-3"}[d.process]
		if odd.Process == "" {
			odd.Process = "c41"
		}
		d.describe("one roll wants %s", odd.Process)
	case 1:
		odd.Push = d.push + 1
		d.describe("one roll wants %+.1f", odd.Push)
	default:
		load.Process = map[string]string{"c41": "bw", "c41-kit": "bw"}[d.process]
		if load.Process == "" {
			load.Process = "c41"
		}
		for i := range rolls {
			rolls[i].Process = load.Process
		}
		d.describe("all rolls want %s", load.Process)
	}
	load.Rolls = rolls
	d.load = &load
	d.want.firstReasons, d.want.leastVerdict, d.want.worstVerdict = []string{"wrong-process"}, inspect, outOfControl
}

// houseAim is a lab whose good runs get another time than the sheet's.
func houseAim(d *scenarioDraw) {
	st := &d.sheet.Steps[0]
	times := st.Push.Values
	stopS := times[len(times)-1] - times[len(times)-2]
	if st.Push.Factors {
		stopS *= d.setS(st)
	}
	off := d.sign() * []float64{0.1, 0.3, 0.9}[d.r.IntN(3)]
	d.house = &lab.HouseAim{Process: d.process, Step: st.ID, Push: d.push, EquivalentS: math.Round(d.setS(st) + off*stopS/2)}
	d.describe("%.0f s", d.house.EquivalentS)
	// The unit keeps to the sheet's time, which is off the house aim.
	d.want.firstReasons = []string{"step-short", "bath-cool", "out-of-pattern"}
	if off < 0 {
		d.want.firstReasons = []string{"step-long", "bath-warm", "out-of-pattern"}
	}
}

func aborted(d *scenarioDraw) {
	i := d.r.IntN(len(d.sheet.Steps) - 1)
	st := &d.sheet.Steps[i]
	d.describe("in %s", st.ID)
	d.want = expected{firstReasons: []string{"aborted", "step-short", "step-skipped"}, leastVerdict: inspect, worstVerdict: outOfControl, pushUndefined: true}
	d.add(sim.Fault{Kind: sim.Aborted, Step: st.ID, After: d.inside(st, 0.1, 0.8)})
}

func unattended(d *scenarioDraw) {
	d.describe("10 min")
	d.add(sim.Fault{Kind: sim.Unattended, Step: string(lab.PhaseWaiting), For: 10 * time.Minute})
}
