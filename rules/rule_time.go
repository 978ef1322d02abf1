package rules

import (
	"fmt"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// overrunDue raises step-overrun when the film was still in the step as its
// latest time passed.
func (u *Unit) overrunDue(t time.Time, m *lab.Message) {
	s, c := u.s, u.s.currentStep()
	if !u.followed() || c == nil || !c.BathHeard || !c.EndT.IsZero() || !c.DrainT.IsZero() {
		return
	}
	sp := u.spec(c)
	sheetS, ok := u.sheetS(c)
	if sp == nil || !ok {
		return
	}
	sheetS = overrunFromS(c, sp, sheetS)
	due := c.fromT().Add(lab.Seconds(sp.LongestS(sheetS)))
	// a draining stops the time in the step, and another fill lets it go on
	due = lab.Later(due, c.RefillT)
	if !t.After(due) || s.Unsure != nothingMissed && !s.inStep(m, c) {
		return
	}
	u.raiseOverrun(c, due, sheetS)
}

// overrunFromS is the time that, with its tolerance, a step must not last longer
// than: the sheet's or, for a step with a least time, what the unit is set to.
func overrunFromS(c *runStep, sp *process.Step, sheetS float64) float64 {
	if sp.Kind == process.Min && c.SetS > 0 {
		return c.SetS
	}
	return sheetS
}

func (u *Unit) raiseOverrun(c *runStep, due time.Time, sheetS float64) {
	sp := u.spec(c)
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
	u.raise(alertKey{rule: RuleStepOverrun, step: c}, due, w)
}

// inStep tells whether a message after a hole or a restart shows that the film was
// in the step all the time. A controller that drains right after it started again
// cannot have drained while it was down.
func (s *state) inStep(m *lab.Message, c *runStep) bool {
	st := m.Step
	if st == nil || st.Run != s.Run.Name || st.N != c.N || st.Step != c.ID {
		return false
	}
	return st.Phase == lab.PhaseInBath || st.Phase == lab.PhaseDraining && s.Unsure == restarted
}

// judgeTooShort raises step-short when a step has ended before its time.
func (u *Unit) judgeTooShort(c *runStep) {
	sp := u.spec(c)
	sheetS, ok := u.sheetS(c)
	u.clear(alertKey{rule: RuleStepOverrun, step: c}, u.s.Clock.T)
	if sp == nil || !ok || !u.s.Run.followed() || !c.BathHeard || c.BathT.IsZero() || c.EndLost {
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
	u.raise(alertKey{rule: RuleStepShort, step: c}, c.EndT, alertContent{priority: lab.High,
		message: fmt.Sprintf("%s lasted %s; the sheet says %s", capital(sp.Label), lab.SpanText(timeS), lab.SpanText(want)),
		facts:   map[string]any{"time_s": lab.Round(timeS, 1), "sheet_s": want}})
}

// wrongTimeSet compares the set time with the sheet's, and raises wrong-time-set
// once a step.
func (u *Unit) wrongTimeSet(st *lab.Step) {
	c := u.s.currentStep()
	if c == nil || st.SetS == nil || !u.s.Run.followed() || c.N != st.N || c.ID != st.Step {
		return
	}
	if !inBaths(st.Phase) || st.Phase == lab.PhaseDraining {
		return
	}
	sp := u.spec(c)
	if sp == nil || sp.FromUnit {
		return
	}
	sheetS, ok := u.sheetS(c)
	if !ok {
		return
	}
	a := alertKey{rule: RuleWrongTimeSet, step: c}
	ceiling := sp.Kind != process.Min || sp.OverS > 0 // a least time is never too long, unless the sheet says so
	if v := *st.SetS; v >= sp.ShortestS(sheetS) && (!ceiling || v <= sp.LongestS(sheetS)) {
		u.clear(a, u.s.Clock.T)
		return
	}
	if c.WrongSet {
		return
	}
	c.WrongSet = true
	u.raise(a, u.s.Clock.T, u.wrongTimeContent(c, sp, *st.SetS, sheetS))
}

// wrongTimeContent is what wrong-time-set says; while the bath is in, also when to
// drain all the same.
func (u *Unit) wrongTimeContent(c *runStep, sp *process.Step, setS, sheetS float64) alertContent {
	w := alertContent{priority: lab.High,
		message: fmt.Sprintf("%s is set to %s; for %s the sheet says %s", capital(sp.Label), lab.SpanText(setS), u.processWords(u.s.Run.Process, u.s.Run.Push), lab.SpanText(sheetS)),
		facts:   map[string]any{"set_s": setS, "sheet_s": sheetS, "push": u.s.Run.Push}}
	want := sheetS
	if sp.Kind == process.Min {
		want = sp.LeastS
	}
	w.response = fmt.Sprintf("Set %s at the unit, or check that process and push are right.", lab.SpanText(want))
	if c.BathT.IsZero() || !c.EndT.IsZero() || !c.DrainT.IsZero() {
		return w
	}
	at := c.fromT().Add(lab.Seconds(want))
	w.facts["act_at"], w.facts["drain_at"] = lab.At(u.s.Clock.report(at)).String(), lab.At(u.s.Clock.report(at)).String()
	switch {
	case sp.Kind == process.Min || setS < want:
		w.response = fmt.Sprintf("Set %s at the unit now, so that it does not drain before %s.", lab.SpanText(want), u.clockWords(at))
	default:
		w.response = fmt.Sprintf("Set %s at the unit now, or drain at %s with the button or by hand.", lab.SpanText(want), u.clockWords(at))
	}
	return w
}

// sayWhenToDrain updates wrong-time-set once the bath is in: from then on the time
// of day at which to drain is known.
func (u *Unit) sayWhenToDrain(c *runStep) {
	sp := u.spec(c)
	sheetS, ok := u.sheetS(c)
	a := alertKey{rule: RuleWrongTimeSet, step: c}
	if sp == nil || !ok || c.SetS <= 0 || u.open(a) == nil {
		return
	}
	u.change(a, u.wrongTimeContent(c, sp, c.SetS, sheetS), false)
}
