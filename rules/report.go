package rules

import (
	"fmt"
	"math"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// reportRun gives the run's record out as it stands.
func (f *fold) reportRun() {
	if f.s.Run != nil {
		f.out.putRun(f.record())
	}
}

// record is the run as the contract shows it.
func (f *fold) record() lab.Run {
	r := f.s.Run
	out := lab.Run{ID: r.ID, Unit: f.unit.String(), Run: r.Name, Process: r.Process, Push: r.Push, Kind: r.Kind,
		StartedAt: lab.At(r.StartedAt), EndedAt: lab.AtPtr(r.EndedAt), Outcome: r.Outcome,
		Reasons: []lab.Reason{}, Steps: []lab.RunStep{}, Outages: []lab.Outage{}, Gaps: []lab.Gap{},
		Alerts: []string{}, Rolls: []lab.Roll{}}
	out.Gaps = append(out.Gaps, r.Gaps...)
	out.Alerts = append(out.Alerts, r.Alerts...)
	for _, o := range r.Outages {
		out.Outages = append(out.Outages, o.record())
	}
	for _, c := range r.Steps {
		st := f.stepRecord(c)
		out.Steps = append(out.Steps, st)
		if sp := f.spec(c); sp != nil && sp.Push != nil && st.PushErrorStops != nil {
			out.PushErrorStops = st.PushErrorStops
		}
	}
	if r.Outcome != lab.OutcomeRunning {
		f.verdict(&out)
	}
	return out
}

func (o *outage) record() lab.Outage {
	out := lab.Outage{LostAt: lab.AtPtr(o.LostAt), BackAt: lab.AtPtr(o.BackAt), Kind: o.Kind, Step: o.Step,
		Advice: o.Advice, AdvisedRemainingS: o.LeftS, Text: o.Text}
	if !o.BackAt.IsZero() {
		out.OutageS = ptr(round(o.S, 1))
	}
	return out
}

// stepRecord is one step of the record.
func (f *fold) stepRecord(c *stepRec) lab.RunStep {
	out := lab.RunStep{N: c.N, Step: c.ID, Fills: c.Fills}
	if !c.BathT.IsZero() {
		out.StartedAt = lab.AtPtr(f.s.Clock.report(c.BathT))
	}
	if c.SetS > 0 {
		out.SetS = ptr(c.SetS)
	}
	sp := f.spec(c)
	sheetS, known := f.sheetS(c)
	if sp != nil {
		out.LowC, out.HighC = ptr(sp.LowC), ptr(sp.HighC)
		if known {
			out.SheetS = ptr(sheetS)
		}
	}
	ended := !c.EndT.IsZero()
	if ended && c.BathHeard {
		out.TimeS = ptr(round(c.EndT.Sub(c.BathT).Seconds(), 3))
	}
	b := c.Bath
	if b.N > 0 {
		out.MinC, out.MaxC = ptr(round(b.MinC, 3)), ptr(round(b.MaxC, 3))
		if b.SumS > 0 {
			out.MeanC = ptr(round(b.SumC/b.SumS, 3))
		}
		if sp != nil {
			out.OutsideS = ptr(round(b.OutS, 1))
		}
	}
	if sp != nil && sp.Kind == process.Dev && known && ended && c.BathHeard && b.N > 0 {
		f.pushErrors(c, sp, &out)
	}
	return out
}

func (f *fold) pushErrors(c *stepRec, sp *process.Step, out *lab.RunStep) {
	b := c.Bath
	out.EquivalentS = ptr(round(b.Eq.Best, 2))
	low, high := b.bounds(sp)
	push := f.s.Run.Push
	if v, ok := sp.PushError(b.Eq.Best, push, c.SetS); ok {
		l, _ := sp.PushError(low, push, c.SetS)
		h, _ := sp.PushError(high, push, c.SetS)
		out.PushErrorStops, out.PushErrorLowStops, out.PushErrorHighStops = ptr(round(v, 4)), ptr(round(l, 4)), ptr(round(h, 4))
	}
}

// verdict judges a run that has ended. It never says that film is spoiled: a
// person looks.
func (f *fold) verdict(out *lab.Run) {
	r := f.s.Run
	if !r.film() || f.sheet() == nil {
		return
	}
	level := 0
	var by [3][]lab.Reason // reasons by level: the gravest are given first
	add := func(l int, code, step, text string) {
		level = max(level, l)
		by[l] = append(by[l], lab.Reason{Code: code, Step: step, Text: text})
	}
	for _, o := range r.Outages {
		if !slices.ContainsFunc(r.Steps, func(c *stepRec) bool { return c.N == o.N && f.isDev(c) }) {
			continue
		}
		add(1, "outage", o.Step, fmt.Sprintf("The power was away for %s in %s.", span(o.S), stepWords(o.Step)))
	}
	for _, id := range r.Missed {
		add(2, "step-skipped", id, fmt.Sprintf("%s was passed over or came out of order.", capital(stepWords(id))))
	}
	for _, c := range r.Steps {
		f.judgeStep(c, add)
	}
	for i, sp := range f.sheet().Steps {
		if sp.Kind == process.Dev && r.reached() > i && !f.had(i) && !slices.Contains(r.Missed, sp.ID) {
			add(1, "missing-evidence", sp.ID, fmt.Sprintf("%s was not heard.", capital(sp.Label)))
		}
	}
	if r.DryerHot {
		add(1, "dryer", "", "The dryer was hotter than the sheet allows.")
	}
	if !r.Whole || out.Outcome == lab.OutcomeLost {
		add(1, "missing-evidence", "", "The run was not heard whole.")
	}
	if out.Outcome == lab.OutcomeAborted {
		add(1, "aborted", "", "The run was aborted.")
	}
	out.Reasons = append(out.Reasons, slices.Concat(by[2], by[1], by[0])...)
	out.Verdict = ptr([]string{lab.InControl, lab.Inspect, lab.OutOfControl}[level])
}

func (f *fold) isDev(c *stepRec) bool {
	sp := f.spec(c)
	return sp != nil && sp.Kind == process.Dev
}

func (f *fold) judgeStep(c *stepRec, add func(int, string, string, string)) {
	sp := f.spec(c)
	if sp == nil || c.EndT.IsZero() {
		return
	}
	sheetS, known := f.sheetS(c)
	dev := sp.Kind == process.Dev
	strict := dev || sp.Kind == process.Exact
	if c.WrongSet {
		add(0, "wrong-time", c.ID, fmt.Sprintf("%s was set to %s; the sheet wants %s.", capital(sp.Label), span(c.SetS), span(sheetS)))
	}
	if dev && c.NoRotation {
		add(1, "rotation", c.ID, fmt.Sprintf("The tank stood still in %s.", sp.Label))
	}
	if c.Short {
		add(1, "step-short", c.ID, fmt.Sprintf("%s lasted %s; the sheet wants %s.", capital(sp.Label), span(c.EndT.Sub(c.BathT).Seconds()), span(sheetS)))
	}
	if known && c.BathHeard && strict && c.EndT.Sub(c.BathT).Seconds() > sp.LongestS(sheetS) {
		add(1, "step-long", c.ID, fmt.Sprintf("%s lasted %s; the sheet wants %s.", capital(sp.Label), span(c.EndT.Sub(c.BathT).Seconds()), span(sheetS)))
	}
	if c.Out {
		code, way := "bath-cool", "too cool"
		if c.OutWarm {
			code, way = "bath-warm", "too warm"
		}
		add(1, code, c.ID, fmt.Sprintf("%s was %s for %s (%.2f to %.2f °C).", capital(sp.Label), way, span(c.Bath.OutS), c.Bath.MinC, c.Bath.MaxC))
	}
	if dev && (c.NoReading || c.Unheard || !c.BathHeard || c.Bath.N == 0 || c.Bath.GapS > unheardGapS(f)) {
		add(1, "missing-evidence", c.ID, fmt.Sprintf("Not all of %s was heard.", sp.Label))
	}
	if dev && known && c.BathHeard && c.Bath.N > 0 {
		f.judgePush(c, sp, sheetS, add)
	}
}

func unheardGapS(f *fold) float64 { return f.readingLimitS() }

func (f *fold) judgePush(c *stepRec, sp *process.Step, sheetS float64, add func(int, string, string, string)) {
	level := sp.Beyond(c.Bath.Eq.Best, sheetS, f.s.Run.Push, c.SetS)
	if level == 0 {
		return
	}
	timeS := c.EndT.Sub(c.BathT).Seconds()
	byTime, byTemp := timeS/sheetS, c.Bath.Eq.Best/timeS
	code := "bath-warm"
	switch {
	case math.Abs(math.Log(byTime)) > math.Abs(math.Log(byTemp)) && byTime > 1:
		code = "step-long"
	case math.Abs(math.Log(byTime)) > math.Abs(math.Log(byTemp)):
		code = "step-short"
	case byTemp < 1:
		code = "bath-cool"
	}
	text := fmt.Sprintf("%s: the balance is at risk; developed %+.0f %% against the sheet.", capital(sp.Label), 100*(c.Bath.Eq.Best/sheetS-1))
	if stops, ok := sp.PushError(c.Bath.Eq.Best, f.s.Run.Push, c.SetS); ok {
		text = fmt.Sprintf("%s: push error %+.2f stop. A kinetic equivalence, not a density prediction.", capital(sp.Label), stops)
	}
	add(level, code, c.ID, text)
}
