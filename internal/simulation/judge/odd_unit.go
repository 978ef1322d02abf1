package judge

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
	"wetside/rules"
	"wetside/rules/timeline"
)

// cutWhile is a power cut while the developer fills or drains.
func cutWhile(phase lab.Phase, says ...string) func(uint64) *trial {
	return func(seed uint64) *trial {
		t := newTrial(seed, colorProcesses[seed%4], 3)
		st := t.step(firstStep(t))
		kind := pick(t, sim.PowerCut, sim.PowerCut, sim.Restart)
		long := between(t.r, 25, 90)
		t.describe("%s for %.0f s, %s %s", kind, long, phase, st.ID)
		t.fault(sim.Fault{Kind: kind, Step: st.ID, Phase: phase, After: seconds(between(t.r, 2, 6)), For: seconds(long)})
		if kind == sim.PowerCut {
			t.want(wanted{rule: rules.RulePowerLost, step: st.ID, least: lab.Urgent, says: says})
		}
		t.want(wanted{rule: rules.RulePowerResumed, step: st.ID, least: lab.Urgent, says: says})
		t.allowed = append(t.allowed, rules.RulePhaseOverdue, rules.RuleUnitSilent, rules.RuleStepOverrun, rules.RuleBathTemperature, rules.RuleDrainNotArriving)
		t.also = all(verdicts(lab.Inspect, lab.OutOfControl), neverSays("et the unit go on"))
		return t
	}
}

// cutUnknown is a power cut in a process that has no sheet.
func cutUnknown(seed uint64) *trial {
	t := newTrial(seed, "c41", 2)
	long := between(t.r, 25, 120)
	t.describe("%.0f s", long)
	t.fault(sim.Fault{Kind: sim.UnknownProcess, Called: "house-9"})
	t.fault(sim.Fault{Kind: sim.PowerCut, Step: "developer", After: seconds(between(t.r, 20, 120)), For: seconds(long)})
	t.want(wanted{rule: rules.RuleSheetMissing}, wanted{rule: rules.RulePowerLost, least: lab.Urgent, says: []string{"check which bath"}},
		wanted{rule: rules.RulePowerResumed, says: []string{"heck which bath"}})
	t.also = func(s *playedTrial) []string {
		for _, o := range s.watchedRun(s.ordinal()).Outages {
			if o.Advice != "" {
				return []string{fmt.Sprintf("advice %q in a bath that nobody knows", o.Advice)}
			}
		}
		return nil
	}
	return t
}

// levelAtTheEdge is a waste whose noisy level stands where it is nearly full.
func levelAtTheEdge(seed uint64) *trial {
	t := newTrial(seed, "c41", 2)
	t.most = 2
	edge := 18.9 - 2*4.5 // room for this run and the next one like it: 4.5 l each
	at, noise := edge+between(t.r, -0.1, 0.1), between(t.r, 0.1, 0.3)
	t.describe("%.1f l in it, noise %.1f l", at, noise)
	t.fault(sim.Fault{Kind: sim.WasteFull, Strength: at / 18.9, For: time.Hour})
	t.fault(sim.Fault{Kind: sim.NoisyLevel, Container: "waste", Strength: noise})
	t.want(wanted{rule: rules.RuleWasteNearlyFull})
	return t
}

// dryerAtTheLimit is a dryer that stands where it begins to be too hot.
func dryerAtTheLimit(seed uint64) *trial {
	t := newTrial(seed, byParity(seed, "c41", "bw"), 2)
	t.most = 2
	over := between(t.r, 0.02, 0.2)
	set := min(45, t.sheet.DryMaxC-4)
	t.describe("%+.2f °C", over)
	t.fault(sim.Fault{Kind: sim.HotDryer, Step: string(lab.PhaseDrying), After: 20 * time.Second, Strength: t.sheet.DryMaxC - set + over})
	t.allowed = append(t.allowed, rules.RuleDryerTemperature)
	return t
}

// coldWash is wash water as it comes from the tap in winter.
func coldWash(seed uint64) *trial {
	t := newTrial(seed, "bw", 3)
	t.from = 2
	c := between(t.r, 9, 13)
	t.describe("%.0f °C", c)
	t.fault(sim.Fault{Kind: sim.ColdWash, Strength: c})
	t.fault(sim.Fault{Kind: sim.ColdWash, Strength: c})
	t.cfg.Schedule.Faults[0].Run = 2
	t.want(wanted{rule: rules.RuleBathTemperature, step: "wash", least: lab.High, says: []string{"Give it"}, also: func(_ *playedTrial, o *timeline.OccurrenceChange) string {
		if add, _ := o.Facts["add_s"].(float64); add < 100 || add > 700 {
			return fmt.Sprintf("add %v s; a wash at that temperature takes about twice as long", o.Facts["add_s"])
		}
		return ""
	}})
	t.also = func(s *playedTrial) []string {
		high := 0
		for _, o := range s.occurrences() {
			if o.Step == "wash" && o.Priority != lab.Low {
				high++
			}
		}
		if high > 1 {
			return []string{fmt.Sprintf("a cold wash paged %d times in one day", high)}
		}
		return nil
	}
	return t
}

// slowRotation is a drive at part of its speed.
func slowRotation(seed uint64) *trial {
	t := newTrial(seed, colorProcesses[seed%4], 6)
	rpm := between(t.r, 22, 40)
	st := t.step(firstStep(t))
	t.describe("%.0f rpm", rpm)
	t.fault(sim.Fault{Kind: sim.NoRotation, Step: st.ID, Strength: rpm})
	t.want(wanted{rule: rules.RuleRotationSlow, step: st.ID, least: lab.High})
	t.also = verdicts(lab.Inspect)
	return t
}

// slowFill is a pump that is weak in one fill.
func slowFill(seed uint64) *trial {
	t := newTrial(seed, colorProcesses[seed%4], 5)
	i := t.r.IntN(len(t.sheet.Steps))
	st := &t.sheet.Steps[i]
	left := between(t.r, 0.2, 0.35)
	t.describe("%.0f %% in %s", 100*left, st.ID)
	t.fault(sim.Fault{Kind: sim.PumpWeak, Step: st.ID, Phase: lab.PhaseFilling, For: 25 * time.Second, Strength: left})
	t.want(wanted{rule: rules.RuleFillSlow, step: st.ID, least: lab.High})
	if st.Kind != process.Dev {
		t.also = verdicts(lab.InControl, lab.Inspect)
	}
	return t
}

// unitsSwapNames are two units that say each other's name, from a moment on.
func unitsSwapNames(seed uint64) *trial {
	t := newTrial(seed, "c41", 2)
	other := sim.UnitPlan{Name: "heron", Processes: []string{"e6-3"}, Runs: []sim.RunPlan{{Process: "e6-3"}, {Process: "e6-3"}, {Process: "e6-3"}}}
	t.cfg.Schedule.Units = []sim.UnitPlan{other}
	at := t.cfg.Start.Add(seconds(between(t.r, 3600, 5400)))
	t.describe("from %s on", at.Format("15:04"))
	t.fault(sim.Fault{Kind: sim.MixedUp, At: at, Called: "heron"})
	t.cfg.Schedule.Faults = append(t.cfg.Schedule.Faults, sim.Fault{Kind: sim.MixedUp, Unit: "heron", At: at, Called: unitName})
	t.from = 1
	t.want(wanted{rule: rules.RuleUnitMixedUp, least: lab.High})
	t.allowed = append(t.allowed, rules.RuleUnitSilent, rules.RuleFilmStranded)
	t.also = notInvented
	return t
}

// twoUnitsOneName is a second unit that was set up under the name of the first.
func twoUnitsOneName(seed uint64) *trial {
	t := newTrial(seed, "c41", 2)
	on := t.cfg.Start.Add(seconds(between(t.r, 300, 3000)))
	t.cfg.Schedule.Units = []sim.UnitPlan{{Name: "heron", Called: unitName, Processes: []string{"e6-3"},
		Runs: []sim.RunPlan{{Process: "e6-3"}, {Process: "e6-3"}}, Shifts: []sim.Shift{{On: on, Off: on.AddDate(0, 0, 1)}}}}
	t.describe("the other switched on at %s", on.Format("15:04"))
	t.from = 1
	t.want(wanted{rule: rules.RuleUnitMixedUp, least: lab.High})
	t.also = notInvented
	return t
}
