package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// figuresOf lists the figures of a sheet that a run is judged by, with how far
// the source of each goes. The developer in the bottle stands in place of the
// sheet's temperature factor.
func figuresOf(sp specs) []lab.SheetFigure {
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

// hangsOn lists the unconfirmed figures without which the verdict might have
// been another: those that every reason for it rests on, and a temperature
// factor where the run came out elsewhere with another one of its range.
func hangsOn(run lab.Run, sp specs) []lab.SheetFigure {
	out := []lab.SheetFigure{}
	if run.Verdict == nil || sp.sheet == nil {
		return out
	}
	add := func(f lab.SheetFigure) {
		if f.Provenance == process.Unconfirmed && !slices.Contains(out, f) {
			out = append(out, f)
		}
	}
	for _, f := range reasonFigures(run, sp) {
		add(f)
	}
	for _, s := range run.Steps {
		if st := sp.of(s.Step); st != nil && st.Developer == nil && factorDecides(s, st, run.Push) {
			add(stepFigure(st, "per_10c"))
		}
	}
	return out
}

// reasonFigures are the unconfirmed figures that the reasons rest on; none
// where one of the reasons rests on none of them: the verdict stands by that
// one.
func reasonFigures(run lab.Run, sp specs) (out []lab.SheetFigure) {
	for _, x := range run.Reasons {
		names, carries := restsOn(run, x, sp.of(x.Step))
		if !carries {
			continue
		}
		var open []lab.SheetFigure
		for _, n := range names {
			if f := namedFigure(n, x.Step, sp); unconfirmed(f) {
				open = append(open, f)
			}
		}
		if len(open) == 0 {
			return nil
		}
		out = append(out, open...)
	}
	return out
}

func namedFigure(name, step string, sp specs) lab.SheetFigure {
	if name == "dry_max_c" {
		return lab.SheetFigure{Figure: name, Value: sp.sheet.Value(name), Provenance: process.ProvenanceOf(sp.sheet.Sources, name)}
	}
	return stepFigure(sp.of(step), name)
}

// restsOn names the figures that a reason rests on, none for what no figure
// decides, such as a step that was skipped; and whether it carries the verdict.
// Out of control is by a push error or a step skipped alone.
func restsOn(run lab.Run, x lab.Reason, st *process.Step) (names []string, carries bool) {
	switch {
	case x.Code == "out-of-pattern":
		return nil, false // it changes no verdict
	case x.Code == "step-skipped":
		return nil, true
	case *run.Verdict == lab.OutOfControl:
		if st == nil || level(run, st) < 2 {
			return nil, false
		}
		return having(st, "edges", "push_s", "push_factor"), true
	case x.Code == "dryer":
		return []string{"dry_max_c"}, true
	case st == nil:
		return nil, true
	}
	switch x.Code {
	case "bath-warm", "bath-cool", "bath-swings":
		return having(st, "limits_c"), true
	case "step-long", "step-short", "wrong-time":
		return having(st, timeFigure(st, x.Code)), true
	case "outage":
		return having(st, "edges"), true
	}
	return nil, true
}

// timeFigure is the figure that a step's time is held to.
func timeFigure(st *process.Step, code string) string {
	switch {
	case st.Kind == process.Min && code != "step-long":
		return "least_s"
	case st.FromUnit:
		return "push_factor"
	case st.Push != nil:
		return "push_s"
	}
	return "aim_s"
}

// having gives of some figures those that the step has.
func having(st *process.Step, names ...string) (out []string) {
	has := st.Figures()
	for _, n := range names {
		if slices.Contains(has, n) {
			out = append(out, n)
		}
	}
	return out
}

// level is beyond which edge a developer came out, the farthest of its steps.
func level(run lab.Run, st *process.Step) (most int) {
	for _, s := range run.Steps {
		if s.Step == st.ID && st.Kind == process.Dev && s.EquivalentS != nil {
			most = max(most, st.Off(*s.EquivalentS, aimOf(s, run.Push)))
		}
	}
	return most
}

func aimOf(s lab.RunStep, push float64) process.Aim {
	a := process.Aim{Push: push}
	if s.SetS != nil {
		a.SetS = *s.SetS
	}
	if s.HouseAimS != nil {
		a.HouseS = *s.HouseAimS
	}
	return a
}

// factorDecides tells whether a developer would have come out beyond another
// edge with another temperature factor of the sheet's range. Its equivalent
// time over its time is the mean speed, whose logarithm goes with that of the
// factor.
func factorDecides(s lab.RunStep, st *process.Step, push float64) bool {
	if st.Kind != process.Dev || s.EquivalentS == nil || s.TimeS == nil || *s.TimeS <= 0 || *s.EquivalentS <= 0 || st.Factor.Best <= 1 {
		return false
	}
	a := aimOf(s, push)
	speed := math.Log(*s.EquivalentS / *s.TimeS) / math.Log(st.Factor.Best)
	is := st.Off(*s.EquivalentS, a)
	for _, factor := range []float64{st.Factor.Low, st.Factor.High} {
		if st.Off(*s.TimeS*math.Pow(factor, speed), a) != is {
			return true
		}
	}
	return false
}

// hangsWords say what the verdict hangs on, "" for nothing unconfirmed.
func hangsWords(r lab.Report) string {
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

// probeLine says what the bath's probe is taken to be worth, and why.
func probeLine(by lab.JudgedBy, o Options) string {
	switch {
	case by.ProbeCheckedAt != nil:
		return fmt.Sprintf("The bath's probe was checked %s: %+.2f °C, right to ±%.2f °C (the lab's own).", o.day(*by.ProbeCheckedAt), by.ProbeOffsetC, by.ProbeWithinC)
	case by.ProbeClass != "":
		return fmt.Sprintf("The bath's probe was never checked: right to ±%.2f °C as one of class %s (IEC 60751, published).", by.ProbeWithinC, by.ProbeClass)
	}
	return fmt.Sprintf("The bath's probe was never checked and its kind is not known: taken for class B, right to ±%.2f °C (IEC 60751, published).", by.ProbeWithinC)
}
