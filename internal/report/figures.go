package report

import (
	"fmt"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// figuresOf lists the figures of a sheet that a run is judged by, with how far
// the source of each goes. The developer in the bottle stands in place of the
// sheet's temperature factor.
func figuresOf(sp sheetSteps) []lab.SheetFigure {
	out := []lab.SheetFigure{}
	for _, f := range sp.sheet.Figures() {
		out = append(out, lab.SheetFigure{Figure: f, Value: sp.sheet.Value(f), Provenance: process.ProvenanceOf(sp.sheet.Sources, f)})
	}
	for i := range sp.sheet.Steps {
		st := sp.of(sp.sheet.Steps[i].ID)
		for _, f := range st.Figures() {
			if f == "per_10c" && st.Developer != nil {
				continue
			}
			x := stepFigure(st, f)
			if f == "limits_c" {
				x.Note = widenedNote(sp.sheet, st.ID)
			}
			out = append(out, x)
		}
		if d := st.Developer; d != nil {
			out = append(out, lab.SheetFigure{Step: st.ID, Figure: "minutes", Value: d.Name(), Provenance: process.ProvenanceOf(d.Sources, "minutes")})
		}
	}
	return out
}

// widenedNote says of a step's limits that they are wider than the published
// ones; empty where they are not.
func widenedNote(s *process.Sheet, step string) string {
	for _, w := range process.WidenedLimits(s) {
		if w.Step == step {
			return w.Words()
		}
	}
	return ""
}

func stepFigure(st *process.Step, figure string) lab.SheetFigure {
	return lab.SheetFigure{Step: st.ID, Figure: figure, Value: st.Value(figure), Provenance: process.ProvenanceOf(st.Sources, figure)}
}

// sheetSources names where the figures of a sheet come from.
func sheetSources(sp sheetSteps) []string {
	s := sp.sheet
	out := []string{}
	add := func(of string, list []process.Source) {
		for _, x := range list {
			line := fmt.Sprintf("%s%s: %s (%s)", of, process.FigureLabel(x.Figure), x.From, x.Provenance())
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

func isUnconfirmed(f lab.SheetFigure) bool { return f.Provenance == process.Unconfirmed }
