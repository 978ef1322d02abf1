package report

import (
	"cmp"
	"fmt"
	"strings"

	"wetside/internal/lab"
	"wetside/internal/process"
)

func basisLines(r lab.Report, o Options) []string {
	out := append([]string{}, r.Notes...)
	by := r.JudgedBy
	if by.SheetName != "" {
		out = append(out, fmt.Sprintf("Judged by the sheet %s (%s).", by.SheetName, by.Sheet))
	}
	if by.InspectStops != nil && by.OutStops != nil {
		out = append(out, fmt.Sprintf("Push error from %.2f stop: inspect; beyond %.2f stop: out of control%s.", *by.InspectStops, *by.OutStops, edgesProvenance(by)))
	}
	out = append(out, probeLine(by, o))
	for _, a := range by.HouseAims {
		out = append(out, fmt.Sprintf("House aim for %s: %s at the sheet's temperature (the lab's own). Against it only what the probe has drifted since counts.", a.Step, lab.Elapsed(a.EquivalentS)))
	}
	for _, s := range r.Run.Steps {
		if s.PushErrorSheetStops != nil {
			out = append(out, fmt.Sprintf("Against the sheet in place of the house aim, %s: %+.2f stop.", s.Step, *s.PushErrorSheetStops))
		}
	}
	if by.Developer != nil {
		out = append(out, "Developer: "+by.Developer.Developer+".")
	}
	out = append(out, provenanceLines(r)...)
	if len(by.Sources) > 0 {
		out = append(out, "Sources of the sheet's figures: "+strings.Join(by.Sources, "; ")+".")
	}
	if s := r.Run.Seal; s != nil {
		out = append(out, fmt.Sprintf("Sealed %s, record %d of the log, hash %s.", o.day(s.SealedAt), s.Index, s.Hash))
	}
	for _, g := range r.Run.Gaps {
		out = append(out, fmt.Sprintf("Messages %d to %d of boot %s were not received.", g.FromSeq, g.ToSeq, g.Boot))
	}
	if r.MadeBy != "" {
		out = append(out, "Made by "+r.MadeBy+".")
	}
	return out
}

// edgesProvenance says how far the source of the edges goes.
func edgesProvenance(by lab.JudgedBy) string {
	for _, f := range by.Figures {
		if f.Figure == "edges" {
			return " (" + f.Provenance + ")"
		}
	}
	return ""
}

// probeLine says how far the bath's probe may be off, and how that is known.
func probeLine(by lab.JudgedBy, o Options) string {
	switch {
	case by.ProbeCheckedAt != nil:
		return fmt.Sprintf("The bath's probe was checked %s: %+.2f °C, right to ±%.2f °C (the lab's own).", o.day(*by.ProbeCheckedAt), by.ProbeOffsetC, by.ProbeWithinC)
	case by.ProbeClass != "":
		return fmt.Sprintf("The bath's probe was never checked: right to ±%.2f °C as one of class %s (IEC 60751, published).", by.ProbeWithinC, by.ProbeClass)
	}
	return fmt.Sprintf("The bath's probe was never checked and its kind is not known: taken for class B, right to ±%.2f °C (IEC 60751, published).", by.ProbeWithinC)
}

// provenanceLines say of each step how far the sources of its figures go.
func provenanceLines(r lab.Report) (out []string) {
	step, line := "", ""
	flush := func() {
		if line != "" {
			out = append(out, line+".")
		}
	}
	for i, f := range r.JudgedBy.Figures {
		if i == 0 || f.Step != step {
			flush()
			step, line = f.Step, capital(strings.ReplaceAll(f.Step, "-", " "))
			if f.Step == "" {
				line = "Whole sheet"
			}
			line += ": "
		} else {
			line += "; "
		}
		line += fmt.Sprintf("%s %s (%s)", process.FigureLabel(f.Figure), f.Value, cmp.Or(f.Note, f.Provenance))
	}
	flush()
	return out
}

// dependsWords name the unconfirmed figures that the verdict depends on, ""
// where there are none.
func dependsWords(r lab.Report) string {
	if len(r.JudgedBy.HangsOn) == 0 {
		return ""
	}
	var out []string
	for _, f := range r.JudgedBy.HangsOn {
		out = append(out, strings.TrimSpace(fmt.Sprintf("%s %s: %s", strings.ReplaceAll(f.Step, "-", " "), process.FigureLabel(f.Figure), f.Value)))
	}
	return "This verdict depends on unconfirmed figures: " + strings.Join(out, "; ") + ". Confirm it from your own manual."
}

// narrowerWords say what would narrow the range of the push error most.
func narrowerWords(run lab.Run) string {
	for _, s := range run.Steps {
		if n := s.Narrower; n != nil && s.PushErrorStops != nil {
			return fmt.Sprintf("%s: %s.", n.Text, narrowedWords(n.To))
		}
	}
	return ""
}

func narrowedWords(to float64) string {
	switch {
	case to >= 0.45 && to <= 0.55:
		return "halves the range"
	case to >= 0.3 && to <= 0.36:
		return "leaves a third of the range"
	}
	return fmt.Sprintf("leaves %.0f %% of the range", 100*to)
}
