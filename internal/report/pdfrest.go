package report

import (
	"fmt"
	"strings"

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

func (p *doc) comparison() {
	p.heading("Beside the good runs")
	for _, l := range comparisonLines(p.r, p.o) {
		p.para(l)
	}
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

func (p *doc) alertList() {
	if len(p.r.Alerts) == 0 {
		return
	}
	p.heading("Alerts")
	for i, l := range alertLines(p.r, p.o) {
		p.keep(5)
		p.para(fmt.Sprintf("%d. %s", i+1, l))
	}
}

func alertLines(r lab.Report, o Options) (out []string) {
	for _, a := range r.Alerts {
		out = append(out, fmt.Sprintf("%s %s: %s", o.clock(a.RaisedAt), a.Priority, a.Message))
	}
	return out
}

func (p *doc) rolls() {
	if len(p.r.Run.Rolls) == 0 {
		return
	}
	p.heading("Rolls")
	p.para(strings.Join(rollLines(p.r.Run), "\n"))
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

func (p *doc) stated() {
	lines := entryLines(p.r, p.o)
	if len(lines) == 0 {
		return
	}
	p.heading("What people stated")
	p.para(strings.Join(lines, "\n"))
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

// ground says what the report rests on.
func (p *doc) ground() {
	p.heading("What this rests on")
	for _, l := range groundLines(p.r, p.o) {
		p.fine(l)
	}
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

func groundLines(r lab.Report, o Options) []string {
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
