package report

import (
	"fmt"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// headLines say which run this is.
func headLines(r lab.Report, o Options) []string {
	when := o.day(r.Run.StartedAt)
	if r.Run.EndedAt != nil {
		when += " to " + o.clock(*r.Run.EndedAt) + ", " + r.Run.Outcome
	} else {
		when += ", " + r.Run.Outcome
	}
	what := processWords(r)
	if r.Run.Kind != "" && r.Run.Kind != lab.KindOfRunFilm {
		what += ", " + r.Run.Kind
	}
	return []string{fmt.Sprintf("%s; %s", what, lab.CountOfRolls(r.Run.Rolls)), when}
}

func decisionWords(d *lab.Decision, o Options) string {
	out := fmt.Sprintf("Decision: %s, by %s, %s.", d.Decision, d.By, o.day(d.At))
	if d.Note != "" {
		out += " " + d.Note
	}
	if d.ToldAt != nil {
		out += " Customer told " + o.day(*d.ToldAt) + "."
	}
	return out
}

func outageWords(x lab.Outage, o Options) string {
	out := "Mains power lost"
	if x.Step != "" {
		out += " in " + x.Step
	}
	if x.LostAt != nil {
		out += " from " + o.clock(*x.LostAt)
	}
	if x.BackAt != nil {
		out += " to " + o.clock(*x.BackAt)
	}
	if x.OutageS != nil {
		out += ", " + lab.Elapsed(*x.OutageS)
	}
	switch x.Kind {
	case "restart":
		out += "; the controller was down"
	case "battery":
		out += "; the controller ran on its battery"
	}
	if x.Advice != "" {
		out += ". Advice: " + x.Advice
	}
	return out + "."
}

// comparisonLines say what stands out beside the good runs.
func comparisonLines(r lab.Report, o Options) []string {
	c := r.Compared
	if c == nil {
		return []string{fmt.Sprintf("Not compared: it takes %d good runs of this process and push on this unit.", fewestGood)}
	}
	out := []string{fmt.Sprintf("Compared with %d good runs of this unit, %s to %s.", c.Runs, o.day(c.From), o.day(c.To))}
	if len(c.Findings) == 0 {
		return append(out, "Nothing stands out.")
	}
	const most = 12
	for i, f := range c.Findings {
		if i == most {
			out = append(out, fmt.Sprintf("and %d more that stand out less.", len(c.Findings)-most))
			break
		}
		out = append(out, fmt.Sprintf("%s Robust z %+.1f.", f.Text, f.Z))
	}
	return out
}

func alertLines(r lab.Report, o Options) (out []string) {
	for _, a := range r.Alerts {
		out = append(out, fmt.Sprintf("%s %s: %s", o.clock(a.RaisedAt), a.Priority, a.Message))
	}
	return out
}

func rollLines(run lab.Run) (out []string) {
	for _, x := range run.Rolls {
		l := x.TwinCheck
		for _, w := range []string{x.Film, x.Format} {
			if w != "" {
				l += ", " + w
			}
		}
		if x.Order != "" {
			l += ", order " + x.Order
		}
		if x.Process != "" && (x.Process != run.Process || x.Push != run.Push) {
			l += ", for " + process.Named(x.Process, x.Push)
		}
		if x.Note != "" {
			l += ", " + x.Note
		}
		if d := x.Decision; d != nil {
			l += fmt.Sprintf(": %s, by %s", d.Decision, d.By)
		}
		out = append(out, l)
	}
	return out
}

// entryLines say in plain words what people entered.
func entryLines(r lab.Report, o Options) (out []string) {
	for _, e := range r.Entries {
		if what := e.Words(lab.EntryWords{Clock: o.clock}); what != "" {
			out = append(out, fmt.Sprintf("%s %s: %s", o.day(lab.At(e.At)), e.By, what))
		}
	}
	return out
}

// lookOf finds what to look for of a reason.
func lookOf(r lab.Report, x lab.Reason) (lab.LookFor, bool) {
	for _, l := range r.Look {
		if l.Code == x.Code && l.Step == x.Step {
			return l, true
		}
	}
	return lab.LookFor{}, false
}

func causeLines(c lab.Cause) (out []string) {
	if c.Evidence != "" {
		out = append(out, "For it: "+c.Evidence)
	}
	if c.Against != "" {
		out = append(out, "Against it: "+c.Against)
	}
	if c.Tell != "" {
		out = append(out, "To tell it: "+c.Tell)
	}
	return append(out, sourceWords(c.Source, c.Provenance))
}

// sourceWords say where a row of the symptom table was read and how far that
// goes. A report sealed before that was recorded does not say it.
func sourceWords(source, provenance string) string {
	if provenance == "" {
		return "Source: " + source + "."
	}
	return fmt.Sprintf("Source: %s (%s).", source, provenance)
}
