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
// set by its end.
func judgedBy(entries []lab.Entry, run lab.Run, cfg rules.Config) (lab.JudgedBy, specs) {
	by := lab.JudgedBy{Sheet: run.Process, Sources: []string{}, ProbeWithinC: defaultProbeC}
	for _, e := range entries {
		if run.EndedAt != nil && e.At.After(run.EndedAt.Time) {
			continue
		}
		switch e.What {
		case lab.EntryProbe:
			setProbe(&by, e)
		case lab.EntryHouseAim:
			setAim(&by, e, run)
		case lab.EntryDeveloper:
			setDeveloper(&by, e, run)
		}
	}
	sp := newSpecs(cfg, run.Process, by.Developer)
	if sp.sheet != nil {
		by.SheetName = sp.sheet.Name
		by.Sources = sheetSources(sp.sheet)
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

func setDeveloper(by *lab.JudgedBy, e lab.Entry, run lab.Run) {
	var d lab.DeveloperChoice
	if json.Unmarshal(e.Body, &d) != nil || d.Process != run.Process {
		return
	}
	by.Developer = &d
	if d.Developer == "" {
		by.Developer = nil
	}
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
func sheetSources(s *process.Sheet) []string {
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
		if st.Developer != nil {
			add(st.Developer.Name()+" ", st.Developer.Sources)
		}
	}
	return out
}
