package report

import (
	"math"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// dependsOn lists the unconfirmed figures without which the verdict might have
// been another: those that every reason for it rests on, and a temperature
// factor where the run came out elsewhere with another one of its range.
func dependsOn(run lab.Run, sp sheetSteps) []lab.SheetFigure {
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
// where one of the reasons rests on none of them, since that reason alone
// would have given the verdict.
func reasonFigures(run lab.Run, sp sheetSteps) (out []lab.SheetFigure) {
	for _, x := range run.Reasons {
		names, carries := figuresBehind(run, x, sp.of(x.Step))
		if !carries {
			continue
		}
		var open []lab.SheetFigure
		for _, n := range names {
			if f := namedFigure(n, x.Step, sp); isUnconfirmed(f) {
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

func namedFigure(name, step string, sp sheetSteps) lab.SheetFigure {
	if name == "dry_max_c" {
		return lab.SheetFigure{Figure: name, Value: sp.sheet.Value(name), Provenance: process.ProvenanceOf(sp.sheet.Sources, name)}
	}
	return stepFigure(sp.of(step), name)
}

// figuresBehind names the figures that a reason rests on, none for what no figure
// decides, such as a step that was skipped; and whether it carries the verdict.
// Out of control is by a push error or a step skipped alone.
func figuresBehind(run lab.Run, x lab.Reason, st *process.Step) (names []string, carries bool) {
	switch {
	case x.Code == "out-of-pattern":
		return nil, false // it changes no verdict
	case x.Code == "step-skipped":
		return nil, true
	case *run.Verdict == lab.OutOfControl:
		if st == nil || edgePassed(run, st) < 2 {
			return nil, false
		}
		return figuresOfStep(st, "edges", "push_s", "push_factor"), true
	case x.Code == "dryer":
		return []string{"dry_max_c"}, true
	case st == nil:
		return nil, true
	}
	switch x.Code {
	case "bath-warm", "bath-cool", "bath-swings":
		return figuresOfStep(st, "limits_c"), true
	case "step-long", "step-short", "wrong-time":
		return figuresOfStep(st, timeFigure(st, x.Code)), true
	case "outage":
		return figuresOfStep(st, "edges"), true
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

// figuresOfStep gives of some figures those that the step has.
func figuresOfStep(st *process.Step, names ...string) (out []string) {
	has := st.Figures()
	for _, n := range names {
		if slices.Contains(has, n) {
			out = append(out, n)
		}
	}
	return out
}

// edgePassed is beyond which edge a developer came out, the farthest of its steps.
func edgePassed(run lab.Run, st *process.Step) (most int) {
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
