package rules

import (
	"fmt"
	"math"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// overrunDue raises step-overrun when the film was still in the step as its
// latest time passed.
func (f *Unit) overrunDue(t time.Time, m *lab.Message) {
	s, c := f.s, f.s.cur()
	if !f.followed() || c == nil || !c.BathHeard || !c.EndT.IsZero() || !c.DrainT.IsZero() {
		return
	}
	sp := f.spec(c)
	sheetS, ok := f.sheetS(c)
	if sp == nil || !ok {
		return
	}
	sheetS = overrunFromS(c, sp, sheetS)
	due := c.fromT().Add(lab.Seconds(sp.LongestS(sheetS)))
	// another fill under the same n resumes a clock that a draining stopped
	due = lab.Later(due, c.RefillT)
	if !t.After(due) || s.Unsure != sure && !s.inStep(m, c) {
		return
	}
	f.raiseOverrun(c, due, sheetS)
}

// overrunFromS is the time whose tolerance a step must not outlast: the sheet's,
// of a least-time step what the unit is set to.
func overrunFromS(c *runStep, sp *process.Step, sheetS float64) float64 {
	if sp.Kind == process.Min && c.SetS > 0 {
		return c.SetS
	}
	return sheetS
}

func (f *Unit) raiseOverrun(c *runStep, due time.Time, sheetS float64) {
	sp := f.spec(c)
	c.Long = true
	whose := "the sheet says"
	if sp.Kind == process.Min && c.SetS > 0 {
		whose = "it is set to"
	}
	w := alertContent{priority: lab.Low,
		message: fmt.Sprintf("%s past its time: %s %s", capital(sp.Label), whose, lab.SpanText(sheetS)),
		facts:   map[string]any{"sheet_s": sheetS, "latest_s": lab.Round(sp.LongestS(sheetS), 1)}}
	if sp.Kind == process.Dev {
		w.priority = lab.Urgent
		w.response = "Drain now, by hand if the unit does not. Note the time."
	}
	f.raise(alertKey{rule: RuleStepOverrun, step: c}, due, w)
}

// inStep tells whether a message after a hole or a restart shows the film
// still in the step: only then does it prove anything of the time in between.
// A restarted controller that drains first did not drain while it was down.
func (s *state) inStep(m *lab.Message, c *runStep) bool {
	st := m.Step
	if st == nil || st.Run != s.Run.Name || st.N != c.N || st.Step != c.ID {
		return false
	}
	return st.Phase == lab.PhaseInBath || st.Phase == lab.PhaseDraining && s.Unsure == restarted
}

// tooShort raises step-short when a step has ended before its time.
func (f *Unit) tooShort(c *runStep) {
	sp := f.spec(c)
	sheetS, ok := f.sheetS(c)
	f.clear(alertKey{rule: RuleStepOverrun, step: c}, f.s.Clock.T)
	if sp == nil || !ok || !f.s.Run.followed() || !c.BathHeard || c.BathT.IsZero() || c.EndLost {
		return
	}
	timeS := c.EndT.Sub(c.fromT()).Seconds()
	least := sp.ShortestS(sheetS)
	if timeS >= least {
		return
	}
	want := sheetS
	if sp.Kind == process.Min {
		want = sp.LeastS
	}
	c.Short = true
	f.raise(alertKey{rule: RuleStepShort, step: c}, c.EndT, alertContent{priority: lab.High,
		message: fmt.Sprintf("%s lasted %s; the sheet says %s", capital(sp.Label), lab.SpanText(timeS), lab.SpanText(want)),
		facts:   map[string]any{"time_s": lab.Round(timeS, 1), "sheet_s": want}})
}

// wrongTimeSet compares the set time with the sheet's, once a step.
func (f *Unit) wrongTimeSet(st *lab.Step) {
	c := f.s.cur()
	if c == nil || st.SetS == nil || !f.s.Run.followed() || c.N != st.N || c.ID != st.Step {
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
	a := alertKey{rule: RuleWrongTimeSet, step: c}
	ceiling := sp.Kind != process.Min || sp.OverS > 0 // a least time is never too long, unless the sheet says so
	if v := *st.SetS; v >= sp.ShortestS(sheetS) && (!ceiling || v <= sp.LongestS(sheetS)) {
		f.clear(a, f.s.Clock.T)
		return
	}
	if c.WrongSet {
		return
	}
	c.WrongSet = true
	f.raise(a, f.s.Clock.T, f.wrongTimeContent(c, sp, *st.SetS, sheetS))
}

// wrongTimeContent words a wrong set time, and while the bath is in by when to
// drain all the same.
func (f *Unit) wrongTimeContent(c *runStep, sp *process.Step, setS, sheetS float64) alertContent {
	w := alertContent{priority: lab.High,
		message: fmt.Sprintf("%s is set to %s; for %s the sheet says %s", capital(sp.Label), lab.SpanText(setS), f.processWords(f.s.Run.Process, f.s.Run.Push), lab.SpanText(sheetS)),
		facts:   map[string]any{"set_s": setS, "sheet_s": sheetS, "push": f.s.Run.Push}}
	want := sheetS
	if sp.Kind == process.Min {
		want = sp.LeastS
	}
	w.response = fmt.Sprintf("Set %s at the unit, or check that process and push are right.", lab.SpanText(want))
	if c.BathT.IsZero() || !c.EndT.IsZero() || !c.DrainT.IsZero() {
		return w
	}
	at := c.fromT().Add(lab.Seconds(want))
	w.facts["act_at"], w.facts["drain_at"] = lab.At(f.s.Clock.report(at)).String(), lab.At(f.s.Clock.report(at)).String()
	switch {
	case sp.Kind == process.Min || setS < want:
		w.response = fmt.Sprintf("Set %s at the unit now, so that it does not drain before %s.", lab.SpanText(want), f.clockWords(at))
	default:
		w.response = fmt.Sprintf("Set %s at the unit now, or drain at %s with the button or by hand.", lab.SpanText(want), f.clockWords(at))
	}
	return w
}

// sayWhenToDrain brings what is open of a wrong time up to date once the bath
// is in: from then on the time of day to drain at is known.
func (f *Unit) sayWhenToDrain(c *runStep) {
	sp := f.spec(c)
	sheetS, ok := f.sheetS(c)
	a := alertKey{rule: RuleWrongTimeSet, step: c}
	if sp == nil || !ok || c.SetS <= 0 || f.open(a) == nil {
		return
	}
	f.change(a, f.wrongTimeContent(c, sp, c.SetS, sheetS), false)
}

// skipped raises what the beginning of step c proves to have been passed over
// or to come out of order.
func (f *Unit) skipped(c *runStep) {
	sh, r := f.sheet(), f.s.Run
	if sh == nil || c.Index < 0 || !r.followed() {
		return
	}
	for i := range c.Index {
		if f.lacksStep(i) {
			sp := &sh.Steps[i]
			f.raiseSkipped(c, sp, fmt.Sprintf("%s was skipped: the unit is at %s", capital(sp.Label), sh.Steps[c.Index].Label))
		}
	}
	after := max(r.reachedBefore(c), r.Took.reached(true))
	if after >= len(sh.Steps) {
		return // the film's earlier run was of another process: its steps are not this sheet's
	}
	if c.Index < after && f.lacksStep(c.Index) {
		sp := &sh.Steps[c.Index]
		f.raiseSkipped(c, sp, fmt.Sprintf("%s comes out of order, after %s", capital(sp.Label), sh.Steps[after].Label))
	}
}

// noteMissing notes for the verdict the chemical steps that a run has not had as
// it leaves the baths. No alert: that one belongs to the beginning of a later
// step, and here there is none.
func (f *Unit) noteMissing() {
	sh, r := f.sheet(), f.s.Run
	if sh == nil || !r.followed() || len(r.Steps) == 0 {
		return
	}
	for i := range sh.Steps {
		if f.lacksStep(i) {
			r.Missed = append(r.Missed, sh.Steps[i].ID)
		}
	}
}

// lacksStep tells whether the run surely has not had the sheet's step i, a
// chemical one, and nobody was told so yet.
func (f *Unit) lacksStep(i int) bool {
	r, sp := f.s.Run, &f.sheet().Steps[i]
	switch {
	case sp.Wash || sp.Optional || slices.Contains(r.Missed, sp.ID) || f.had(i):
		return false
	case len(r.Unknown) > 0:
		return false // one of the names that the sheet does not have may be it
	case !r.Whole && i < r.firstIndex():
		return false // before what was heard
	}
	return !f.mayHide(i, sp)
}

func (f *Unit) raiseSkipped(c *runStep, sp *process.Step, message string) {
	f.s.Run.Missed = append(f.s.Run.Missed, sp.ID)
	f.raise(alertKey{rule: RuleStepSkipped, subject: sp.ID, run: true}, f.s.Clock.T,
		alertContent{priority: lab.Urgent, message: message, facts: map[string]any{"skipped": sp.ID, "at": c.ID}})
}

// begun tells whether the run has begun the sheet's step i; had, whether the
// film has been in its bath.
func (f *Unit) begun(i int) bool {
	return f.s.Run.Took.begun(i) || slices.ContainsFunc(f.s.Run.Steps, func(c *runStep) bool { return c.Index == i })
}

func (f *Unit) had(i int) bool {
	return f.s.Run.Took.had(i) || slices.ContainsFunc(f.s.Run.Steps, func(c *runStep) bool { return c.Index == i && !c.BathT.IsZero() })
}

// reachedBefore is the highest sheet step that the run had begun before c.
func (r *run) reachedBefore(c *runStep) int {
	top := -1
	for _, x := range r.Steps {
		if x != c && !x.BathT.IsZero() {
			top = max(top, x.Index)
		}
	}
	return top
}

// firstIndex is the sheet step at which the run was first heard.
func (r *run) firstIndex() int {
	for _, c := range r.Steps {
		if c.Index >= 0 {
			return c.Index
		}
	}
	return math.MaxInt
}

// mayHide tells whether a hole of the run could hold the bath of the sheet's
// step i: long enough for it, and not after a later step had begun.
func (f *Unit) mayHide(i int, sp *process.Step) bool {
	need := min(60, sp.LeastS/2)
	if sp.LeastS == 0 {
		need = 60
	}
	return slices.ContainsFunc(f.s.Run.Holes, func(h hole) bool { return h.After <= i && h.S >= need })
}

// phaseDue raises phase-overdue when timeline time t proves that the phase
// has lasted too long.
func (f *Unit) phaseDue(t time.Time) {
	s := f.s
	if !s.running() || s.PhaseT.IsZero() || s.Phase == "" {
		return
	}
	limit, w, ok := f.phaseLimit()
	if !ok {
		return
	}
	due := s.PhaseT.Add(lab.Seconds(limit))
	if t.Before(due) || limit > 0 && !t.After(due) {
		return
	}
	a := alertKey{rule: RulePhaseOverdue, subject: string(s.Phase), run: true}
	if f.open(a) == nil {
		f.raise(a, due, w)
	}
}

// phaseLimit is how long the phase may last, in seconds, and what to say.
func (f *Unit) phaseLimit() (float64, alertContent, bool) {
	s, fig := f.s, f.fig()
	dev := f.filmInDeveloper()
	w := alertContent{priority: lab.High, facts: map[string]any{"phase": string(s.Phase)}}
	if dev {
		w.priority = lab.Urgent
	}
	limit, what := 0.0, ""
	switch {
	case s.Phase == lab.PhaseDraining || s.Phase == lab.PhaseFilling && f.judged():
		// a drain that does not end is the floor's business, whatever the run
		limit = max(fig.PumpOverdueS, fig.PumpOverdueTimes*s.Usual[string(s.Phase)].median())
		what = capital(string(s.Phase))
	case !f.judged():
		return 0, w, false
	case s.Phase == lab.PhaseHeating && s.Run.Wet:
		limit, what = fig.HeatingWetS, "Heating with wet film"
	case s.Phase == lab.PhaseHeating:
		limit, what = fig.HeatingFirstS, "Heating before the first bath"
		w.priority = lab.Low
	case s.Phase == lab.PhaseWaiting && s.Run.Wet && s.WaitsFor == lab.WaitToDryer:
		limit, what = fig.WaitDryerS, "Reels waiting for the dryer"
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
	if c := s.cur(); c != nil && s.Phase != lab.PhaseWaiting {
		if s.Phase == lab.PhaseFilling || s.Phase == lab.PhaseDraining {
			what += " " + StepWords(c.ID)
		} else {
			what += ", " + StepWords(c.ID)
		}
	}
	w.message = fmt.Sprintf("%s for more than %s", what, lab.SpanText(limit))
	if limit == 0 {
		w.message = what + ": film is in the developer"
	}
	return limit, w, true
}

// filmInDeveloper tells whether developer is on film now: from its first fill
// until it has drained. A waiting may have interrupted the draining.
func (f *Unit) filmInDeveloper() bool {
	s, c := f.s, f.s.cur()
	sp := f.spec(c)
	if sp == nil || sp.Kind != process.Dev || !f.judged() || c.Fills == 0 || !c.EndT.IsZero() {
		return false
	}
	return c.DrainT.IsZero() || s.Phase == lab.PhaseDraining || s.Phase == lab.PhaseWaiting
}
