package sim

import (
	"math"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
)

func TestEachOddFaultShows(t *testing.T) {
	num := func(k string, ok func(float64) bool) func(heard) bool {
		return func(h heard) bool { v, is := h.num(k); return is && ok(v) }
	}
	said := func(k, v string) func(heard) bool { return func(h heard) bool { return h.str(k) == v } }
	in := func(step string, ok func(heard) bool) func(heard) bool {
		now := ""
		return func(h heard) bool {
			if s := h.str("step"); h.str("phase") != "" {
				now = s
			}
			return now == step && ok(h)
		}
	}
	for _, c := range labtest.Few([]struct {
		f  Fault
		ok func(heard) bool
	}{
		{Fault{Kind: Fahrenheit, Run: 1}, num("bath_c", func(c float64) bool { return c > 90 && c < 110 })},
		{Fault{Kind: OpenProbe, Run: 1, Step: "developer", After: time.Second, Strength: 850}, num("bath_c", func(c float64) bool { return c == 850 })},
		{Fault{Kind: NoisyProbe, Run: 1, Step: "bleach", Strength: 1}, in("bleach", num("bath_c", func(c float64) bool { return c > 39 }))},
		{Fault{Kind: HeaterHunts, Run: 1, Step: "bleach", Strength: 2}, in("bleach", num("bath_c", func(c float64) bool { return c > 39 }))},
		{Fault{Kind: WrongTemperature, Run: 1, Step: "developer", Strength: -7.8}, num("set_c", func(c float64) bool { return c == 30 })},
		{Fault{Kind: PreheatOff, Run: 1, Step: "developer", Phase: lab.PhaseHeating, Strength: 4}, num("preheat_c", func(c float64) bool { return c > 41 })},
		{Fault{Kind: ColdWash, Run: 1, Strength: 12}, in("wash-1", num("bath_c", func(c float64) bool { return c < 25 }))},
		{Fault{Kind: NoisyLevel, Run: 1, Container: "waste", Strength: 2}, func(h heard) bool {
			m, _ := h.body["levels_l"].(map[string]any)
			v, _ := m["waste"].(float64)
			return v > 5.6 // a run drains 4.5 l into an almost empty one
		}},
		{Fault{Kind: Renamed, Run: 1, Step: "bleach", Called: "bath-2"}, said("step", "bath-2")},
		{Fault{Kind: UnknownProcess, Run: 1, Called: "house-9"}, said("process", "house-9")},
		{Fault{Kind: WrongDrain, Run: 1, Step: "fixer", Container: "waste"}, in("fixer", said("drain_to", "waste"))},
		{Fault{Kind: MixedUp, At: t0.Add(10 * time.Minute), For: time.Minute, Called: "heron"}, func(h heard) bool { return h.unit == "heron" }},
	}, 3) {
		t.Run(string(c.f.Kind), func(t *testing.T) { visible(t, c.f, c.ok) })
	}
}

// A frozen probe says to the last digit what it said before.
func TestFrozenProbeStandsStill(t *testing.T) {
	l := one(t, "c41", 0, Fault{Kind: FrozenProbe, Run: 1, Step: "developer", After: 60 * time.Second})
	good, _ := hear(l.Advance(t0.Add(100 * time.Minute)))
	tr := l.Faults()[0]
	shown := map[float64]int{}
	for _, h := range good {
		if c, ok := h.num("bath_c"); ok && h.Received.After(tr.From.Add(2*time.Second)) && h.Received.Before(tr.To) {
			shown[c]++
		}
	}
	if len(shown) != 1 {
		t.Errorf("a frozen probe showed %v", shown)
	}
}

// A controller that forgets its run says idle, by the same boot or by another,
// and the liquid stays in the tank until a person has taken the film out and
// said so.
func TestGoesIdleWithFilmInTheBath(t *testing.T) {
	for downS, boots := range map[float64]int{0: 1, 20: 2, 90: 2} {
		f := Fault{Kind: GoesIdle, Run: 1, Step: "developer", After: 60 * time.Second, For: 10 * time.Minute, Strength: downS}
		l := one(t, "c41", 0, f)
		heardBoots, wills, idle := map[string]bool{}, 0, false
		good, _ := hear(l.Advance(t0.Add(40 * time.Minute)))
		tr := l.Faults()[0]
		for _, h := range good {
			if h.boot == "" {
				wills++
				continue
			}
			heardBoots[h.boot] = true
			if h.Received.After(tr.From) && h.str("phase") != "" {
				idle = true
				if h.str("phase") != "idle" {
					t.Errorf("down %g s: says %s after it forgot the run", downS, h.str("phase"))
				}
			}
		}
		if !idle || len(heardBoots) != boots || (wills > 0) != (downS > 45) {
			t.Errorf("down %g s: idle %v, %d boots, %d wills", downS, idle, len(heardBoots), wills)
		}
		run, actions := l.Runs()[0], l.Actions()
		if !run.Stranded || len(actions) != 1 || actions[0].Entry.What != lab.EntryFilm || actions[0].Run != run.Run {
			t.Errorf("down %g s: stranded %v, entries %+v", downS, run.Stranded, actions)
		}
	}
}

// A rescue begins at the step that was left, and says whose film it takes on.
func TestRescueRun(t *testing.T) {
	l := mustLab(t, Config{Seed: 3, Start: t0, Schedule: Schedule{
		Units:  []UnitPlan{{Name: "plover", Processes: []string{"c41"}, Runs: []RunPlan{{Process: "c41"}, {Process: "c41", From: "bleach", Continues: true}}}},
		Faults: []Fault{{Kind: Aborted, Unit: "plover", Run: 1, Step: "bleach", After: 60 * time.Second}}}})
	good, _ := hear(l.Advance(t0.Add(2 * time.Hour)))
	runs := l.Runs()
	if len(runs) != 2 || runs[1].Steps[0].Step != "bleach" {
		t.Fatalf("runs %+v", runs)
	}
	for _, h := range good {
		if r := h.str("run"); r != "" && (h.str("continues") == runs[0].Run) != (r == runs[1].Run) {
			t.Fatalf("%s", h.Payload)
		}
	}
}

// Probes that read in steps, floats without levels, own temperatures and
// cadence: as planned.
func TestOddButSoundUnits(t *testing.T) {
	l := mustLab(t, Config{Seed: 3, Start: t0, Schedule: Schedule{Units: []UnitPlan{{Name: "plover", Processes: []string{"bw"}, ProbeStepC: 0.5,
		FloatsOnly: true, Cadence: Cadence{BathTemp: 30 * time.Second}, Runs: []RunPlan{{Process: "bw", AtC: 24, SetS: 300}}}}}})
	good, _ := hear(l.Advance(t0.Add(2 * time.Hour)))
	var last time.Time
	near := 0
	for _, h := range good {
		c, ok := h.num("bath_c")
		if !ok {
			if h.channel == "tank" && strings.Contains(string(h.Payload), `"waste":`) {
				t.Fatalf("a level: %s", h.Payload)
			}
			continue
		}
		if math.Abs(c*2-math.Round(c*2)) > 1e-9 {
			t.Fatalf("%g °C is no step of half a degree", c)
		}
		if h.at.Sub(last) < 29*time.Second {
			near++
		}
		last = h.at
	}
	dev := l.Runs()[0].Steps[0]
	if near > 12 || math.Abs(dev.MeanC-24) > 0.3 || math.Abs(dev.EquivalentS-dev.TimeS) > 12 {
		t.Errorf("%d readings close together; developer %.1f °C for %.0f s, equivalent %.0f s", near, dev.MeanC, dev.TimeS, dev.EquivalentS)
	}
}
