package audit

import (
	"encoding/json"
	"slices"
	"strings"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/rules"
)

// defaultProbeC is what the bath's probe is worth until the lab has checked
// it, °C; a checked one is worth checkedProbeC where the check says no more.
const (
	defaultProbeC = 0.1
	checkedProbeC = 0.05
)

// judgedBy says by which figures the run was judged: those that people had
// set when it began.
func judgedBy(entries []lab.Entry, run lab.Run, cfg rules.Config) (lab.JudgedBy, specs) {
	by := lab.JudgedBy{Sheet: run.Process, Sources: []string{}, ProbeWithinC: defaultProbeC}
	var devs []lab.DeveloperChoice
	for _, e := range entries {
		if e.At.After(run.StartedAt.Time) {
			continue
		}
		switch e.What {
		case lab.EntryProbe:
			setProbe(&by, e)
		case lab.EntryHouseAim:
			setAim(&by, e, run)
		case lab.EntryDeveloper:
			devs = withDeveloper(devs, e, run)
		}
	}
	sp := newSpecs(cfg, run.Process, devs)
	for i := range devs {
		if st := sp.of(devs[i].Step); st != nil && st.Developer != nil {
			by.Developer = &devs[i]
		}
	}
	if sp.sheet != nil {
		by.SheetName = sp.sheet.Name
		by.Sources = sheetSources(sp)
		edges(&by, sp.sheet)
	}
	return by, sp
}

func setProbe(by *lab.JudgedBy, e lab.Entry) {
	var c lab.ProbeCheck
	if json.Unmarshal(e.Body, &c) != nil {
		return
	}
	by.ProbeOffsetC, by.ProbeWithinC, by.ProbeCheckedAt = c.OffsetC, checkedProbeC, lab.AtPtr(e.At)
	if c.UncertaintyC != nil {
		by.ProbeWithinC = *c.UncertaintyC
	}
}

func setAim(by *lab.JudgedBy, e lab.Entry, run lab.Run) {
	var a lab.HouseAim
	if json.Unmarshal(e.Body, &a) != nil || a.Process != run.Process || a.Push != run.Push {
		return
	}
	by.HouseAims = slices.DeleteFunc(by.HouseAims, func(h lab.HouseAim) bool { return h.Step == a.Step })
	if a.EquivalentS > 0 {
		by.HouseAims = append(by.HouseAims, a)
	}
}

// withDeveloper puts a choice in the place of the one before it for its step.
func withDeveloper(devs []lab.DeveloperChoice, e lab.Entry, run lab.Run) []lab.DeveloperChoice {
	var d lab.DeveloperChoice
	if json.Unmarshal(e.Body, &d) != nil || d.Process != run.Process {
		return devs
	}
	devs = slices.DeleteFunc(devs, func(x lab.DeveloperChoice) bool { return x.Step == d.Step })
	if d.Developer != "" {
		devs = append(devs, d)
	}
	return devs
}

func edges(by *lab.JudgedBy, s *process.Sheet) {
	for i := range s.Steps {
		if st := &s.Steps[i]; st.Push != nil && !st.Edges.Ratio {
			inspect, out := st.Edges.InspectStops, st.Edges.OutStops
			by.InspectStops, by.OutStops = &inspect, &out
			return
		}
	}
}

// memoryMark stands behind what was written down from memory.
const memoryMark = " (from memory: the lab's choice until confirmed)"

func fromMemory(source string) bool { return strings.HasSuffix(source, memoryMark) }

// sheetSources names where the figures of a sheet come from.
func sheetSources(sp specs) []string {
	s := sp.sheet
	out := []string{}
	add := func(of string, list []process.Source) {
		for _, x := range list {
			line := of + x.Figure + ": " + x.From
			if x.Memory {
				line += memoryMark
			}
			if !slices.Contains(out, line) {
				out = append(out, line)
			}
		}
	}
	add("", s.Sources)
	for i := range s.Steps {
		st := &s.Steps[i]
		add(st.ID+" ", st.Sources)
	}
	for i := range s.Steps {
		if d := sp.of(s.Steps[i].ID).Developer; d != nil {
			add(d.Name()+" ", d.Sources)
		}
	}
	return out
}
