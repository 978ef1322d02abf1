package judge

import (
	"fmt"
	"math/rand/v2"
	"time"

	"wetside/internal/process"
	"wetside/internal/simulation/sim"
)

// trouble is one way in which a run goes wrong.
type trouble struct {
	name   string
	weight int
	make   func(d *draw)
}

// draw puts a trouble into a scenario.
type draw struct {
	*scenario
	r     *rand.Rand
	sheet *process.Sheet
}

// deck is what the weights are drawn from; what is left of it is runs in which
// nothing goes wrong. A trouble added at the end leaves the seeds before as
// they were.
const deck = 160

// troubles are all faults of the simulator, as often as they are worth
// looking at.
var troubles = []trouble{
	{"bath-offset", 8, bathOffset},
	{"bath-offset elsewhere", 3, offsetElsewhere},
	{"thermistor-drift", 3, drift},
	{"weak-heater", 3, weakHeater},
	{"long-step", 4, longStep},
	{"short-step", 5, shortStep},
	{"wrong-time", 5, wrongTime},
	{"skipped-step", 4, skippedStep},
	{"no-rotation", 5, noRotation},
	{"no-bath-reading", 4, noReading},
	{"power-cut", 8, powerCut},
	{"restart", 10, restart},
	{"outage elsewhere", 5, outageElsewhere},
	{"outage in filling or draining", 3, outageInPump},
	{"battery-weak", 2, batteryWeak},
	{"turned by hand", 3, turnedByHand},
	{"drained by hand", 3, drainedByHand},
	{"clock-lost", 2, clockLost},
	{"network-cut", 2, networkCut},
	{"network-loss", 3, networkLoss},
	{"silence", 2, silence},
	{"duplicated", 1, mischief(sim.Duplicated)},
	{"late", 1, mischief(sim.Late)},
	{"reordered", 1, mischief(sim.Reordered)},
	{"malformed", 1, malformed},
	{"stuck-float", 1, stuckFloat},
	{"stuck-level", 1, stuckLevel},
	{"leak", 1, leak},
	{"waste-full", 2, wasteFull},
	{"wash-low", 1, washLow},
	{"bottle-short", 1, bottleShort},
	{"fill-short", 2, fillShort},
	{"pump-weak", 2, pumpWeak},
	{"aborted", 2, aborted},
	{"unattended", 1, unattended},
	{"hot-dryer", 2, hotDryer},
	{"wrong-process", 3, wrongProcess},
	{"probe checked", 4, probeChecked},
	{"house aim", 3, houseAim},
	{"two at once", 8, twoAtOnce},
}

// plan makes the whole scenario of a seed.
func plan(seed uint64) *scenario {
	s, r := makeScenario(seed)
	sheet, _ := process.Builtin().Sheet(s.process)
	s.name = "none"
	n := r.IntN(deck)
	for _, t := range troubles {
		if n -= t.weight; n < 0 {
			s.name = t.name
			t.make(&draw{s, r, sheet})
			break
		}
	}
	return s
}

// add adds a fault of the judged run.
func (d *draw) add(f sim.Fault) {
	f.Unit, f.Run = unitName, d.last
	d.faults = append(d.faults, f)
}

func (d *draw) how(format string, args ...any) { d.strength = fmt.Sprintf(format, args...) }

// dev is one of the sheet's developers, mostly the first.
func (d *draw) dev() *process.Step {
	best := &d.sheet.Steps[0]
	for i := range d.sheet.Steps {
		if st := &d.sheet.Steps[i]; st.Kind == process.Dev && d.r.IntN(4) == 0 {
			best = st
		}
	}
	return best
}

// other is a step that is no developer and lasts a while; chemical: no wash.
func (d *draw) other(chemical bool) *process.Step {
	var fit []*process.Step
	for i := range d.sheet.Steps {
		st := &d.sheet.Steps[i]
		if st.Kind != process.Dev && st.AimS >= 100 && !(chemical && st.Wash) {
			fit = append(fit, st)
		}
	}
	return fit[d.r.IntN(len(fit))]
}

// setS is how long the unit runs a step.
func (d *draw) setS(st *process.Step) float64 {
	push := d.push
	normal := d.plan.Runs[d.last-1].SetS
	if st.FromUnit && st.Push != nil {
		for i, p := range st.Push.Stops { // straight lines are near enough here
			if p <= push {
				normal = d.plan.Runs[d.last-1].SetS * st.Push.Values[i]
			}
		}
	}
	s, ok := st.TimeFor(push, normal)
	if !ok {
		return normal
	}
	return s
}

func (d *draw) sign() float64 { return float64(1 - 2*d.r.IntN(2)) }

// inside is a moment between two parts of a step.
func (d *draw) inside(st *process.Step, from, to float64) time.Duration {
	return seconds(d.setS(st) * between(d.r, from, to))
}

func bathOffset(d *draw) {
	st := d.dev()
	c := d.sign() * []float64{0.2, 0.5, 1, 2}[d.r.IntN(4)] * between(d.r, 0.9, 1.1)
	d.how("%+.1f °C in %s", c, st.ID)
	d.want.first = warmOrCool(c)
	d.add(sim.Fault{Kind: sim.BathOffset, Step: st.ID, After: d.inside(st, 0, 0.5), Strength: c, Ramp: seconds(between(d.r, 10, 60))})
}

func warmOrCool(c float64) []string {
	if c > 0 {
		return []string{"bath-warm"}
	}
	return []string{"bath-cool"}
}

func offsetElsewhere(d *draw) {
	st := d.other(false)
	c := d.sign() * []float64{1, 4, 7}[d.r.IntN(3)]
	d.how("%+.0f °C in %s", c, st.ID)
	d.want.first = warmOrCool(c)
	d.add(sim.Fault{Kind: sim.BathOffset, Step: st.ID, After: d.inside(st, 0, 0.3), Strength: c, Ramp: 30 * time.Second})
}

func drift(d *draw) {
	st := d.dev()
	c := d.sign() * []float64{0.2, 0.6, 1.2}[d.r.IntN(3)]
	d.how("%+.1f °C in %s", c, st.ID)
	d.want.first, d.want.byProbe = warmOrCool(c), true
	d.add(sim.Fault{Kind: sim.ThermistorDrift, Step: st.ID, After: d.inside(st, 0, 0.3), Strength: c, Ramp: 30 * time.Second})
}

func weakHeater(d *draw) {
	st := d.dev()
	left := []float64{0, 0.02, 0.2}[d.r.IntN(3)]
	d.how("%.0f %% left in %s", 100*left, st.ID)
	d.want.first = []string{"bath-cool", "bath-warm"} // a warm room warms black and white
	if d.process != "bw" {
		d.want.first = []string{"bath-cool"}
	}
	d.add(sim.Fault{Kind: sim.WeakHeater, Step: st.ID, After: d.inside(st, 0, 0.2), Strength: left})
}

func longStep(d *draw) {
	st := d.dev()
	if d.r.IntN(4) == 0 {
		st = d.other(false)
	}
	by := d.setS(st) * []float64{0.04, 0.12, 0.35}[d.r.IntN(3)] * between(d.r, 0.9, 1.1)
	d.how("%.0f s in %s", by, st.ID)
	d.want.first = []string{"step-long"}
	d.add(sim.Fault{Kind: sim.LongStep, Step: st.ID, Strength: by})
}

func shortStep(d *draw) {
	st := d.dev()
	if d.r.IntN(2) == 0 {
		st = d.other(false)
	}
	by := d.setS(st) * []float64{0.05, 0.15, 0.5}[d.r.IntN(3)] * between(d.r, 0.9, 1.1)
	d.how("%.0f s in %s", by, st.ID)
	d.want.first = []string{"step-short"}
	d.add(sim.Fault{Kind: sim.ShortStep, Step: st.ID, Strength: by})
}

func wrongTime(d *draw) {
	st := d.dev()
	if d.r.IntN(3) == 0 {
		st = d.other(false)
	}
	by := d.sign() * d.setS(st) * []float64{0.06, 0.15, 0.4}[d.r.IntN(3)] * between(d.r, 0.9, 1.1)
	d.how("%+.0f s in %s", by, st.ID)
	d.want.first = []string{"wrong-time"}
	d.add(sim.Fault{Kind: sim.WrongTime, Step: st.ID, Strength: by})
}

func skippedStep(d *draw) {
	st := &d.sheet.Steps[d.r.IntN(len(d.sheet.Steps))]
	d.how("%s", st.ID)
	d.want.first = []string{"step-skipped"}
	d.add(sim.Fault{Kind: sim.SkippedStep, Step: st.ID})
}

func noRotation(d *draw) {
	st := d.dev()
	if d.r.IntN(4) == 0 {
		st = d.other(false)
	}
	long := []float64{5, 20, 60}[d.r.IntN(3)]
	rpm := []float64{0, 2, 30}[d.r.IntN(3)]
	d.how("%.0f rpm for %.0f s in %s", rpm, long, st.ID)
	d.want.first = []string{"rotation"}
	d.add(sim.Fault{Kind: sim.NoRotation, Step: st.ID, After: d.inside(st, 0.1, 0.6), For: seconds(long), Strength: rpm})
}

func noReading(d *draw) {
	st := d.dev()
	if d.r.IntN(4) == 0 {
		st = d.other(false)
	}
	long := []float64{6, 20, 60}[d.r.IntN(3)]
	d.how("%.0f s in %s", long, st.ID)
	d.want.first = []string{"missing-evidence"}
	d.add(sim.Fault{Kind: sim.NoBathReading, Step: st.ID, After: d.inside(st, 0.05, 0.6), For: seconds(long)})
}
