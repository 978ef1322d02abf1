package judge

import (
	"time"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
)

// toldRows are faults that must raise their own alerts, once each, and no
// others.
func toldRows() []row {
	return []row{
		{"film in a developer, the unit idle, same boot", goesIdle([]float64{0}, firstStep, lab.Urgent)},
		{"the same, new boot", goesIdle([]float64{8, 15, 25}, firstStep, lab.Urgent)},
		{"the same, after its will", goesIdle([]float64{70, 90, 120}, firstStep, lab.Urgent)},
		{"film not yet fixed, the unit idle", goesIdle([]float64{0, 10}, unfixed, lab.Urgent)},
		{"readings in °F", inFahrenheit},
		{"the probe jumps", probeJumps},
		{"open probe", openProbe},
		{"flat through every fill", flatFromTheFill},
		{"frozen in the developer", frozenProbe},
		{"mains lost while a developer drains", cutWhile(lab.PhaseDraining, "rain")},
		{"mains lost while a developer fills", cutWhile(lab.PhaseFilling)},
		{"mains lost in a process without a sheet", cutUnknown},
		{"aborted, rescued as the card says", rescue(true)},
		{"the same, not said that it continues", rescue(false)},
		{"developer set to another temperature", wrongTemperature},
		{"preheat off at the fill", preheatOff},
		{"level noise at an edge", levelAtTheEdge},
		{"dryer at its limit", dryerAtTheLimit},
		{"developer off, noise 0.2 °C", noisyAtTheEdge},
		{"heater hunts", heaterHunts},
		{"one step renamed", renamed(false)},
		{"all steps renamed", renamed(true)},
		{"hole over the whole bleach", messagesLostOverStep},
		{"push without a time", unknownPush(false)},
		{"push without a time, aborted", unknownPush(true)},
		{"two units swap ids", unitsSwapNames},
		{"two units, one name", twoUnitsOneName},
		{"wash at 9 to 13 °C", coldWash},
		{"rotation at part of its speed", slowRotation},
		{"rolls want another push, first bath in", wrongPush},
		{"fill slower than usual", slowFill},
		{"drain into the wrong container", wrongDrain},
		{"two control strips out", stripOut},
	}
}

// soundRuns is a unit with four runs in which something is odd and nothing is
// wrong. All of them are judged.
func soundRuns(processes []string, change func(t *trial)) func(uint64) *trial {
	return func(seed uint64) *trial {
		t := newTrial(seed, processes[seed%uint64(len(processes))], 4)
		t.from = 1
		change(t)
		t.also = func(s *playedTrial) (out []string) {
			for n := 1; n <= s.ordinal(); n++ {
				if v := s.watchedRun(n).Verdict; v == nil || *v != lab.InControl {
					return append(out, s.verdictSays())
				}
			}
			return nil
		}
		return t
	}
}

var anyProcess = []string{"c41", "bw", "e6-3", "c41-kit", "e6-7"}

// silentRows are days on which no alert may be raised.
func silentRows() []row {
	return []row{
		{"a probe that reads in steps of 0.1 °C", soundRuns(anyProcess, func(t *trial) { t.main.ProbeStepC = 0.1 })},
		{"a probe that reads in steps of 0.5 °C", soundRuns(anyProcess, func(t *trial) { t.main.ProbeStepC = 0.5 })},
		{"a probe with noise to 0.2 °C", soundRuns(anyProcess, func(t *trial) { t.main.ProbeNoiseC = between(t.r, 0.08, 0.2) })},
		{"the same, in steps of 0.1 °C", soundRuns(anyProcess, func(t *trial) { t.main.ProbeNoiseC, t.main.ProbeStepC = between(t.r, 0.05, 0.2), 0.1 })},
		{"a reading every second", soundRuns(anyProcess, func(t *trial) { t.main.Cadence.BathTemp = time.Second })},
		{"a reading every 30 s", soundRuns(anyProcess, func(t *trial) { t.main.Cadence.BathTemp = 30 * time.Second })},
		{"the same, in steps of 0.5 °C", soundRuns(anyProcess, func(t *trial) { t.main.Cadence.BathTemp, t.main.ProbeStepC = 30*time.Second, 0.5 })},
		{"cold mornings", soundRuns(anyProcess, func(t *trial) { t.main.RoomC, t.main.RoomSwingC = between(t.r, 15, 18), between(t.r, 2, 4) })},
		{"12 °C water from the tap", soundRuns(anyProcess, func(t *trial) { t.main.TapC = 12 })},
		{"floats, no levels", soundRuns(anyProcess, func(t *trial) { t.main.FloatsOnly = true })},
		{"B&W at another temperature with its own time", soundRuns([]string{"bw"}, func(t *trial) {
			for i := range t.main.Runs {
				t.main.Runs[i].AtC = pick(t, 19.0, 20, 21, 22, 24)
				t.main.Runs[i].SetS = pick(t, 240.0, 300, 345, 420, 540, 660, 840)
			}
		})},
		{"B&W with many times and pushes", soundRuns([]string{"bw"}, func(t *trial) {
			for i := range t.main.Runs {
				t.main.Runs[i].SetS, t.main.Runs[i].Push = pick(t, 270.0, 330, 405, 495, 600, 780, 960), pick(t, 0.0, 0, 1, 2, -1)
			}
		})},
		{"B&W wash of 20 min, C-41 bleach and fix of 8 min", soundRuns([]string{"bw", "c41"}, func(t *trial) {
			for i := range t.main.Runs {
				t.main.Runs[i].Steps = map[string]sim.StepSetting{"wash": {S: 1200, Fills: 6}, "bleach": {S: 480}, "fixer": {S: 480}}
				if t.sheet.ID == "bw" {
					delete(t.main.Runs[i].Steps, "fixer")
				}
			}
		})},
		{"single readings that cannot be", soundRuns(anyProcess, func(t *trial) {
			for k := range 8 {
				at := t.cfg.Start.Add(time.Duration(10+17*k) * time.Minute)
				t.fault(sim.Fault{Kind: sim.OpenProbe, At: at, For: 2 * time.Second, Strength: pick(t, 850.0, -40, 85)})
			}
		})},
		{"late, doubled and disordered messages", soundRuns(anyProcess, func(t *trial) {
			t.fault(sim.Fault{Kind: sim.Duplicated, At: t.cfg.Start, Strength: 0.1})
			t.fault(sim.Fault{Kind: sim.Reordered, At: t.cfg.Start.Add(time.Minute), Strength: 0.1, For: 50 * time.Minute})
			t.fault(sim.Fault{Kind: sim.NetworkCut, At: t.cfg.Start.Add(70 * time.Minute), For: 30 * time.Second})
		})},
	}
}
