package rules_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/simulation/sim"
	"wetside/rules"
	"wetside/rules/rulestest"
	"wetside/rules/timeline"
)

// simulated runs a schedule and gives what was found in it.
func simulated(t *testing.T, sc sim.Schedule, seed uint64, dur time.Duration) map[string]timeline.OccurrenceChange {
	t.Helper()
	return simulatedFrom(t, sc, seed, time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), dur)
}

func simulatedFrom(t *testing.T, sc sim.Schedule, seed uint64, start time.Time, dur time.Duration) map[string]timeline.OccurrenceChange {
	t.Helper()
	l, err := sim.New(sim.Config{Seed: seed, Start: start, Schedule: sc})
	if err != nil {
		t.Fatal(err)
	}
	e, k, found := timeline.NewEngine(rules.Config{}), &rulestest.Kept{}, map[string]timeline.OccurrenceChange{}
	note := func(ch timeline.Changes, err error) {
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range ch.Occurrences {
			delete(found, o.Was)
			if found[o.ID] = o; o.Withdrawn {
				delete(found, o.ID)
			}
		}
	}
	e.Monitoring(start)
	seen := map[string]bool{}
	for at := start; at.Before(start.Add(dur)); at = at.Add(time.Second) {
		for _, raw := range l.Advance(at) {
			m, err := ingest.Decode(raw)
			if err != nil {
				continue
			}
			if key := fmt.Sprint(m.Unit, m.Boot, m.Seq); !m.Will && seen[key] {
				continue
			} else if !m.Will {
				seen[key] = true
			}
			m.Arrival = int64(len(k.List) + 1)
			k.List = append(k.List, m)
			note(e.Feed(t.Context(), []lab.Arrival{{Message: &m}}, k))
		}
		note(e.Tick(t.Context(), at, k))
	}
	if len(k.List) < 1000 {
		t.Fatalf("only %d messages: nothing was simulated", len(k.List))
	}
	return found
}

// A simulated lab in which nothing goes wrong pages nobody.
func TestHealthyLabIsQuiet(t *testing.T) {
	t.Parallel()
	for seed := range labtest.Fewer(uint64(3), 1) {
		sc := sim.Schedule{}
		for _, p := range []string{"c41", "e6-7", "e6-3", "bw"} {
			sc.Units = append(sc.Units, sim.UnitPlan{Name: "unit-" + p, Processes: []string{p},
				Endless: &sim.Endless{PauseMin: time.Minute, PauseMax: 4 * time.Minute}})
		}
		for _, o := range simulated(t, sc, seed, labtest.Fewer(4*time.Hour, 100*time.Minute)) {
			if o.Priority != lab.Low && o.Rule != rules.RuleWasteNearlyFull && o.Rule != rules.RuleWashWaterShort && o.Rule != rules.RuleWasteWillNotFit {
				t.Errorf("seed %d: %s %s %s %s: %s", seed, o.Unit.Unit, o.Rule, o.Step, o.RaisedAt.Format(time.TimeOnly), o.Message)
			} else {
				t.Logf("seed %d: %s %s %s %s-%s: %s", seed, o.Unit.Unit, o.Rule, o.Step, o.RaisedAt.Format(time.TimeOnly), o.ClearedAt.Format(time.TimeOnly), o.Message)
			}
		}
	}
}

// Each fault of the simulated lab is found by the rule that is for it.
func TestFaultsAreFound(t *testing.T) {
	t.Parallel()
	const s = time.Second
	for _, tt := range labtest.Few([]struct {
		fault sim.Fault
		want  []string // rules that page
	}{
		{sim.Fault{Kind: sim.BathOffset, Step: "developer", After: 60 * s, Strength: 0.8, For: 60 * s}, []string{rules.RuleBathTemperature}},
		{sim.Fault{Kind: sim.LongStep, Step: "developer", Strength: 20}, []string{rules.RuleStepOverrun}},
		{sim.Fault{Kind: sim.ShortStep, Step: "bleach", Strength: 200}, []string{rules.RuleStepShort}},
		{sim.Fault{Kind: sim.WrongTime, Step: "developer", Strength: 30}, []string{rules.RuleWrongTimeSet, rules.RuleStepOverrun}},
		{sim.Fault{Kind: sim.SkippedStep, Step: "bleach"}, []string{rules.RuleStepSkipped}},
		{sim.Fault{Kind: sim.NoRotation, Step: "developer", After: 60 * s, For: 30 * s}, []string{rules.RuleRotationStopped}},
		{sim.Fault{Kind: sim.NoBathReading, Step: "developer", After: 60 * s, For: 30 * s}, []string{rules.RuleReadingMissing}},
		{sim.Fault{Kind: sim.Restart, Step: "bleach", After: 60 * s, For: 40 * s}, []string{rules.RulePowerResumed}},
		{sim.Fault{Kind: sim.NetworkCut, Step: "bleach", After: 60 * s, For: 120 * s}, []string{rules.RuleUnitSilent}},
		{sim.Fault{Kind: sim.NetworkLoss, Step: "bleach", After: 60 * s, For: 30 * s}, nil},
		{sim.Fault{Kind: sim.Late, Strength: 0.05, Ramp: 8 * s, For: 600 * s}, nil},
		{sim.Fault{Kind: sim.Reordered, Strength: 0.1, For: 600 * s}, nil},
		{sim.Fault{Kind: sim.Duplicated, Strength: 0.3, For: 600 * s}, nil},
		{sim.Fault{Kind: sim.ClockLost, Step: "developer", After: 20 * s, For: 60 * s}, nil},
		{sim.Fault{Kind: sim.Aborted, Step: "bleach", After: 60 * s}, []string{rules.RuleRunAborted}},
		{sim.Fault{Kind: sim.StuckLevel, Container: "waste"}, []string{rules.RuleDrainNotArriving}},
		{sim.Fault{Kind: sim.StuckLevel, Container: "c41/developer"}, nil}, // one fill proves nothing
		{sim.Fault{Kind: sim.Leak, Container: "wash", Strength: 0.5, After: 5 * time.Minute, For: 4 * time.Minute}, []string{rules.RuleLevelDisagrees}},
		{sim.Fault{Kind: sim.StuckFloat, Container: "waste", Strength: 1, After: 10 * time.Minute, For: 300 * s}, []string{rules.RuleLevelDisagrees, rules.RuleWasteNearlyFull}},
		{sim.Fault{Kind: sim.PumpWeak, Step: "developer", Phase: lab.PhaseDraining, After: s, For: 100 * s, Strength: 0.02}, []string{rules.RuleDrainNotArriving, rules.RulePhaseOverdue}},
		{sim.Fault{Kind: sim.BottleShort, Container: "c41/fixer", Strength: 0.02, For: 900 * s}, []string{rules.RuleChemistryShort}},
		{sim.Fault{Kind: sim.HotDryer, Step: "drying", Strength: 20, Ramp: 60 * s}, []string{rules.RuleDryerTemperature}},
	}, 6) {
		t.Run(string(tt.fault.Kind), func(t *testing.T) {
			f := tt.fault
			f.Unit, f.Run = "plover", 1
			sc := sim.Schedule{Units: []sim.UnitPlan{{Name: "plover", Processes: []string{"c41"},
				Runs: []sim.RunPlan{{Process: "c41"}}, Levels: map[string]float64{"waste": 1}}}, Faults: []sim.Fault{f}}
			paged := map[string]bool{}
			for _, o := range simulated(t, sc, 1, 100*time.Minute) {
				t.Logf("%s %s %s %s %s-%s: %s", o.Rule, o.Step, o.Subject, o.Priority, o.RaisedAt.Format(time.TimeOnly), o.ClearedAt.Format(time.TimeOnly), o.Message)
				if o.Priority != lab.Low || o.Rule == rules.RulePowerResumed {
					paged[o.Rule] = true
				}
			}
			for _, r := range tt.want {
				if !paged[r] {
					t.Errorf("%s was not raised", r)
				}
				delete(paged, r)
			}
			for r := range paged {
				t.Errorf("%s was raised", r)
			}
		})
	}
}

// A busy day of six units, eight runs each, in which nothing goes wrong: no
// rule cries wolf, least of all those that watch sensors and pumps.
func TestNormalDayRaisesNothing(t *testing.T) {
	t.Parallel()
	day := time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC)
	// what a day's work brings by itself: containers that fill up and run low
	usual := []string{rules.RuleWasteNearlyFull, rules.RuleWasteWillNotFit, rules.RuleWashWaterShort}
	for _, o := range simulatedFrom(t, sim.NormalDay(7, 6, 8, day), 7, day, labtest.Fewer(11*time.Hour, 100*time.Minute)) {
		if !slices.Contains(usual, o.Rule) {
			t.Errorf("%s %s %s %s %s-%s: %s", o.Unit.Unit, o.Rule, o.Step, o.Subject, o.RaisedAt.Format(time.TimeOnly), o.ClearedAt.Format(time.TimeOnly), o.Message)
		}
	}
}
