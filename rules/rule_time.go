package rules

import (
	"fmt"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// overrunDue raises step-overrun when the film was still in the step as its
// latest time passed.
func (f *fold) overrunDue(t time.Time, m *lab.Message) {
	s, c := f.s, f.s.cur()
	if !s.running() || !s.Run.film() || c == nil || !c.BathHeard || !c.EndT.IsZero() || !c.DrainT.IsZero() {
		return
	}
	sp := f.spec(c)
	sheetS, ok := f.sheetS(c)
	if sp == nil || !ok {
		return
	}
	due := c.BathT.Add(sec(sp.LongestS(sheetS)))
	// another fill under the same n resumes a clock that a draining stopped
	if c.Fills > 1 && s.Phase == lab.PhaseFilling && due.Before(s.PhaseT) {
		due = s.PhaseT
	}
	if !t.After(due) || s.GapNow && !stillIn(m, c) {
		return
	}
	c.Long = true
	w := say{priority: lab.Low,
		message: fmt.Sprintf("%s is over its time: the sheet wants %s.", capital(sp.Label), span(sheetS)),
		facts:   map[string]any{"sheet_s": sheetS, "latest_s": round(sp.LongestS(sheetS), 1)}}
	if sp.Kind == process.Dev {
		w.priority = lab.Urgent
		w.message += " Drain now."
	}
	f.raise(about{rule: RuleStepOverrun, step: c}, due, w)
}

// stillIn tells whether a message right after a hole shows the film still in
// the step: only then does it prove anything of the time in the hole.
func stillIn(m *lab.Message, c *stepRec) bool {
	return m.Step != nil && m.Step.N == c.N && m.Step.Step == c.ID && m.Step.Phase == lab.PhaseInBath
}

// tooShort raises step-short when a step has ended before its time.
func (f *fold) tooShort(c *stepRec) {
	sp := f.spec(c)
	sheetS, ok := f.sheetS(c)
	if sp == nil || !ok || !f.s.Run.film() || !c.BathHeard || c.BathT.IsZero() {
		return
	}
	timeS := c.EndT.Sub(c.BathT).Seconds()
	f.clear(about{rule: RuleStepOverrun, step: c}, f.s.Clock.T)
	least := sp.ShortestS(sheetS)
	if timeS >= least {
		return
	}
	want := sheetS
	if sp.Kind == process.Min {
		want = sp.LeastS
	}
	c.Short = true
	f.raise(about{rule: RuleStepShort, step: c}, c.EndT, say{priority: lab.High,
		message: fmt.Sprintf("%s lasted %s; the sheet wants %s.", capital(sp.Label), span(timeS), span(want)),
		facts:   map[string]any{"time_s": round(timeS, 1), "sheet_s": want}})
}

// wrongTimeSet compares the set time with the sheet's, once a step.
func (f *fold) wrongTimeSet(st *lab.Step) {
	c := f.s.cur()
	if c == nil || st.SetS == nil || !f.s.Run.film() || c.N != st.N || c.ID != st.Step {
		return
	}
	if !inBaths(st.Phase) || st.Phase == lab.PhaseDraining {
		return
	}
	sp := f.spec(c)
	if sp == nil || sp.FromUnit {
		return
	}
	sheetS, ok := f.sheetS(c)
	if !ok {
		return
	}
	a := about{rule: RuleWrongTimeSet, step: c}
	if v := *st.SetS; v >= sp.ShortestS(sheetS) && v <= sp.LongestS(sheetS) {
		f.clear(a, f.s.Clock.T)
		return
	}
	if c.WrongSet {
		return
	}
	c.WrongSet = true
	f.raise(a, f.s.Clock.T, say{priority: lab.High,
		message: fmt.Sprintf("%s is set to %s; the sheet wants %s for push %+g.", capital(sp.Label), span(*st.SetS), span(sheetS), f.s.Run.Push),
		facts:   map[string]any{"set_s": *st.SetS, "sheet_s": sheetS, "push": f.s.Run.Push}})
}

// skipped raises what the beginning of step c proves to have been passed over
// or to come out of order.
func (f *fold) skipped(c *stepRec) {
	sh, r := f.sheet(), f.s.Run
	if sh == nil || c.Index < 0 || !r.film() {
		return
	}
	reached := r.reached()
	for i := range sh.Steps {
		sp := &sh.Steps[i]
		if i >= c.Index || sp.Wash || sp.Optional || f.had(i) || slices.Contains(r.Missed, sp.ID) {
			continue
		}
		if !r.Whole && (len(r.Steps) == 0 || i < r.Steps[0].Index) || f.mayHide(i, sp) {
			continue
		}
		f.raiseSkipped(c, sp, fmt.Sprintf("%s was passed over: the unit is at %s.", capital(sp.Label), sh.Steps[c.Index].Label))
	}
	sp := &sh.Steps[c.Index]
	if c.Index < reached && !sp.Wash && !f.had(c.Index) && !slices.Contains(r.Missed, sp.ID) && !f.mayHide(c.Index, sp) {
		f.raiseSkipped(c, sp, fmt.Sprintf("%s comes out of order, after %s.", capital(sp.Label), sh.Steps[reached].Label))
	}
}

func (f *fold) raiseSkipped(c *stepRec, sp *process.Step, message string) {
	f.s.Run.Missed = append(f.s.Run.Missed, sp.ID)
	o := f.raise(about{rule: RuleStepSkipped, subject: sp.ID, run: true}, f.s.Clock.T,
		say{priority: lab.Urgent, message: message, facts: map[string]any{"skipped": sp.ID, "at": c.ID}})
	o.Step, o.N = c.ID, c.N
	f.out.putOccurrence(*o)
}

// had tells whether the run has begun the sheet's step i.
func (f *fold) had(i int) bool {
	return slices.ContainsFunc(f.s.Run.Steps, func(c *stepRec) bool { return c.Index == i })
}

// mayHide tells whether a hole of the run could hold the sheet's step i: long
// enough for it, and not after a later step had begun.
func (f *fold) mayHide(i int, sp *process.Step) bool {
	need := min(60, sp.LeastS/2)
	if sp.LeastS == 0 {
		need = 60
	}
	return slices.ContainsFunc(f.s.Run.Holes, func(h hole) bool { return h.After < i && h.S >= need })
}

// phaseDue raises phase-overdue when timeline time t proves that the phase
// has lasted too long.
func (f *fold) phaseDue(t time.Time) {
	s := f.s
	if !s.running() || s.PhaseT.IsZero() {
		return
	}
	limit, w, ok := f.phaseLimit()
	if !ok {
		return
	}
	due := s.PhaseT.Add(sec(limit))
	if t.Before(due) || limit > 0 && !t.After(due) {
		return
	}
	a := about{rule: RulePhaseOverdue, subject: string(s.Phase), run: true}
	if f.open(a) == nil {
		f.raise(a, due, w)
	}
}

// phaseLimit is how long the phase may last, in seconds, and what to say.
func (f *fold) phaseLimit() (float64, say, bool) {
	s, fig := f.s, f.fig()
	dev := f.filmInDeveloper()
	w := say{priority: lab.High, facts: map[string]any{"phase": string(s.Phase)}}
	if dev {
		w.priority = lab.Urgent
	}
	limit, what := 0.0, ""
	switch {
	case s.Phase == lab.PhaseFilling || s.Phase == lab.PhaseDraining:
		limit = max(fig.PumpOverdueS, fig.PumpOverdueTimes*s.Usual[string(s.Phase)].median())
		what = capital(string(s.Phase))
	case !s.Run.film():
		return 0, w, false
	case s.Phase == lab.PhaseHeating && s.Run.Wet:
		limit, what = fig.HeatingWetS, "Heating with wet film"
	case s.Phase == lab.PhaseHeating:
		limit, what = fig.HeatingFirstS, "Heating before the first bath"
		w.priority = lab.Low
	case s.Phase == lab.PhaseWaiting && s.Run.Wet && s.WaitsFor == lab.WaitToDryer:
		limit, what = fig.WaitDryerS, "Reels wait to go to the dryer"
	case s.Phase == lab.PhaseWaiting && s.Run.Wet:
		limit, what = fig.WaitS, "Waiting with wet film ("+waitWords(s.WaitsFor)+")"
		if dev {
			limit = 0
		}
	default:
		return 0, w, false
	}
	w.facts["limit_s"] = limit
	if s.WaitsFor != "" {
		w.facts["waits_for"] = s.WaitsFor
	}
	w.message = fmt.Sprintf("%s for longer than %s.", what, span(limit))
	if limit == 0 {
		w.message = what + ": film is in the developer."
	}
	return limit, w, true
}

// filmInDeveloper tells whether film stands in a developer now.
func (f *fold) filmInDeveloper() bool {
	c := f.s.cur()
	sp := f.spec(c)
	return sp != nil && sp.Kind == process.Dev && f.s.Run.film() && f.s.running() && !c.BathT.IsZero() && c.EndT.IsZero() &&
		(c.DrainT.IsZero() || f.s.Phase == lab.PhaseDraining || f.s.Phase == lab.PhaseWaiting)
}
