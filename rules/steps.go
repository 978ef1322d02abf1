package rules

import (
	"time"

	"wetside/internal/lab"
)

// takeStep takes a step message: which run, which step, which phase.
func (u *Unit) takeStep(m *lab.Message) {
	st := m.Step
	if u.tooManyRuns(st) {
		return
	}
	u.enterRun(m)
	if u.s.running() {
		u.followPush(st)
		u.enterStep(st)
	}
	u.enterPhase(st)
	u.s.CountS, u.s.CountT = st.ElapsedS, u.s.Clock.T
	u.waitingReadings()
	u.backByBoot(m.Boot)
	if u.s.running() {
		u.wrongTemperatureSet(st)
		u.wrongTimeSet(st)
		u.resumedByBoot(m)
		u.adviseAtStep()
	}
	if st.Phase == lab.PhaseIdle {
		u.noteIdle()
	}
}

// inBaths tells whether a phase belongs to a step of the run.
func inBaths(p lab.Phase) bool {
	switch p {
	case lab.PhaseHeating, lab.PhaseFilling, lab.PhaseInBath, lab.PhaseDraining:
		return true
	}
	return false
}

// enterStep begins a step when the message names another than before.
func (u *Unit) enterStep(st *lab.Step) {
	s, c := u.s, u.s.currentStep()
	leaves := st.Phase == lab.PhaseDrying || st.Phase == lab.PhaseDone || st.Phase == lab.PhaseAborted ||
		st.Phase == lab.PhaseWaiting && st.WaitsFor == lab.WaitToDryer
	if leaves {
		u.endStep(s.Clock.T, st.Phase != lab.PhaseAborted)
		if st.Phase != lab.PhaseAborted {
			u.noteBathsDone()
		}
		s.Run.AtDryer = s.Run.AtDryer || st.Phase == lab.PhaseDrying || st.Phase == lab.PhaseDone
		return
	}
	if st.Step == "" || !inBaths(st.Phase) && st.Phase != lab.PhaseWaiting {
		return
	}
	if c == nil || c.N != st.N || c.ID != st.Step {
		u.endStep(s.Clock.T, true)
		u.beginStep(st)
		c = s.currentStep()
	}
	if !c.Entered && inBaths(st.Phase) {
		c.Entered = true
		u.judgeSkipped(c)
	}
	u.noteSet(c, st)
}

func (u *Unit) beginStep(st *lab.Step) {
	s := u.s
	if u.tooManySteps(st) {
		s.Run.Steps = s.Run.Steps[:stepsKept-1]
	}
	c := &runStep{N: st.N, ID: st.Step, Index: -1, FromT: s.Clock.T}
	if sh := u.sheet(); sh != nil {
		c.Index = sh.Index(st.Step)
	}
	s.Run.Steps = append(s.Run.Steps, c)
	u.stepUnknown(c)
}

// noteSet keeps what the unit says of the step: times, temperature, volume,
// containers. What it says while it waits for a person is not of the step.
func (u *Unit) noteSet(c *runStep, st *lab.Step) {
	if !inBaths(st.Phase) {
		return
	}
	if st.SetS != nil && st.Phase != lab.PhaseDraining {
		c.SetS = *st.SetS
	}
	if st.SetC != nil {
		c.SetC = *st.SetC
	}
	if st.FillML != nil && *st.FillML > 0 {
		c.FillML = *st.FillML
		u.s.Run.FillML = *st.FillML
	}
	if st.DrawFrom != "" {
		c.DrawFrom = st.DrawFrom
	}
	if st.DrainTo != "" {
		c.DrainTo = st.DrainTo
	}
}

// endStep closes the step the run is in; judge is false where an abort ended it.
func (u *Unit) endStep(t time.Time, judge bool) {
	c := u.s.currentStep()
	if c == nil || !c.EndT.IsZero() {
		return
	}
	c.LeftT = t
	c.EndT = t
	switch {
	case !c.DrainT.IsZero():
		c.EndT = c.DrainT
		if u.s.Run.Fig.Times.WithDrain && !c.ByHand {
			c.EndT = u.drained(c, t)
		}
	case u.s.Unsure > restarted: // its draining may lie in the hole
		c.EndUnsure = true
		if u.s.Unsure == longHole && !c.BathT.IsZero() {
			c.EndLost, c.HeardT = true, u.s.HoleT
			c.EndT = u.likelyEnd(c, t)
		}
	}
	u.bathEnds(c, c.EndT)
	u.learnBath(c)
	if judge {
		u.judgeTooShort(c)
	}
	u.noteFixed(c, c.EndT)
	u.clearWhere(t, func(o *lab.Occurrence) bool {
		return o.N == c.N && o.Step == c.ID && (o.Rule == RuleWrongTimeSet || o.Rule == RuleWrongTemperatureSet || o.Rule == RulePreheatOff)
	})
	u.reportRun()
}

// drained is when the last draining of a step had ended, t at the latest.
func (u *Unit) drained(c *runStep, t time.Time) time.Time {
	s := u.s
	if s.Phase == lab.PhaseDraining && s.PhaseN == c.N && s.PhaseStep == c.ID {
		return lab.Earlier(t, s.SaidT.Add(lab.Seconds(saidEveryS)))
	}
	return lab.Earlier(t, c.DrainT.Add(lab.Seconds(c.DrainS)))
}

// likelyEnd is when a step most likely ended whose end lies in a hole: after its
// set time, but within the hole.
func (u *Unit) likelyEnd(c *runStep, t time.Time) time.Time {
	set := c.SetS
	if set <= 0 {
		var ok bool
		if set, ok = u.sheetS(c); !ok {
			return t
		}
	}
	end := lab.Earlier(c.fromT().Add(lab.Seconds(set)), t)
	return lab.Later(end, lab.Earlier(lab.Later(u.s.HoleT, c.BathT), t))
}

// noteFixed notes that the film has been fixed.
func (u *Unit) noteFixed(c *runStep, end time.Time) {
	sp := u.spec(c)
	if sp == nil || !sp.Fixes || c.BathT.IsZero() || !u.s.Run.FixedT.IsZero() {
		return
	}
	if end.Sub(c.fromT()).Seconds() >= sp.ShortestS(sp.LeastS) {
		u.s.Run.FixedT = end
	}
}
