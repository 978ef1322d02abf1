package rules

import (
	"time"

	"wetside/internal/lab"
)

// atBeginning tells whether the phase of the message at hand began with it, or
// had begun before and its beginning was not received.
func (u *Unit) atBeginning(st *lab.Step) bool {
	s := u.s
	switch {
	case s.Phase == "" || s.Unsure == longHole:
		return false
	case s.Unsure == nothingMissed:
		return true
	}
	// a message is missing: the unit's own count tells
	return st.ElapsedS != nil && *st.ElapsedS < 1
}

// enterPhase follows the phases and what begins and ends with them.
func (u *Unit) enterPhase(st *lab.Step) {
	s := u.s
	if samePhase(s, st) {
		s.SaidT = s.Clock.T
		u.dryingSet(st)
		return
	}
	heard := u.atBeginning(st)
	u.leavePhase()
	s.Phase, s.PhaseN, s.PhaseStep, s.PhaseT, s.WaitsFor = st.Phase, st.N, st.Step, s.Clock.T, st.WaitsFor
	s.PhaseHeard, s.SaidT = heard, s.Clock.T
	s.PhaseSetS = 0
	u.dryingSet(st)
	switch st.Phase {
	case lab.PhaseFilling:
		u.beginFill()
	case lab.PhaseInBath:
		u.beginBath()
	case lab.PhaseDraining:
		u.beginDrain()
	case lab.PhaseWaiting:
		if c := s.currentStep(); s.running() && c != nil && s.Run.Wet && st.WaitsFor == lab.WaitChemistry {
			c.NoChem = true
		}
		u.phaseDue(s.Clock.T)
	case lab.PhaseAborted:
		u.noteAborted()
	case lab.PhaseDone:
		if s.running() {
			u.endRun(lab.OutcomeDone, s.Clock.T)
		}
	}
	if s.running() {
		u.settleResumed()
		u.refreshPowerLost()
	}
	u.reportRun()
}

// leavePhase ends what belongs to the phase before.
func (u *Unit) leavePhase() {
	s := u.s
	t := s.Clock.T
	u.clearWhere(t, func(o *lab.Occurrence) bool { return o.Rule == RulePhaseOverdue })
	u.dropHolds("bath:")
	u.dropHolds("rotation")
	u.dropHolds("slow")
	took := t.Sub(s.PhaseT).Seconds()
	if s.PhaseHeard && s.Unsure == nothingMissed && (s.Phase == lab.PhaseFilling || s.Phase == lab.PhaseDraining) {
		r := s.Usual[string(s.Phase)]
		r.add(took)
		s.Usual[string(s.Phase)] = r
		u.filled(took)
	}
	u.noteDrained(t)
	u.clearWhere(t, func(o *lab.Occurrence) bool { return o.Rule == RuleFillSlow })
	switch s.Phase {
	case lab.PhaseInBath:
		u.clearWhere(t, func(o *lab.Occurrence) bool {
			return o.Rule == RuleBathTemperature || o.Rule == RuleReadingMissing || o.Rule == RuleRotationStopped ||
				o.Rule == RuleReadingDoubtful || o.Rule == RuleRotationSlow
		})
	case lab.PhaseFilling, lab.PhaseDraining:
		u.endPump()
	}
}

// filled notes how long a fill took that was received from its beginning to its
// end. The step at hand may be the next one by now.
func (u *Unit) filled(took float64) {
	s, c := u.s, u.s.currentStep()
	if !s.running() || c == nil || s.Phase != lab.PhaseFilling || c.N != s.PhaseN || c.ID != s.PhaseStep {
		return
	}
	if c.Fills == 1 {
		c.FillS = took
	}
	u.learnFill(c, took)
}

// saidEveryS is how often a unit repeats its phase in a run, seconds: a phase
// that was not repeated in time has ended at the latest then.
const saidEveryS = 10

// noteDrained notes how long the draining took that ends now. The step at hand
// may be the next one by now.
func (u *Unit) noteDrained(t time.Time) {
	s := u.s
	if !s.running() || s.Phase != lab.PhaseDraining || s.Unsure > restarted {
		return
	}
	for _, c := range s.Run.Steps {
		if c.N == s.PhaseN && c.ID == s.PhaseStep && !c.DrainT.IsZero() && !c.ByHand {
			end := lab.Earlier(t, s.SaidT.Add(lab.Seconds(saidEveryS)))
			c.DrainS = end.Sub(c.DrainT).Seconds()
		}
	}
}

func (u *Unit) beginFill() {
	if c := u.s.currentStep(); u.s.running() && c != nil {
		if c.Fills++; c.Fills == 1 && u.s.PhaseHeard {
			c.FillT = u.s.Clock.T
		}
		u.refilled(c)
		u.s.Run.Wet = true
		u.startPump(c, true)
		u.preheatOff(c)
	}
}

func (u *Unit) beginBath() {
	s, c := u.s, u.s.currentStep()
	if !s.running() || c == nil {
		return
	}
	s.Run.Wet = true
	u.refilled(c)
	c.Fills = max(c.Fills, 1)
	if c.BathT.IsZero() {
		c.BathT = s.Clock.T
		c.BathHeard = s.PhaseHeard
		if s.Run.Fig.Times.WithFill {
			c.CountT, c.BathHeard = c.FillT, c.BathHeard && !c.FillT.IsZero()
		}
		u.rollMismatch()
		u.sayWhenToDrain(c)
	}
	s.Bath.T, s.BathDue = time.Time{}, s.Clock.T
	u.newFill(s.Clock.T)
	if c.Bath.FromT.IsZero() {
		c.Bath.begin(c.fromT(), u.conditionsOf(c))
	}
	c.Bath.begin(s.Clock.T, u.conditionsOf(c))
}

// refilled notes that another fill of the step follows its draining.
func (u *Unit) refilled(c *runStep) {
	if c.ByHand && u.s.Phase != lab.PhaseFilling {
		return // it is empty: a person drained it
	}
	c.ByHand = false
	if !c.DrainT.IsZero() {
		c.DrainT, c.RefillT = time.Time{}, u.s.Clock.T
	}
}

func (u *Unit) beginDrain() {
	s, c := u.s, u.s.currentStep()
	if !s.running() || c == nil {
		return
	}
	if !c.ByHand {
		c.DrainT = s.Clock.T
		u.bathEnds(c, c.DrainT)
	}
	u.clear(alertKey{rule: RuleStepOverrun, step: c}, s.Clock.T)
	u.drainsInto(c)
	u.startPump(c, false)
}
