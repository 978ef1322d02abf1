package report

import (
	"fmt"
	"strings"

	"wetside/internal/lab"
)

// report writes the whole report, most wanted first.
func (p *pdfDocument) report() {
	p.top()
	p.reasons()
	p.seen()
	p.outages()
	p.film()
	d := drawRun(p.r, p.o)
	p.needRoom(d.H*(pageW-2*margin)/d.W + 12)
	p.heading("What was planned and what happened")
	p.draw(d)
	p.steps()
	p.comparison()
	p.alertList()
	p.rolls()
	p.mixes()
	p.entered()
	p.basis()
}

func (p *pdfDocument) top() {
	r := p.r
	p.SetFont(font, "B", 17)
	p.ink(ink)
	p.MultiCell(0, 8, fmt.Sprintf("%s, run %s", r.UnitName, r.Run.Run), "", "L", false)
	p.SetFont(font, "", 10)
	p.ink(soft)
	p.MultiCell(0, 5, strings.Join(headLines(r, p.o), "\n"), "", "L", false)
	p.Ln(2)
	word, do := verdictWords(r.Run)
	p.SetFont(font, "B", 14)
	p.ink(ink)
	if r.Run.Verdict != nil && *r.Run.Verdict != lab.InControl {
		p.ink(alarm)
	}
	p.MultiCell(0, 7, "Verdict: "+word, "", "L", false)
	p.para(strings.TrimSpace(do + " " + pushWords(r.Run) + " " + narrowerWords(r.Run)))
	p.para(dependsWords(r))
	p.para(rollNumbers(r.Run))
	if d := r.Run.Decision; d != nil {
		p.para(decisionWords(d, p.o))
	}
}

func (p *pdfDocument) reasons() {
	if len(p.r.Run.Reasons) == 0 {
		return
	}
	p.heading("Reasons, most likely first, and what to look for")
	for i, x := range p.r.Run.Reasons {
		under := []string{}
		if l, ok := lookOf(p.r, x); ok {
			under = append(under, "Look for: "+l.Look)
			if l.Remedy != "" {
				under = append(under, "What can still be done: "+l.Remedy)
			}
			under = append(under, sourceWords(l.Source, l.Provenance))
		}
		p.entry(fmt.Sprintf("%d. %s: %s", i+1, capital(codeWord(x.Code)), x.Text), under...)
	}
}

func (p *pdfDocument) seen() {
	for _, s := range p.r.Seen {
		p.heading("Seen on the film: " + s.Label + ", " + lab.OnRolls(s.Rolls, s.All))
		if len(s.Causes) == 0 {
			p.para("No cause in the table fits what this run shows.")
		}
		for i, c := range s.Causes {
			p.entry(fmt.Sprintf("%d. %s", i+1, c.Text), causeLines(c)...)
		}
	}
}

func (p *pdfDocument) outages() {
	if len(p.r.Run.Outages) == 0 {
		return
	}
	p.heading("Power")
	for _, o := range p.r.Run.Outages {
		p.entry(outageWords(o, p.o), o.Text)
	}
}

// column of the table of steps.
type column struct {
	head string
	w    float64
	of   func(lab.RunStep) string
}

var stepColumns = []column{
	{"", 7, nil},
	{"step", 28, func(s lab.RunStep) string { return stepWords(s.Step) }},
	{"sheet", 14, func(s lab.RunStep) string { return elapsedOr(s.SheetS, "-") }},
	{"set", 13, func(s lab.RunStep) string { return elapsedOr(s.SetS, "-") }},
	{"was", 14, func(s lab.RunStep) string { return elapsedOr(s.TimeS, "not known") }},
	{"limits", 22, limitWords},
	{"mean", 13, func(s lab.RunStep) string { return degrees(s.MeanC) }},
	{"lowest", 13, func(s lab.RunStep) string { return degrees(s.MinC) }},
	{"highest", 14, func(s lab.RunStep) string { return degrees(s.MaxC) }},
	{"outside", 14, func(s lab.RunStep) string { return elapsedOr(s.OutsideS, "-") }},
	{"push error", 28, stepPush},
}

func limitWords(s lab.RunStep) string {
	if s.LowC == nil || s.HighC == nil {
		return "-"
	}
	return fmt.Sprintf("%.2f-%.2f", *s.LowC, *s.HighC)
}

func stepPush(s lab.RunStep) string {
	if s.PushErrorStops == nil {
		return ""
	}
	out := fmt.Sprintf("%+.2f", *s.PushErrorStops)
	if s.PushErrorLowStops != nil && s.PushErrorHighStops != nil {
		out += fmt.Sprintf(" (%+.2f %+.2f)", *s.PushErrorLowStops, *s.PushErrorHighStops)
	}
	return out
}

func (p *pdfDocument) steps() {
	if len(p.r.Run.Steps) == 0 {
		return
	}
	p.needRoom(5.2*float64(min(len(p.r.Run.Steps)+1, 14)) + 12)
	p.heading("Steps")
	line := func(weight string, c colour, text func(column) string) {
		p.SetFont(font, weight, 8)
		p.ink(c)
		for i, col := range stepColumns {
			how := "R"
			if i < 2 {
				how = "L"
			}
			p.CellFormat(col.w, 4.8, text(col), "B", 0, how, false, 0, "")
		}
		p.Ln(4.8)
	}
	p.SetDrawColor(int(rule[0]), int(rule[1]), int(rule[2]))
	p.SetLineWidth(0.15)
	line("", soft, func(c column) string {
		if c.head == "limits" {
			return "limits " + p.o.Units.DegreeUnit()
		}
		return c.head
	})
	for _, s := range p.r.Run.Steps {
		s := p.o.inReadersUnits(s)
		weight, col := "", ink
		if hasReason(p.r.Run, s.Step) {
			weight, col = "B", alarm
		}
		number := fmt.Sprint(s.N)
		if weight != "" {
			number += " !" // not by colour alone
		}
		line(weight, col, func(c column) string {
			if c.of == nil {
				return number
			}
			return c.of(s)
		})
	}
}

func hasReason(run lab.Run, step string) bool {
	for _, x := range run.Reasons {
		if x.Step == step && x.Code != "out-of-pattern" {
			return true
		}
	}
	return false
}

// film is the film's way in the document.
func (p *pdfDocument) film() {
	lines := filmLines(p.r, p.o)
	if len(lines) == 0 {
		return
	}
	p.heading("The film")
	p.para(strings.Join(lines, "\n"))
}

func (p *pdfDocument) comparison() {
	p.heading("Beside the good runs")
	for _, l := range comparisonLines(p.r, p.o) {
		p.para(l)
	}
}

func (p *pdfDocument) alertList() {
	if len(p.r.Alerts) == 0 {
		return
	}
	p.heading("Alerts")
	for i, l := range alertLines(p.r, p.o) {
		p.needRoom(5)
		p.para(fmt.Sprintf("%d. %s", i+1, l))
	}
}

func (p *pdfDocument) rolls() {
	if len(p.r.Run.Rolls) == 0 {
		return
	}
	p.heading("Rolls")
	p.para(strings.Join(rollLines(p.r.Run), "\n"))
}

func (p *pdfDocument) mixes() {
	lines := mixLines(p.r)
	if len(lines) == 0 {
		return
	}
	p.heading("Mixes")
	p.para(strings.Join(lines, "\n"))
}

func (p *pdfDocument) entered() {
	lines := entryLines(p.r, p.o)
	if len(lines) == 0 {
		return
	}
	p.heading("What people stated")
	p.para(strings.Join(lines, "\n"))
}

// basis says what the report rests on.
func (p *pdfDocument) basis() {
	p.heading("What this rests on")
	for _, l := range basisLines(p.r, p.o) {
		p.smallPrint(l)
	}
}
