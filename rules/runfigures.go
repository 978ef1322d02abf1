package rules

import (
	"encoding/json"
	"maps"
	"slices"
	"time"

	"wetside/internal/lab"
)

// runFigures are the lab's own figures that a run is judged by: those that people
// had set when it began.
type runFigures struct {
	Probe *probeCheck           `json:"probe,omitempty"`
	Class string                `json:"class,omitempty"` // of the probe, by IEC 60751; "": not known
	Aims  []lab.HouseAim        `json:"aims,omitempty"`
	Devs  []lab.DeveloperChoice `json:"devs,omitempty"`
	Names []lab.StepName        `json:"names,omitempty"` // of the run's process
	Times lab.StepTime          `json:"times,omitzero"`
}

// probeCheck is what the last check of the bath's probe found.
type probeCheck struct {
	OffsetC float64   `json:"offset_c"`
	WithinC float64   `json:"within_c"`
	At      time.Time `json:"at"`
}

const (
	// probeC is how far readings may be off each other while a bath is followed,
	// °C, by drift and noise. The probe's tolerance is the same all through a
	// bath, and counts in the bounds of the report.
	probeC = 0.1
	// measuredC is how far a person's thermometer in the bath may be off, °C,
	// where the entry does not say: common practice, no source.
	measuredC = 0.2
	// probeCheckedC is how far a checked probe may be off, °C, where the check
	// does not say.
	probeCheckedC = 0.05
)

// offsetC is what the last check of the probe found to add to a reading; withinC
// is how far the reading may be off then.
func (g *runFigures) offsetC() float64 {
	if g.Probe == nil {
		return 0
	}
	return g.Probe.OffsetC
}

func (u *Unit) offsetC(c *runStep) float64 { return u.s.Run.Fig.offsetC() + c.OffsetC }

func (g *runFigures) withinC() float64 {
	if g.Probe == nil {
		return probeC
	}
	return g.Probe.WithinC
}

// figuresAt are the figures for a run that begins at a moment of the unit's
// clock: those in force then, and names of steps that people explained for that
// very run, later too.
func (u *Unit) figuresAt(t time.Time, st *lab.Step) runFigures {
	last, id := map[string]*Entry{}, RunID(u.id, st.Run)
	for _, k := range u.entries {
		if k.Kind().Figure && (!k.T.After(t) || k.RunID == id && k.OfWholeRun()) {
			last[k.Sets()] = k
		}
	}
	var g runFigures
	for _, key := range slices.Sorted(maps.Keys(last)) {
		k := last[key]
		switch k.What {
		case lab.EntryProbe:
			var b lab.ProbeCheck
			if json.Unmarshal(k.Body, &b) == nil {
				g.Probe = &probeCheck{b.OffsetC, probeCheckedC, k.T}
				if b.UncertaintyC != nil {
					g.Probe.WithinC = max(*b.UncertaintyC, 0)
				}
			}
		case lab.EntryHouseAim:
			var b lab.HouseAim
			if json.Unmarshal(k.Body, &b) == nil && b.EquivalentS > 0 {
				g.Aims = append(g.Aims, b)
			}
		case lab.EntryDeveloper:
			var b lab.DeveloperChoice
			if json.Unmarshal(k.Body, &b) == nil && b.Developer != "" {
				g.Devs = append(g.Devs, b)
			}
		case lab.EntryStepName:
			var b lab.StepName
			if json.Unmarshal(k.Body, &b) == nil && b.Process == st.Process {
				g.Names = append(g.Names, b)
			}
		case lab.EntryProbeKind:
			var b lab.ProbeKind
			_ = json.Unmarshal(k.Body, &b)
			g.Class = b.Class
		case lab.EntryStepTime:
			_ = json.Unmarshal(k.Body, &g.Times)
		}
	}
	return g
}

// houseS is the house aim of a step for the push asked for, false where the
// lab has none.
func (u *Unit) houseS(c *runStep) (float64, bool) {
	for _, a := range u.s.Run.Fig.Aims {
		d := a.Push - u.s.Run.Push
		if (a.Process == u.s.Run.Process || a.Process == "") && a.Step == c.ID && d < roundingSlack && d > -roundingSlack {
			return a.EquivalentS, true
		}
	}
	return 0, false
}
