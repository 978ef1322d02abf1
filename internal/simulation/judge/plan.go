package judge

import (
	"math/rand/v2"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
)

// scenario is one simulated unit with a few runs, of which the last is judged.
type scenario struct {
	seed     uint64
	name     string // what goes wrong, "none" for nothing
	strength string // how badly, in words
	process  string
	push     float64
	last     int // the judged run is the unit's last-th
	known    bool
	plan     sim.UnitPlan
	faults   []sim.Fault
	load     *lab.Load // what people loaded, nil where nobody said
	probe    *lab.ProbeCheck
	house    *lab.HouseAim
	want     expected
}

// expected is what the fault asks of the report beyond what the sheet's
// definition of a verdict says.
type expected struct {
	firstReasons  []string // first reasons that are right; nil: any
	leastVerdict  int      // the verdict is at least this level
	worstVerdict  int      // the verdict may be as grave as this
	pushUndefined bool     // the film's true development is not defined well enough to compare
	onlyByProbe   bool     // the film's truth cannot be known: only what the probe showed
}

const (
	inControl = iota
	inspect
	outOfControl
)

var levels = []string{lab.InControl, lab.Inspect, lab.OutOfControl}

// processes are drawn as often as they stand here.
var processes = []string{"c41", "c41", "c41", "c41-kit", "e6-3", "e6-3", "e6-7", "e6-7", "bw", "bw"}

// pushes are drawn as often as they stand here: what a lab is asked for, with
// now and then half a stop.
var pushes = []float64{0, 0, 0, 0, 0, 1, 1, 2, -1, 0.5}

// loading is the time between two runs, in which people load the next.
const loading = 3 * time.Minute

const unitName = "plover"

var startOfDay = time.Date(2026, 3, 2, 7, 30, 0, 0, time.UTC)

// drawUnit draws the scenario of a seed.
func drawUnit(seed uint64) (*scenario, *rand.Rand) {
	r := rand.New(rand.NewPCG(seed, 0x6a75646765))
	s := &scenario{seed: seed, process: processes[r.IntN(len(processes))], push: pushes[r.IntN(len(pushes))]}
	sheet, _ := process.Builtin().Sheet(s.process)
	setS := []float64{330, 390, 420, 480, 570}[r.IntN(5)]
	s.plan = sim.UnitPlan{
		Name: unitName, Processes: []string{s.process}, RoomC: between(r, 17, 27),
		LossW: between(r, 0.8, 2.0), ProbeC: between(r, -0.1, 0.1), Factors: map[string]float64{},
		Levels: map[string]float64{"waste": between(r, 0.3, 2), "wash": between(r, 15, 18)},
	}
	for _, st := range sheet.Steps {
		if st.Kind == process.Dev {
			s.plan.Factors[s.process+"/"+st.ID] = between(r, st.Factor.Low, st.Factor.High)
		}
	}
	s.last = 2 + r.IntN(2)
	for range s.last {
		s.plan.Runs = append(s.plan.Runs, sim.RunPlan{Process: s.process, SetS: setS, Pause: loading})
	}
	s.plan.Runs[s.last-1].Push = s.push
	if s.known = r.IntN(2) == 0; s.known {
		// The unit was seen to cool on its battery in an earlier run.
		s.faults = append(s.faults, sim.Fault{Kind: sim.PowerCut, Unit: unitName, Run: 1, Step: longMin(sheet),
			After: seconds(between(r, 50, 70)), For: seconds(between(r, 120, 240))})
	}
	return s, r
}

// longMin is the sheet's longest step of a least time: where a battery outage
// harms nothing.
func longMin(sheet *process.Sheet) string {
	best := ""
	for _, st := range sheet.Steps {
		if b, ok := sheet.Step(best); st.Kind == process.Min && !st.Wash && (!ok || st.AimS > b.AimS) {
			best = st.ID
		}
	}
	return best
}

func between(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

func seconds(s float64) time.Duration { return time.Duration(s*1000) * time.Millisecond }

// config is the simulated lab of a scenario.
func (s *scenario) config() sim.Config {
	return sim.Config{Seed: s.seed, Start: startOfDay, Trace: true,
		Schedule: sim.Schedule{Units: []sim.UnitPlan{s.plan}, Faults: s.faults}}
}
