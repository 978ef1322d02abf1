package judge

import (
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
	"wetside/rules"
)

// levelFault is one way in which a container, its sensors, hoses or pumps fail,
// and how it should be told.
type levelFault struct {
	name       string
	wantsProbe bool // nothing but a probe can show it
	within     int  // runs within which it should be told, that in which it began counted: two whole ones are three
	make       func(w *levelWeek, sheet *process.Sheet, run int) []sim.Fault
	rules      []string // any of these is the alert that tells it
	fault      string   // the fact fault of it; "" for rules that are a fault by themselves
}

// inRun is a fault that begins in a run and lasts.
func inRun(w *levelWeek, kind sim.Kind, container string, run int, strength float64) []sim.Fault {
	return []sim.Fault{{Kind: kind, Unit: unitName, Run: run, Container: container, Strength: strength,
		After: seconds(between(w.r, 30, 1500)), For: 100 * time.Hour}}
}

// levelFaults are those that are judged.
var levelFaults = []levelFault{
	{name: "stuck probe, waste", wantsProbe: true, within: 2, rules: []string{rules.RuleLevelDisagrees}, fault: "stuck-probe",
		make: func(w *levelWeek, _ *process.Sheet, run int) []sim.Fault {
			return inRun(w, sim.StuckLevel, "waste", run, 0)
		}},
	{name: "stuck probe, water", wantsProbe: true, within: 2, rules: []string{rules.RuleLevelDisagrees}, fault: "stuck-probe",
		make: func(w *levelWeek, _ *process.Sheet, run int) []sim.Fault {
			return inRun(w, sim.StuckLevel, "wash", run, 0)
		}},
	{name: "float stuck closed", wantsProbe: true, within: 1, rules: []string{rules.RuleLevelDisagrees}, fault: "stuck-float",
		make: func(w *levelWeek, _ *process.Sheet, run int) []sim.Fault {
			return inRun(w, sim.StuckFloat, "waste", run, 1)
		}},
	{name: "leak, 0.02 to 0.2 L/min", wantsProbe: true, within: 3, rules: []string{rules.RuleLevelDisagrees}, fault: "leak",
		make: func(w *levelWeek, _ *process.Sheet, run int) []sim.Fault {
			return inRun(w, sim.Leak, pick2(w, "waste", "wash"), run, between(w.r, 0.02, 0.2))
		}},
	{name: "burst hose, 1 to 3 L/min", wantsProbe: true, within: 1, rules: []string{rules.RuleLevelDisagrees}, fault: "leak",
		make: func(w *levelWeek, _ *process.Sheet, run int) []sim.Fault {
			return inRun(w, sim.Leak, "wash", run, between(w.r, 1, 3))
		}},
	{name: "a fifth to a half of each drain misses", wantsProbe: true, within: 3, rules: []string{rules.RuleLevelDisagrees}, fault: "leak",
		make: func(w *levelWeek, _ *process.Sheet, run int) []sim.Fault {
			return inRun(w, sim.HoseOut, "waste", run, between(w.r, 0.2, 0.45))
		}},
	{name: "backflow, 0.03 to 0.3 L/min", wantsProbe: true, within: 2, rules: []string{rules.RuleLevelDisagrees}, fault: "backflow",
		make: func(w *levelWeek, _ *process.Sheet, run int) []sim.Fault {
			return inRun(w, sim.Backflow, pick2(w, "waste", "wash"), run, between(w.r, 0.03, 0.3))
		}},
	{name: "hose not in the tank", wantsProbe: true, within: 2, rules: []string{rules.RuleDrainNotArriving, rules.RuleLevelDisagrees},
		make: func(w *levelWeek, _ *process.Sheet, run int) []sim.Fault {
			return inRun(w, sim.HoseOut, "waste", run, between(w.r, 0.9, 1))
		}},
	{name: "pump at 15 to 45 %", within: 1, rules: []string{rules.RuleFillSlow},
		make: func(w *levelWeek, _ *process.Sheet, run int) []sim.Fault {
			return inRun(w, sim.PumpWeak, "", run, between(w.r, 0.15, 0.45))
		}},
	{name: "air in the line, 30 to 60 s", within: 1, rules: []string{rules.RuleFillSlow, rules.RulePhaseOverdue},
		make: func(w *levelWeek, s *process.Sheet, run int) []sim.Fault {
			return []sim.Fault{{Kind: sim.PumpWeak, Unit: unitName, Run: run, Step: s.Steps[w.r.IntN(len(s.Steps))].ID, Phase: lab.PhaseFilling, For: seconds(between(w.r, 30, 60))}}
		}},
	{name: "drain into another stream", within: 1, rules: []string{rules.RuleWrongDestination},
		make: func(w *levelWeek, s *process.Sheet, run int) []sim.Fault {
			i := slices.IndexFunc(s.Steps, func(st process.Step) bool { return st.Fixes })
			return []sim.Fault{{Kind: sim.WrongDrain, Unit: unitName, Run: run, Step: s.Steps[i].ID, Container: "waste"}}
		}},
}

func pick2(w *levelWeek, a, b string) string { return []string{a, b}[w.r.IntN(2)] }

// levelRules are the rules whose alerts are counted as false where nothing is
// wrong.
var levelRules = []string{rules.RuleLevelDisagrees, rules.RuleDrainNotArriving, rules.RuleFillSlow, rules.RuleWrongDestination}

// sumUp counts what was told in the week.
func (p *levelPlay) sumUp() {
	fault := p.fault
	if fault != nil {
		kind := p.faults[len(p.faults)-1].Kind
		for _, t := range p.lab.Faults() {
			if t.Fault.Kind == kind && !t.From.Before(p.plan.Shifts[0].On) && (t.Fault.Run > 0) {
				p.out.began = t.From
			}
		}
	}
	for _, o := range p.replay.occurrences {
		if slices.Contains(levelRules, o.Rule) {
			p.out.pages = append(p.out.pages, o)
		}
		if fault == nil || p.out.began.IsZero() || o.RaisedAt.Before(p.out.began) || !slices.Contains(fault.rules, o.Rule) {
			continue
		}
		named := fault.fault == "" || o.Facts["fault"] == fault.fault
		if p.out.found.IsZero() || named && !p.out.named || named == p.out.named && o.RaisedAt.Before(p.out.found) {
			p.out.found, p.out.named = o.RaisedAt, named
		}
	}
	slices.SortFunc(p.out.pages, byRaised)
	for _, t := range p.lab.Runs() {
		ended := t.Ended
		if ended.IsZero() {
			ended = p.out.found
		}
		if ended.After(p.out.began) && t.Began.Before(p.out.found) {
			p.out.runs++
		}
	}
}
