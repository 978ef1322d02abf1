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
	make   func(d *scenarioDraw)
}

// scenarioDraw puts a trouble into a scenario.
type scenarioDraw struct {
	*scenario
	r     *rand.Rand
	sheet *process.Sheet
}

// weightsInAll is the sum of all weights with that of runs in which nothing goes
// wrong. A trouble that is added at the end takes its weight from those runs,
// and leaves the scenarios of all other seeds as they were.
const weightsInAll = 160

// troubles are all faults of the simulator, weighted by how much there is to
// judge about each.
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
	{"duplicated", 1, disturbed(sim.Duplicated)},
	{"late", 1, disturbed(sim.Late)},
	{"reordered", 1, disturbed(sim.Reordered)},
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

// drawScenario makes the whole scenario of a seed.
func drawScenario(seed uint64) *scenario {
	s, r := drawUnit(seed)
	sheet, _ := process.Builtin().Sheet(s.process)
	s.name = "none"
	n := r.IntN(weightsInAll)
	for _, t := range troubles {
		if n -= t.weight; n < 0 {
			s.name = t.name
			t.make(&scenarioDraw{s, r, sheet})
			break
		}
	}
	return s
}

// add adds a fault of the judged run.
func (d *scenarioDraw) add(f sim.Fault) {
	f.Unit, f.Run = unitName, d.last
	d.faults = append(d.faults, f)
}

func (d *scenarioDraw) describe(format string, args ...any) {
	d.strength = fmt.Sprintf(format, args...)
}

// dev is one of the sheet's developers, mostly the first.
func (d *scenarioDraw) dev() *process.Step {
	best := &d.sheet.Steps[0]
	for i := range d.sheet.Steps {
		if st := &d.sheet.Steps[i]; st.Kind == process.Dev && d.r.IntN(4) == 0 {
			best = st
		}
	}
	return best
}

// other is a step that is no developer and lasts a while; chemical: no wash.
func (d *scenarioDraw) other(chemical bool) *process.Step {
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
func (d *scenarioDraw) setS(st *process.Step) float64 {
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

func (d *scenarioDraw) sign() float64 { return float64(1 - 2*d.r.IntN(2)) }

// inside is a moment between two parts of a step.
func (d *scenarioDraw) inside(st *process.Step, from, to float64) time.Duration {
	return seconds(d.setS(st) * between(d.r, from, to))
}

// twoAtOnce is a run in which two things go wrong, each of which is reason
// enough; either may be named first.
func twoAtOnce(d *scenarioDraw) {
	pick := []func(*scenarioDraw){bathOffset, shortStep, noRotation, powerCut, restart, noReading, hotDryer, outageElsewhere, networkLoss}
	i := d.r.IntN(len(pick))
	j := (i + 1 + d.r.IntN(len(pick)-1)) % len(pick)
	var words []string
	var both expected
	for _, k := range []int{i, j} {
		d.want = expected{}
		pick[k](d)
		words = append(words, d.strength)
		both.firstReasons = append(both.firstReasons, d.want.firstReasons...)
		both.leastVerdict, both.worstVerdict = max(both.leastVerdict, d.want.leastVerdict), max(both.worstVerdict, d.want.worstVerdict)
	}
	d.want = both
	d.describe("%s; %s", words[0], words[1])
}
