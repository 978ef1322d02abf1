package sim

import (
	"fmt"
	"math/rand/v2"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// names are those of the invented lab.
var names = []string{"plover", "heron", "avocet", "dunlin", "curlew", "turnstone"}

// kits are what the units have bottles for; a unit works at one temperature.
var kits = [][]string{{"c41"}, {"e6-7"}, {"c41"}, {"c41", "e6-3"}, {"bw"}, {"e6-3"}}

// UnitNames gives n names: those of the invented lab, then numbered ones.
func UnitNames(n int) []string {
	out := make([]string, n)
	for i := range out {
		if out[i] = fmt.Sprintf("unit-%d", i+1); i < len(names) {
			out[i] = names[i]
		}
	}
	return out
}

// unitPlans gives n units without work.
func unitPlans(n int) []UnitPlan {
	out := make([]UnitPlan, n)
	for i, name := range UnitNames(n) {
		out[i] = UnitPlan{Name: name, Processes: kits[i%len(kits)]}
	}
	return out
}

// planRand draws what plans leave to chance, apart from what units draw.
func planRand(seed uint64, what string) *rand.Rand {
	return rand.New(rand.NewPCG(seed, uint64(len(what))<<32|uint64(what[0])))
}

// pushes are drawn as often as a lab is asked for them: most film is not pushed.
var pushes = []float64{0, 0, 0, 0, 0, 0, 0, 1, 1, -1, 2}

func randomRun(r *rand.Rand, processes []string) RunPlan {
	p := RunPlan{Process: processes[r.IntN(len(processes))], Push: pushes[r.IntN(len(pushes))]}
	if p.Process == "bw" {
		p.SetS = []float64{360, 390, 420, 480, 570}[r.IntN(5)]
	}
	if r.IntN(12) == 0 {
		p.Kind, p.Push = lab.KindOfRunStrip, 0
	}
	return p
}

// NormalDay is a day's work of n units from eight to six without anything
// that is worth an alert: runs, washes, people who empty and top up, copies
// of messages and one short break of the network. The day is in its own time
// zone.
func NormalDay(seed uint64, n, runsPerUnit int, day time.Time) Schedule {
	r := planRand(seed, "day")
	y, m, d := day.Date()
	open := time.Date(y, m, d, 8, 0, 0, 0, day.Location())
	s := Schedule{Units: unitPlans(n)}
	for i := range s.Units {
		u := &s.Units[i]
		on := open.Add(time.Duration(r.IntN(1200)) * time.Second)
		u.Shifts = []Shift{{on, open.Add(10 * time.Hour)}}
		at := on.Add(5 * time.Minute)
		for range runsPerUnit {
			p := randomRun(r, u.Processes)
			p.At = at
			u.Runs = append(u.Runs, p)
			at = at.Add(8*time.Hour/time.Duration(max(1, runsPerUnit)) - time.Duration(r.IntN(600))*time.Second)
		}
		s.Faults = append(s.Faults, Fault{Kind: Duplicated, Unit: u.Name, At: on, Strength: 0.01})
	}
	hiccup := open.Add(2*time.Hour + time.Duration(r.IntN(4*3600))*time.Second)
	s.Faults = append(s.Faults, Fault{Kind: NetworkCut, Unit: s.Units[r.IntN(n)].Name, At: hiccup,
		For: time.Duration(20+r.IntN(20)) * time.Second})
	return s
}

// EndlessPlan is n units that never stop: runs with short pauses; odds is how
// often a run gets a fault, 0 for never.
func EndlessPlan(seed uint64, n int, odds float64) Schedule {
	r := planRand(seed, "endless")
	s := Schedule{Units: unitPlans(n)}
	for i := range s.Units {
		u := &s.Units[i]
		u.Endless = &Endless{FaultOdds: odds}
		first := randomRun(r, u.Processes)
		u.Runs = []RunPlan{first}
		u.Begin = randomBegin(r, first.Process)
	}
	return s
}

// randomBegin is a random place in a run to begin at.
func randomBegin(r *rand.Rand, id string) *Begin {
	sheet, _ := process.Builtin().Sheet(id)
	st := sheet.Steps[r.IntN(len(sheet.Steps))]
	if r.IntN(3) == 0 || st.AimS < 40 || st.Wash {
		return &Begin{Step: st.ID, Heating: time.Duration(5+r.IntN(20)) * time.Second}
	}
	return &Begin{Step: st.ID, In: time.Duration(between(r, 5, st.AimS-30)) * time.Second}
}
