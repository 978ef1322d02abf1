package judge

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
	"wetside/rules"
	"wetside/rules/timeline"
)

// beforeTheBath checks that the alert was raised before the bath was in, while
// the setting could still be changed.
func beforeTheBath(step string) func(*playedTrial, *timeline.OccurrenceChange) string {
	return func(s *playedTrial, o *timeline.OccurrenceChange) string {
		if in := s.stepTruth(step).InBath; !o.RaisedAt.Before(in) {
			return fmt.Sprintf("told %v after the bath was in", o.RaisedAt.Sub(in).Round(time.Second))
		}
		return ""
	}
}

// wrongTemperature is a developer set to another temperature.
func wrongTemperature(seed uint64) *trial {
	t := newTrial(seed, colorProcesses[seed%4], 2)
	st := t.step(firstStep(t))
	c := pick(t, -7.8, -3, 2, 4, 3)
	t.describe("%+.1f °C", c)
	t.fault(sim.Fault{Kind: sim.WrongTemperature, Step: st.ID, Strength: c})
	t.want(wanted{rule: rules.RuleWrongTemperatureSet, step: st.ID, least: lab.High, also: beforeTheBath(st.ID)})
	t.allowed = append(t.allowed, rules.RuleBathTemperature, rules.RulePreheatOff) // both are true of this bath
	t.also = verdicts(lab.Inspect, lab.OutOfControl)
	return t
}

// preheatOff is liquid that goes in too cool or too warm.
func preheatOff(seed uint64) *trial {
	t := newTrial(seed, byParity(seed, "c41", "c41-kit"), 5)
	st := t.step(firstStep(t))
	c := pick(t, -4.0, -5, -7, 5, 6)
	t.describe("%+.0f °C", c)
	t.fault(sim.Fault{Kind: sim.PreheatOff, Step: st.ID, Phase: lab.PhaseHeating, Strength: c})
	t.want(wanted{rule: rules.RulePreheatOff, step: st.ID, least: lab.High, also: beforeTheBath(st.ID)})
	t.allowed = append(t.allowed, rules.RuleBathTemperature) // true of this bath
	return t
}

// renamed are steps by other names.
func renamed(whole bool) func(uint64) *trial {
	return func(seed uint64) *trial {
		t := newTrial(seed, colorProcesses[seed%4], 2)
		n := t.r.IntN(len(t.sheet.Steps))
		t.describe("%s", t.sheet.Steps[n].ID)
		for i, st := range t.sheet.Steps {
			if whole || i == n {
				t.fault(sim.Fault{Kind: sim.Renamed, Step: st.ID, Called: fmt.Sprintf("bath-%d", i+1)})
			}
		}
		if whole {
			t.describe("all of %s", t.sheet.ID)
		}
		t.want(wanted{rule: rules.RuleStepUnknown, least: lab.High, also: func(s *playedTrial, o *timeline.OccurrenceChange) string {
			if whole && o.RaisedAt.Sub(s.run(s.ordinal()).Began) > 2*time.Second {
				return "not told at the first step"
			}
			return ""
		}})
		t.also = verdicts(lab.Inspect)
		return t
	}
}

// wrongPush is a run whose rolls want another push, noticed with the first
// bath in and minutes left.
func wrongPush(seed uint64) *trial {
	t := newTrial(seed, byParity(seed, "c41", "e6-7"), 2)
	t.last().Push = pick(t, 0.0, 0, 1)
	st := t.step(firstStep(t))
	push := t.last().Push + 1
	wantS, _ := st.TimeFor(push, st.AimS)
	after := seconds(between(t.r, 20, 100))
	t.describe("set %+g, the rolls want %+g, noticed at %v", t.last().Push, push, after.Round(time.Second))
	done := false
	t.meanwhile = func(s *playedTrial, at time.Time) error {
		n, step, in, ok := s.lab.FilmInBath(unitName)
		if done || !ok || n != s.ordinal() || step != st.ID || in < after {
			return nil
		}
		done = true
		runs := s.lab.Runs()
		return s.enter(hookContext(), lab.EntryLoad, runs[len(runs)-1].Run, at, lab.Load{Process: t.sheet.ID, Push: push,
			Rolls: []lab.Roll{{TwinCheck: "551", Process: t.sheet.ID, Push: push}, {TwinCheck: "552", Process: t.sheet.ID, Push: push}}})
	}
	t.want(wanted{rule: rules.RuleRollMismatch, least: lab.High, says: []string{"drain at"}, also: func(s *playedTrial, o *timeline.OccurrenceChange) string {
		return actsBy(s, o, s.stepTruth(st.ID).InBath.Add(seconds(wantS)), 2)
	}})
	t.also = verdicts(lab.Inspect, lab.OutOfControl)
	return t
}

// wrongDrain is a bath that goes into another container than it usually does.
func wrongDrain(seed uint64) *trial {
	t := newTrial(seed, byParity(seed, "c41", "e6-7"), 4)
	step, to := "fixer", "waste"
	if t.r.IntN(2) == 0 {
		step, to = "bleach", "fixer-recovery"
	}
	t.describe("%s into %s", step, to)
	t.fault(sim.Fault{Kind: sim.WrongDrain, Step: step, Container: to})
	t.want(wanted{rule: rules.RuleWrongDestination, step: step, least: lab.High, says: []string{"ever mix"}})
	return t
}

// stripOut are two control strips beyond a control limit.
func stripOut(seed uint64) *trial {
	t := newTrial(seed, "c41", 2)
	dev, width := t.sign()*between(t.r, 0.09, 0.2), 0.08
	read := 0
	t.describe("%+.2f of ±0.08 twice", dev)
	t.meanwhile = func(s *playedTrial, at time.Time) error {
		if s.lab.EndedOf(unitName) < 1 || read == 2 {
			return nil
		}
		read++
		return s.enter(hookContext(), lab.EntryStrip, "", at, lab.Strip{Process: "c41", Status: lab.StripOut, Densities: map[string]lab.RGB{"ld": {R: &dev}},
			Plots: []lab.StripPlot{{Plot: "ld.r", Label: "LD red", Deviation: &dev, Control: &width, Side: "both", Status: lab.StripOut}}})
	}
	t.from = 1
	t.want(wanted{rule: rules.RuleStripOut, least: lab.High})
	return t
}
