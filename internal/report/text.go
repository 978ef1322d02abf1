package report

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"wetside/internal/lab"
)

// textW is how wide a report is in a terminal, columns.
const textW = 80

// Text writes the report for a terminal, 80 columns wide, most wanted first.
func Text(w io.Writer, r lab.Report, o Options) error {
	t := &textReport{r: r, o: o}
	t.top()
	t.reasons()
	t.seen()
	t.outages()
	t.list("The film", filmLines(r, o))
	t.timeline()
	t.steps()
	t.list("Beside the good runs", comparisonLines(r, o))
	t.list("Alerts", numberedLines(alertLines(r, o)))
	t.list("Rolls", rollLines(r.Run))
	t.list("Mixes", mixLines(r))
	t.list("What people stated", entryLines(r, o))
	t.list("What this rests on", basisLines(r, o))
	_, err := w.Write(t.b.Bytes())
	return err
}

// textReport is a report in the making.
type textReport struct {
	b bytes.Buffer
	r lab.Report
	o Options
}

func (t *textReport) line(s string) { t.b.WriteString(strings.TrimRight(s, " ") + "\n") }

// wrap writes a paragraph; what follows its first line is indented.
func (t *textReport) wrap(first, rest, s string) {
	s = t.o.Units.Read(s)
	for i, l := range wrapped(s, textW-utf8.RuneCountInString(rest)) {
		if i == 0 {
			t.line(first + l)
			continue
		}
		t.line(rest + l)
	}
}

// wrapped breaks a text into lines of at most width columns.
func wrapped(s string, width int) (out []string) {
	line := ""
	for _, word := range strings.Fields(s) {
		for utf8.RuneCountInString(word) > width { // such as a hash
			if line != "" {
				out, line = append(out, line), ""
			}
			r := []rune(word)
			out, word = append(out, string(r[:width])), string(r[width:])
		}
		switch {
		case line == "":
			line = word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width:
			out, line = append(out, line), word
		default:
			line += " " + word
		}
	}
	return append(out, line)
}

func (t *textReport) heading(s string) {
	t.line("")
	t.line(s)
	t.line(strings.Repeat("-", utf8.RuneCountInString(s)))
}

func (t *textReport) list(head string, lines []string) {
	if len(lines) == 0 {
		return
	}
	t.heading(head)
	for _, l := range lines {
		t.wrap("  ", "    ", l)
	}
}

func numberedLines(lines []string) (out []string) {
	for i, l := range lines {
		out = append(out, fmt.Sprintf("%d. %s", i+1, l))
	}
	return out
}

func (t *textReport) top() {
	r := t.r
	t.wrap("", "", fmt.Sprintf("%s, run %s", r.UnitName, r.Run.Run))
	for _, l := range headLines(r, t.o) {
		t.wrap("", "", l)
	}
	t.line("")
	word, do := verdictWords(r.Run)
	t.wrap("", "  ", "VERDICT: "+word+". "+do)
	if p := pushWords(r.Run); p != "" {
		t.wrap("", "  ", strings.TrimSpace(p+" "+narrowerWords(r.Run)))
	}
	if h := dependsWords(r); h != "" {
		t.wrap("", "  ", h)
	}
	if n := rollNumbers(r.Run); n != "" {
		t.wrap("", "  ", n)
	}
	if d := r.Run.Decision; d != nil {
		t.wrap("", "  ", decisionWords(d, t.o))
	}
}

func (t *textReport) reasons() {
	if len(t.r.Run.Reasons) == 0 {
		return
	}
	t.heading("Reasons, most likely first")
	for i, x := range t.r.Run.Reasons {
		t.wrap(fmt.Sprintf("%2d. ", i+1), "    ", capital(codeWord(x.Code))+": "+x.Text)
		l, ok := lookOf(t.r, x)
		if !ok {
			continue
		}
		t.wrap("    ", "      ", "Look for: "+l.Look)
		if l.Remedy != "" {
			t.wrap("    ", "      ", "What can still be done: "+l.Remedy)
		}
		t.wrap("    ", "      ", sourceWords(l.Source, l.Provenance))
	}
}

func (t *textReport) seen() {
	for _, s := range t.r.Seen {
		t.heading("Seen on the film: " + s.Label + ", " + lab.OnRolls(s.Rolls, s.All))
		if len(s.Causes) == 0 {
			t.wrap("  ", "  ", "No cause in the table fits what this run shows.")
		}
		for i, c := range s.Causes {
			t.wrap(fmt.Sprintf("%2d. ", i+1), "    ", c.Text)
			for _, l := range causeLines(c) {
				t.wrap("    ", "      ", l)
			}
		}
	}
}

func (t *textReport) outages() {
	if len(t.r.Run.Outages) == 0 {
		return
	}
	t.heading("Power")
	for _, x := range t.r.Run.Outages {
		t.wrap("  ", "    ", outageWords(x, t.o))
		if x.Text != "" {
			t.wrap("    ", "    ", x.Text)
		}
	}
}

// Columns of the timeline: the name, the bars, and what stands behind.
const (
	nameW = 18
	barsW = 42
)

// timeline draws a line a step: # as planned, > longer, . planned but not
// done.
func (t *textReport) timeline() {
	tl := t.r.Timeline
	if len(tl.Steps) == 0 {
		return
	}
	t.heading("Timeline (# in the step, > beyond its time, . short of it)")
	c := &runChart{r: t.r, o: t.o, from: tl.From.Time, to: tl.To.Time}
	c.fitPlannedEnds()
	head := t.o.clock(lab.At(c.from))
	t.line(strings.Repeat(" ", nameW+1) + head + strings.Repeat(" ", barsW-2*len(head)) + t.o.clock(lab.At(c.to)))
	for _, s := range tl.Steps {
		name := fmt.Sprintf("%2d %s", s.N, s.Label)
		if s.StartedAt == nil {
			t.row(name, strings.Repeat(" ", barsW), "no data")
			continue
		}
		t.row(name, c.textBar(s), textTimes(s))
	}
	for _, l := range []struct {
		name string
		list []lab.Span
	}{{"mains power lost", tl.Outages}, {"no data", tl.Unheard}, {"stood still", tl.Still}, {"turned by hand", tl.ByHand}} {
		if len(l.list) == 0 {
			continue
		}
		bar, sum := []rune(strings.Repeat(" ", barsW)), 0.0
		for _, s := range l.list {
			c.strike(bar, s.From.Time, s.To.Time, 'x')
			sum += s.To.Sub(s.From.Time).Seconds()
		}
		t.row("   "+l.name, string(bar), lab.Elapsed(sum))
	}
}

func (t *textReport) row(name, bar, behind string) {
	n := []rune(name)
	if len(n) > nameW {
		n = n[:nameW]
	}
	t.line(string(n) + strings.Repeat(" ", nameW-len(n)) + "|" + bar + "| " + behind)
}

// cell is where a time falls in the bars.
func (c *runChart) cell(t time.Time) int {
	part := float64(t.Sub(c.from)) / float64(c.to.Sub(c.from))
	return min(barsW-1, max(0, int(part*barsW)))
}

// strike fills the cells of a span; the shortest still fills one.
func (c *runChart) strike(bar []rune, from, to time.Time, r rune) {
	a, b := c.cell(from), c.cell(to)
	for i := a; i < max(b, a+1); i++ {
		bar[i] = r
	}
}

func (c *runChart) textBar(s lab.TimelineStep) string {
	bar := []rune(strings.Repeat(" ", barsW))
	start := s.StartedAt.Time
	planned := start
	if s.PlannedS != nil {
		planned = start.Add(secondsOf(*s.PlannedS))
		c.strike(bar, start, planned, '.')
	}
	if s.EndedAt == nil {
		return string(bar)
	}
	if s.EndedAt.After(planned) {
		c.strike(bar, start, s.EndedAt.Time, '>')
		if planned.After(start) {
			c.strike(bar, start, planned, '#')
		}
		return string(bar)
	}
	c.strike(bar, start, s.EndedAt.Time, '#')
	return string(bar)
}

func textTimes(s lab.TimelineStep) string {
	was := "not known"
	if s.EndedAt != nil {
		was = lab.Elapsed(s.EndedAt.Sub(s.StartedAt.Time).Seconds())
	}
	if s.PlannedS == nil {
		return was
	}
	return was + " of " + lab.Elapsed(*s.PlannedS)
}

func (t *textReport) steps() {
	if len(t.r.Run.Steps) == 0 {
		return
	}
	t.heading("Steps (times in min:s, temperatures in " + t.o.Units.DegreeUnit() + ", push error in stops)")
	t.line(fmt.Sprintf(" %2s %-15s %6s %6s %11s %6s %6s %6s %6s %6s", "", "step", "sheet", "was", "limits", "mean", "low", "high", "out", "push"))
	for _, s := range t.r.Run.Steps {
		s := t.o.inReadersUnits(s)
		mark := " "
		if hasReason(t.r.Run, s.Step) {
			mark = "!"
		}
		t.line(fmt.Sprintf("%s%2d %-15s %6s %6s %11s %6s %6s %6s %6s %6s", mark, s.N, cut(stepWords(s.Step), 15), elapsedOr(s.SheetS, "-"),
			elapsedOr(s.TimeS, "?"), limitWords(s), degrees(s.MeanC), degrees(s.MinC), degrees(s.MaxC), elapsedOr(s.OutsideS, "-"), blankPush(s)))
	}
}

func blankPush(s lab.RunStep) string {
	if s.PushErrorStops == nil {
		return ""
	}
	return stops(s.PushErrorStops)
}

func cut(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n])
	}
	return s
}
