package report

import (
	"encoding/json"
	"math"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/rules"
)

// checkedProbeC is how far a checked probe may still be off, °C, where the
// check itself does not say.
const checkedProbeC = 0.05

// judgedBy says by which figures the run was judged: those that people had
// set when it began.
func judgedBy(entries []lab.Entry, run lab.Run, cfg rules.Config) (lab.JudgedBy, sheetSteps) {
	by := lab.JudgedBy{Sheet: run.Process, Sources: []string{}, Figures: []lab.SheetFigure{}, HangsOn: []lab.SheetFigure{}}
	var devs []lab.DeveloperChoice
	for _, e := range entries {
		if e.At.After(run.StartedAt.Time) {
			continue
		}
		switch e.What {
		case lab.EntryProbe:
			setProbe(&by, e)
		case lab.EntryProbeKind:
			by.ProbeClass = lab.BodyOf[lab.ProbeKind](e).Class
		case lab.EntryHouseAim:
			setAim(&by, e, run)
		case lab.EntryDeveloper:
			devs = withDeveloper(devs, e, run)
		}
	}
	sp := stepsJudgedBy(cfg, run.Process, devs)
	for i := range devs {
		if st := sp.of(devs[i].Step); st != nil && st.Developer != nil {
			by.Developer = &devs[i]
		}
	}
	if sp.sheet != nil {
		by.SheetName = sp.sheet.Name
		by.Sources, by.Figures = sheetSources(sp), figuresOf(sp)
		judgedByEdges(&by, sp.sheet)
	}
	if by.ProbeCheckedAt == nil {
		by.ProbeWithinC = math.Round(100*process.ProbeTolerance(by.ProbeClass, bathC(sp))) / 100
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

func judgedByEdges(by *lab.JudgedBy, s *process.Sheet) {
	for i := range s.Steps {
		if st := &s.Steps[i]; st.Push != nil && !st.Edges.Ratio {
			inspect, out := st.Edges.InspectStops, st.Edges.OutStops
			by.InspectStops, by.OutStops = &inspect, &out
			return
		}
	}
}

// bathC is the temperature at which a probe's tolerance is told: the first
// developer's aim, else 20 °C.
func bathC(sp sheetSteps) float64 {
	if sp.sheet != nil {
		for i := range sp.sheet.Steps {
			if st := &sp.sheet.Steps[i]; st.Kind == process.Dev {
				return st.AimC
			}
		}
	}
	return 20
}
