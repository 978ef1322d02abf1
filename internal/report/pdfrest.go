package report

import (
	"encoding/json"
	"fmt"
	"slices"
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
	return []string{fmt.Sprintf("%s; %s", what, rollWords(r.Run.Rolls)), when}
}

func rollWords(rolls []lab.Roll) string {
	switch len(rolls) {
	case 0:
		return "rolls unknown: none were scanned"
	case 1:
		return "1 roll"
	}
	return fmt.Sprintf("%d rolls", len(rolls))
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
		out += ", " + span(*x.OutageS)
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
		if what := entryWords(e, o); what != "" {
			out = append(out, fmt.Sprintf("%s %s: %s", o.day(lab.At(e.At)), e.By, what))
		}
	}
	return out
}

func entryWords(e lab.Entry, o Options) string {
	switch e.What {
	case lab.EntryTurned:
		b := body[lab.Turned](e)
		if b.To == nil {
			return "turned the tank by hand from " + o.clock(b.From) + " to the end of the outage"
		}
		return fmt.Sprintf("turned the tank by hand from %s to %s", o.clock(b.From), o.clock(*b.To))
	case lab.EntryDrained:
		return "drained the bath by hand"
	case lab.EntryFilm:
		return "the film: " + filmWords(body[lab.FilmDoing](e))
	case lab.EntryContinues:
		if body[lab.Continues](e).Run == "" {
			return "this run goes on with no other run's film"
		}
		return "this run goes on with the film of an earlier run"
	case lab.EntryMeasured:
		return fmt.Sprintf("measured %.1f °C in the bath", body[lab.Measured](e).C)
	case lab.EntryNote:
		return body[lab.Note](e).Text
	case lab.EntrySymptom:
		b := body[lab.Symptom](e)
		return strings.TrimSuffix(fmt.Sprintf("saw %s on the film, %s, %s", b.Seen, onRolls(b.Rolls, b.All), b.Note), ", ")
	case lab.EntryStrip:
		return stripWords(body[lab.Strip](e))
	case lab.EntryKind:
		return "said that this was a run of " + body[lab.KindChange](e).Kind
	case lab.EntryProbe:
		return fmt.Sprintf("checked the bath's probe: %+.2f °C", body[lab.ProbeCheck](e).OffsetC)
	case lab.EntryProbeKind:
		if c := body[lab.ProbeKind](e).Class; c != "" {
			return "said that the bath's probe is of class " + c
		}
		return "said that the kind of the bath's probe is not known"
	case lab.EntryHouseAim:
		b := body[lab.HouseAim](e)
		return fmt.Sprintf("set the house aim of %s %s to %s", b.Process, b.Step, span(b.EquivalentS))
	case lab.EntryDeveloper:
		b := body[lab.DeveloperChoice](e)
		return fmt.Sprintf("chose the developer %s for %s", b.Developer, b.Process)
	case lab.EntryContainer:
		b := body[lab.ContainerEvent](e)
		return b.Container + " " + b.What
	case lab.EntryLoad:
		return fmt.Sprintf("loaded %s", rollWords(body[lab.Load](e).Rolls))
	case lab.EntryOwner:
		return body[lab.FilmOwner](e).Owner + " will decide about the film"
	case lab.EntryRolls:
		b := body[lab.RollsChange](e)
		return fmt.Sprintf("rolls: %d added, %d removed", len(b.Add), len(b.Remove))
	}
	return "" // a decision stands at the top
}

// stripWords say how a control strip stood that went through the run, and by
// whose aims and limits it was judged.
func stripWords(s lab.Strip) string {
	out := map[string]string{lab.StripIn: "read the control strip: in", lab.StripAction: "read the control strip: beyond an action limit, " + s.Beyond(),
		lab.StripOut: "read the control strip: beyond a control limit, " + s.Beyond()}[s.Standing]
	if out == "" {
		return "read the control strip: not judged, it had no aims or no limits yet"
	}
	whose := map[string]string{lab.LimitsPublished: "published limits", lab.LimitsOwn: "the lab's own limits", lab.LimitsProvisional: "provisional limits from the first strips",
		lab.AimReference: "aims of the reference strip", "aim " + lab.AimOwn: "the lab's own aims", lab.AimFirst: "aims from the first strips"}
	var by []string
	for _, p := range s.Plots {
		aim := p.AimFrom
		if aim == lab.AimOwn {
			aim = "aim " + aim // the lab's own limits are another word
		}
		for _, what := range []string{whose[p.Limits], whose[aim]} {
			if what != "" && p.Deviation != nil && !slices.Contains(by, what) {
				by = append(by, what)
			}
		}
	}
	slices.Sort(by)
	return strings.TrimSuffix(out+"; judged by "+strings.Join(by, ", "), "; judged by ")
}

func filmWords(b lab.FilmDoing) string {
	what := map[string]string{lab.FilmDrained: "bath drained by hand", lab.FilmMoved: "moved to another unit or tank",
		lab.FilmDried: "dried", lab.FilmDiscarded: "discarded"}[b.What]
	if b.Note != "" {
		what += " (" + b.Note + ")"
	}
	return what
}

func body[T any](e lab.Entry) (v T) {
	_ = json.Unmarshal(e.Body, &v) // what does not read says nothing
	return v
}

// ground says what the report rests on.
func (p *doc) ground() {
	p.heading("What this rests on")
	for _, l := range groundLines(p.r, p.o) {
		p.fine(l)
	}
}

// edgesStanding says how far the source of the edges goes.
func edgesStanding(by lab.JudgedBy) string {
	for _, f := range by.Figures {
		if f.Figure == "edges" {
			return " (" + f.Standing + ")"
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
		out = append(out, fmt.Sprintf("Push error from %.2f stop: inspect; beyond %.2f stop: out of control%s.", *by.InspectStops, *by.OutStops, edgesStanding(by)))
	}
	out = append(out, probeLine(by, o))
	for _, a := range by.HouseAims {
		out = append(out, fmt.Sprintf("House aim for %s: %s at the sheet's temperature (the lab's own). Against it only what the probe has drifted since counts.", a.Step, span(a.EquivalentS)))
	}
	for _, s := range r.Run.Steps {
		if s.PushErrorSheetStops != nil {
			out = append(out, fmt.Sprintf("Against the sheet in place of the house aim, %s: %+.2f stop.", s.Step, *s.PushErrorSheetStops))
		}
	}
	if by.Developer != nil {
		out = append(out, "Developer: "+by.Developer.Developer+".")
	}
	out = append(out, standingLines(r)...)
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
