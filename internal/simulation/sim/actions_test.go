package sim

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// traced is one run of a unit with a trace.
func traced(t *testing.T, plan UnitPlan, faults ...Fault) (*Lab, RunTruth) {
	t.Helper()
	plan.Name, plan.Processes = "plover", []string{"c41"}
	plan.Runs = []RunPlan{{Process: "c41"}}
	for i := range faults {
		faults[i].Unit, faults[i].Run = "plover", 1
	}
	l := mustLab(t, Config{Seed: 9, Start: t0, Trace: true, Schedule: Schedule{Units: []UnitPlan{plan}, Faults: faults}})
	l.Advance(t0.Add(2 * time.Hour))
	runs := l.Runs()
	if len(runs) != 1 || l.Ended() != 1 {
		t.Fatalf("%d runs, %d ended; want one that ended", len(runs), l.Ended())
	}
	return l, runs[0]
}

// The trace adds up to what the truth of a step says.
func TestTheTraceAgreesWithTheTruth(t *testing.T) {
	sheet, _ := process.Builtin().Sheet("c41")
	dev := sheet.Steps[0]
	_, run := traced(t, UnitPlan{Factors: map[string]float64{"c41/developer": 3.1}, ProbeC: 0.3},
		Fault{Kind: BathOffset, Step: "developer", Strength: 1, After: 10 * time.Second})
	var best, truly, wet float64
	for _, m := range run.Trace {
		if math.Abs(m.ProbeC-m.C-0.3) > 1e-9 {
			t.Fatalf("the probe shows %.3f °C of %.3f °C; want 0.3 °C more", m.ProbeC, m.C)
		}
		if m.N == 1 && m.Phase == lab.PhaseInBath {
			wet += 0.5
			best += 0.5 * dev.Rates(m.C).Best
			truly += 0.5 * math.Pow(3.1, (m.C-dev.AimC)/10)
		}
	}
	s := run.Steps[0]
	if math.Abs(wet-s.TimeS) > 0.6 || math.Abs(best-s.EquivalentS) > 1 || math.Abs(truly-s.TrueEquivalentS) > 1 || truly <= best {
		t.Errorf("the trace has %.1f s, %.1f s and %.1f s; the step %.1f s, %.1f s and %.1f s", wet, best, truly, s.TimeS, s.EquivalentS, s.TrueEquivalentS)
	}
	if s.ControllerSetS != 195 || s.StillS != 0 {
		t.Errorf("set to %.0f s, stood for %.1f s; want 195 s and 0", s.ControllerSetS, s.StillS)
	}
	var bath int
	for _, m := range run.Sent {
		if m.Bath {
			bath++
		}
	}
	if bath < 500 || len(run.Sent) < bath {
		t.Errorf("%d of %d messages carry the bath", bath, len(run.Sent))
	}
}

func TestPumpsAndFillsThatFail(t *testing.T) {
	_, whole := traced(t, UnitPlan{})
	length := func(r RunTruth, n int, p lab.Phase) (s, most float64) {
		for _, m := range r.Trace {
			if m.N == n && m.Phase == p {
				s += 0.5
				most = max(most, m.Litres)
			}
		}
		return s, most
	}
	usual, _ := length(whole, 1, lab.PhaseDraining)
	_, full := length(whole, 1, lab.PhaseInBath)
	_, run := traced(t, UnitPlan{}, Fault{Kind: PumpWeak, Step: "developer", Phase: lab.PhaseDraining, For: 40 * time.Second})
	if got, _ := length(run, 1, lab.PhaseDraining); math.Abs(got-usual-40) > 2 {
		t.Errorf("draining took %.1f s with a pump that stood for 40 s, usually %.1f s", got, usual)
	}
	if s := run.Steps[0]; math.Abs(s.TimeS-195) > 1 {
		t.Errorf("the time in the step is %.1f s; it ends with the start of the draining", s.TimeS)
	}
	_, run = traced(t, UnitPlan{}, Fault{Kind: FillShort, Step: "developer", Strength: 0.5})
	if _, most := length(run, 1, lab.PhaseInBath); math.Abs(most-full/2) > 0.03 {
		t.Errorf("%.2f l in the tank of %.2f l; want half", most, full)
	}
	if _, most := length(run, 2, lab.PhaseInBath); math.Abs(most-full) > 0.03 {
		t.Errorf("the next bath has %.2f l; want %.2f l", most, full)
	}
}

func TestLevelsThatLie(t *testing.T) {
	l := one(t, "c41", 0, Fault{Kind: StuckLevel, Run: 1, Container: "wash"})
	good, _ := hear(l.Advance(t0.Add(100 * time.Minute)))
	run := l.Runs()[0]
	seen := map[float64]bool{}
	for _, h := range good {
		m, ok := h.body["levels_l"].(map[string]any)
		if ok && h.at.After(run.Began.Add(time.Second)) && h.at.Before(run.Ended) {
			seen[m["wash"].(float64)] = true
		}
	}
	if len(seen) != 1 {
		t.Errorf("a stuck sensor says %d levels; want one", len(seen))
	}
	l = one(t, "c41", 0, Fault{Kind: BottleShort, Run: 1, Container: "c41/fixer", Strength: 0.04, For: 40 * time.Minute})
	good, _ = hear(l.Advance(t0.Add(150 * time.Minute)))
	waits := false
	for _, h := range good {
		waits = waits || h.str("waits_for") == lab.WaitChemistry && h.str("step") == "fixer"
	}
	if !waits || l.Ended() != 1 {
		t.Errorf("waits for chemistry: %v, runs that ended: %d; want it to wait, and to go on once it is there", waits, l.Ended())
	}
}

// What people do in a cut: turned by hand the film does not stand still, and
// drained by hand it is out while the controller still counts.
func TestPeopleHelpInACut(t *testing.T) {
	cut := Fault{Kind: Restart, Step: "developer", After: 60 * time.Second, For: 200 * time.Second}
	_, run := traced(t, UnitPlan{}, cut)
	if s := run.Steps[0]; math.Abs(s.StillS-200) > 2 {
		t.Errorf("stood still for %.1f s; want the 200 s of the cut", s.StillS)
	}
	l, run := traced(t, UnitPlan{}, cut, Fault{Kind: HandTurned, Step: "developer", After: 65 * time.Second, For: 190 * time.Second})
	if s := run.Steps[0]; s.StillS < 3 || s.StillS > 15 {
		t.Errorf("turned by hand it stood still for %.1f s; want about 10 s", s.StillS)
	}
	actions := l.Actions()
	if len(actions) != 1 || actions[0].Entry.What != lab.EntryTurned || actions[0].Run != run.Run {
		t.Fatalf("actions %+v; want one that the tank was turned", actions)
	}
	var turned lab.Turned
	if err := json.Unmarshal(actions[0].Entry.Body, &turned); err != nil || turned.To == nil {
		t.Fatalf("entry %s: %v", actions[0].Entry.Body, err)
	}
	if long := turned.To.Sub(turned.From.Time).Seconds(); math.Abs(long-190) > 1 {
		t.Errorf("turned for %.1f s; want 190 s", long)
	}
	l, run = traced(t, UnitPlan{}, cut, Fault{Kind: HandDrained, Step: "developer", After: 195 * time.Second})
	s := run.Steps[0]
	if !s.ByHand || math.Abs(s.TimeS-195) > 1 || math.Abs(s.WetS-195) > 2 {
		t.Errorf("drained by hand %v after %.1f s, wet for %.1f s; want 195 s", s.ByHand, s.TimeS, s.WetS)
	}
	if actions := l.Actions(); len(actions) != 1 || actions[0].Entry.What != lab.EntryDrained || !actions[0].Entry.At.Equal(s.Drained) {
		t.Errorf("actions %+v; want one that it was drained at %v", actions, s.Drained)
	}
	if len(run.Steps) != 6 || run.Aborted {
		t.Errorf("the run had %d steps, aborted %v; want it to go on to the end", len(run.Steps), run.Aborted)
	}
}

// No two units cool alike, and the plan can say how.
func TestUnitsAreTheirOwn(t *testing.T) {
	l := mustLab(t, Config{Seed: 5, Start: t0, Schedule: EndlessPlan(5, 6, 0)})
	seen := map[float64]bool{}
	for _, u := range l.Units() {
		seen[u.LossW] = true
		if u.LossW < 0.8 || u.LossW > 1.9 {
			t.Errorf("%s loses %.2f W/K", u.Unit, u.LossW)
		}
	}
	if len(seen) != 6 {
		t.Errorf("%d losses in six units", len(seen))
	}
	l, _ = traced(t, UnitPlan{LossW: 2.5})
	if got := l.Units()[0].LossW; got != 2.5 {
		t.Errorf("loses %.2f W/K; the plan says 2.5", got)
	}
}
