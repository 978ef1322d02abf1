package rules

import (
	"slices"
	"time"

	"wetside/internal/lab"
)

// step folds a step message: which run, which step, which phase.
func (f *Unit) step(m *lab.Message) {
	st := m.Step
	if f.tooManyRuns(st) {
		return
	}
	f.enterRun(m)
	if f.s.running() {
		f.followPush(st)
		f.enterStep(st)
	}
	f.enterPhase(st)
	f.s.CountS, f.s.CountT = st.ElapsedS, f.s.Clock.T
	f.waitingReadings()
	f.backByBoot(m.Boot)
	if f.s.running() {
		f.wrongTemperatureSet(st)
		f.wrongTimeSet(st)
		f.resumedByBoot(m)
		f.adviseAtStep()
	}
	if st.Phase == lab.PhaseIdle {
		f.idle()
	}
}

// enterRun begins a run when the message names another than before.
func (f *Unit) enterRun(m *lab.Message) {
	st, s := m.Step, f.s
	if st.Phase == lab.PhaseIdle || st.Run == "" {
		return
	}
	if s.Run != nil && s.Run.Name == st.Run {
		if st.Kind != "" && !s.Run.KindSaid {
			s.Run.Kind = st.Kind
		}
		s.Run.Of = max(s.Run.Of, st.Of)
		f.revive(st)
		f.takesOnLate(st)
		return
	}
	if s.running() {
		f.endRun(lab.OutcomeLost, s.Run.LastT)
	}
	taken, named, proposed := f.takesOn(st)
	f.leavesFilm(taken)
	f.keepFilm()
	f.leaveRun()
	kind := st.Kind
	if kind == "" {
		kind = lab.KindOfRunFilm
	}
	t := s.Clock.T
	s.Run = &run{ID: RunID(f.unit, st.Run), Name: st.Run, Process: st.Process, Push: st.Push, Kind: kind,
		StartT: t, StartedAt: lab.At(s.Clock.report(t)).Time, Of: st.Of, Outcome: lab.OutcomeRunning, LastT: t, LastBoot: m.Boot}
	s.Run.Whole = f.beginsRun(st)
	s.Run.FromFirst = s.Heard && s.Unsure == sure && s.outsideRun()
	f.setKind(s.Run)
	s.Run.Fig = f.figuresAt(s.Clock.report(t), st)
	switch {
	case !s.Run.film(): // a flush leaves the load to the next
	case taken != nil || named != "":
		f.takeOn(taken, named, proposed)
	default:
		s.Run.Load, s.Load = s.Load, nil
	}
	if f.sheet() == nil && st.Process != "" {
		f.raise(alertKey{rule: RuleSheetMissing, subject: st.Process, run: true}, t, alertContent{priority: lab.Low,
			message: f.sheetMissingWords(st.Process), facts: map[string]any{"process": st.Process}})
	}
	if st.Phase == lab.PhaseDone || st.Phase == lab.PhaseAborted || st.Phase == lab.PhaseDrying {
		s.Run.Whole, s.Run.FromFirst = false, false
	}
	f.rollMismatch()
	f.pushUnknown()
	for _, fl := range s.Films { // a run may have been said to go on with it, and was not after all
		f.reportLeft(fl)
	}
	f.reportRun()
}

// revive takes a run up again that was given up and is heard of after all.
func (f *Unit) revive(st *lab.Step) {
	r := f.s.Run
	gone := r.Outcome == lab.OutcomeLost || r.Outcome == lab.OutcomeAborted
	if !gone || st.Phase == lab.PhaseAborted {
		return
	}
	if f.s.Unsure != sure || r.Outcome == lab.OutcomeAborted {
		r.Whole, r.Lacks = false, true
	}
	r.Outcome, r.EndedAt = lab.OutcomeRunning, time.Time{}
	f.s.Phase = ""
	if fl := f.filmLeftBy(r); fl != nil {
		f.clearFilmAlerts(fl, f.s.Clock.T)
		f.s.forgetFilm(fl)
	}
	f.reopen(st)
}

// reopen goes on with the step in which a run was given up, where the film has
// stayed in its bath.
func (f *Unit) reopen(st *lab.Step) {
	c, t := f.s.cur(), f.s.Clock.T
	if c == nil || c.N != st.N || c.ID != st.Step || !c.DrainT.IsZero() || c.BathT.IsZero() || st.Phase != lab.PhaseInBath && st.Phase != lab.PhaseDraining {
		return
	}
	c.EndT, c.LeftT, c.EndUnsure, c.EndLost, c.Stranded = time.Time{}, time.Time{}, false, false, false
	if c.Bath.Prev {
		c.Bath.to(t, c.Bath.PrevC, f.conditionsOf(c)) // nobody read it meanwhile
	}
}

// followPush takes a push that is corrected before the first bath is in.
func (f *Unit) followPush(st *lab.Step) {
	r := f.s.Run
	if inBaths(st.Phase) && !slices.ContainsFunc(r.Steps, func(c *runStep) bool { return !c.BathT.IsZero() }) {
		r.Push = st.Push
		f.rollMismatch()
		f.pushUnknown()
	}
}

// beginsRun tells whether the first message of a run is its beginning: the
// unit was heard idle right before, or it stands before the first bath.
func (f *Unit) beginsRun(st *lab.Step) bool {
	s := f.s
	if s.Heard && s.Unsure == sure && s.outsideRun() {
		return true
	}
	first := st.N == 1 || f.sheet() != nil && f.sheet().Index(st.Step) == 0
	return first && (st.Phase == lab.PhaseHeating || st.Phase == lab.PhaseFilling)
}

// outsideRun tells whether the unit, as it was heard last, is in no run.
func (s *state) outsideRun() bool {
	return s.Phase == lab.PhaseIdle || s.Phase == lab.PhaseDone || s.Phase == lab.PhaseAborted
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
func (f *Unit) enterStep(st *lab.Step) {
	s, c := f.s, f.s.cur()
	leaves := st.Phase == lab.PhaseDrying || st.Phase == lab.PhaseDone || st.Phase == lab.PhaseAborted ||
		st.Phase == lab.PhaseWaiting && st.WaitsFor == lab.WaitToDryer
	if leaves {
		f.endStep(s.Clock.T, st.Phase != lab.PhaseAborted)
		if st.Phase != lab.PhaseAborted {
			f.bathsDone()
		}
		s.Run.AtDryer = s.Run.AtDryer || st.Phase == lab.PhaseDrying || st.Phase == lab.PhaseDone
		return
	}
	if st.Step == "" || !inBaths(st.Phase) && st.Phase != lab.PhaseWaiting {
		return
	}
	if c == nil || c.N != st.N || c.ID != st.Step {
		f.endStep(s.Clock.T, true)
		f.beginStep(st)
		c = s.cur()
	}
	if !c.Entered && inBaths(st.Phase) {
		c.Entered = true
		f.skipped(c)
	}
	f.noteSet(c, st)
}

func (f *Unit) beginStep(st *lab.Step) {
	s := f.s
	if f.tooManySteps(st) {
		s.Run.Steps = s.Run.Steps[:stepsKept-1]
	}
	c := &runStep{N: st.N, ID: st.Step, Index: -1, FromT: s.Clock.T}
	if sh := f.sheet(); sh != nil {
		c.Index = sh.Index(st.Step)
	}
	s.Run.Steps = append(s.Run.Steps, c)
	f.stepUnknown(c)
}

// noteSet keeps what the unit says of the step beside its phase. What belongs
// to a waiting is not the step's.
func (f *Unit) noteSet(c *runStep, st *lab.Step) {
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
		f.s.Run.FillML = *st.FillML
	}
	if st.DrawFrom != "" {
		c.DrawFrom = st.DrawFrom
	}
	if st.DrainTo != "" {
		c.DrainTo = st.DrainTo
	}
}

// endStep closes the step the run is in; judge is false where an abort ended it.
func (f *Unit) endStep(t time.Time, judge bool) {
	c := f.s.cur()
	if c == nil || !c.EndT.IsZero() {
		return
	}
	c.LeftT = t
	c.EndT = t
	switch {
	case !c.DrainT.IsZero():
		c.EndT = c.DrainT
		if f.s.Run.Fig.Times.WithDrain && !c.ByHand {
			c.EndT = f.drained(c, t)
		}
	case f.s.Unsure > restarted: // its draining may have gone unheard
		c.EndUnsure = true
		if f.s.Unsure == longHole && !c.BathT.IsZero() {
			c.EndLost, c.HeardT = true, f.s.HoleT
			c.EndT = f.likelyEnd(c, t)
		}
	}
	f.bathEnds(c, c.EndT)
	f.learnBath(c)
	if judge {
		f.tooShort(c)
	}
	f.noteFixed(c, c.EndT)
	f.clearWhere(t, func(o *lab.Occurrence) bool {
		return o.N == c.N && o.Step == c.ID && (o.Rule == RuleWrongTimeSet || o.Rule == RuleWrongTemperatureSet || o.Rule == RulePreheatOff)
	})
	f.reportRun()
}

// drained is when the last draining of a step was over that ended by t.
func (f *Unit) drained(c *runStep, t time.Time) time.Time {
	s := f.s
	if s.Phase == lab.PhaseDraining && s.PhaseN == c.N && s.PhaseStep == c.ID {
		return lab.Earlier(t, s.SaidT.Add(lab.Seconds(saidEveryS)))
	}
	return lab.Earlier(t, c.DrainT.Add(lab.Seconds(c.DrainS)))
}

// likelyEnd is when a step ended whose end lies in a hole: as it was set,
// within the hole.
func (f *Unit) likelyEnd(c *runStep, t time.Time) time.Time {
	set := c.SetS
	if set <= 0 {
		var ok bool
		if set, ok = f.sheetS(c); !ok {
			return t
		}
	}
	end := lab.Earlier(c.fromT().Add(lab.Seconds(set)), t)
	return lab.Later(end, lab.Earlier(lab.Later(f.s.HoleT, c.BathT), t))
}

// noteFixed notes that the film has been fixed.
func (f *Unit) noteFixed(c *runStep, end time.Time) {
	sp := f.spec(c)
	if sp == nil || !sp.Fixes || c.BathT.IsZero() || !f.s.Run.FixedT.IsZero() {
		return
	}
	if end.Sub(c.fromT()).Seconds() >= sp.ShortestS(sp.LeastS) {
		f.s.Run.FixedT = end
	}
}

// atBeginning tells whether the message in hand stands at the beginning of
// its phase, as far as what came before it was heard.
func (f *Unit) atBeginning(st *lab.Step) bool {
	s := f.s
	switch {
	case s.Phase == "" || s.Unsure == longHole:
		return false
	case s.Unsure == sure:
		return true
	}
	// a moment is missing: the unit's own count tells
	return st.ElapsedS != nil && *st.ElapsedS < 1
}

// enterPhase follows the phases and what begins and ends with them.
func (f *Unit) enterPhase(st *lab.Step) {
	s := f.s
	if samePhase(s, st) {
		s.SaidT = s.Clock.T
		f.dryingSet(st)
		return
	}
	heard := f.atBeginning(st)
	f.leavePhase()
	s.Phase, s.PhaseN, s.PhaseStep, s.PhaseT, s.WaitsFor = st.Phase, st.N, st.Step, s.Clock.T, st.WaitsFor
	s.PhaseHeard, s.SaidT = heard, s.Clock.T
	s.PhaseSetS = 0
	f.dryingSet(st)
	switch st.Phase {
	case lab.PhaseFilling:
		f.beginFill()
	case lab.PhaseInBath:
		f.beginBath()
	case lab.PhaseDraining:
		f.beginDrain()
	case lab.PhaseWaiting:
		if c := s.cur(); s.running() && c != nil && s.Run.Wet && st.WaitsFor == lab.WaitChemistry {
			c.NoChem = true
		}
		f.phaseDue(s.Clock.T)
	case lab.PhaseAborted:
		f.aborted()
	case lab.PhaseDone:
		if s.running() {
			f.endRun(lab.OutcomeDone, s.Clock.T)
		}
	}
	if s.running() {
		f.settleResumed()
		f.refreshPowerLost()
	}
	f.reportRun()
}

// leavePhase ends what belongs to the phase before.
func (f *Unit) leavePhase() {
	s := f.s
	t := s.Clock.T
	f.clearWhere(t, func(o *lab.Occurrence) bool { return o.Rule == RulePhaseOverdue })
	f.drop("bath:")
	f.drop("rotation")
	f.drop("slow")
	took := t.Sub(s.PhaseT).Seconds()
	if s.PhaseHeard && s.Unsure == sure && (s.Phase == lab.PhaseFilling || s.Phase == lab.PhaseDraining) {
		r := s.Usual[string(s.Phase)]
		r.add(took)
		s.Usual[string(s.Phase)] = r
		f.filled(took)
	}
	f.noteDrained(t)
	f.clearWhere(t, func(o *lab.Occurrence) bool { return o.Rule == RuleFillSlow })
	switch s.Phase {
	case lab.PhaseInBath:
		f.clearWhere(t, func(o *lab.Occurrence) bool {
			return o.Rule == RuleBathTemperature || o.Rule == RuleReadingMissing || o.Rule == RuleRotationStopped ||
				o.Rule == RuleReadingDoubtful || o.Rule == RuleRotationSlow
		})
	case lab.PhaseFilling, lab.PhaseDraining:
		f.endPump()
	}
}

// filled keeps what a fill that was heard whole took. The step at hand may be
// the next one already.
func (f *Unit) filled(took float64) {
	s, c := f.s, f.s.cur()
	if !s.running() || c == nil || s.Phase != lab.PhaseFilling || c.N != s.PhaseN || c.ID != s.PhaseStep {
		return
	}
	if c.Fills == 1 {
		c.FillS = took
	}
	f.learnFill(c, took)
}

// saidEveryS is how often a unit says its phase in a run, seconds: one that it
// has not said for longer may have been over.
const saidEveryS = 10

// noteDrained keeps what the draining took that ends now. The step at hand may
// be the next one already.
func (f *Unit) noteDrained(t time.Time) {
	s := f.s
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

func (f *Unit) beginFill() {
	if c := f.s.cur(); f.s.running() && c != nil {
		if c.Fills++; c.Fills == 1 && f.s.PhaseHeard {
			c.FillT = f.s.Clock.T
		}
		f.refilled(c)
		f.s.Run.Wet = true
		f.startPump(c, true)
		f.preheatOff(c)
	}
}

func (f *Unit) beginBath() {
	s, c := f.s, f.s.cur()
	if !s.running() || c == nil {
		return
	}
	s.Run.Wet = true
	f.refilled(c)
	c.Fills = max(c.Fills, 1)
	if c.BathT.IsZero() {
		c.BathT = s.Clock.T
		c.BathHeard = s.PhaseHeard
		if s.Run.Fig.Times.WithFill {
			c.CountT, c.BathHeard = c.FillT, c.BathHeard && !c.FillT.IsZero()
		}
		f.rollMismatch()
		f.sayWhenToDrain(c)
	}
	s.Bath.T, s.BathDue = time.Time{}, s.Clock.T
	f.newFill(s.Clock.T)
	if c.Bath.FromT.IsZero() {
		c.Bath.begin(c.fromT(), f.conditionsOf(c))
	}
	c.Bath.begin(s.Clock.T, f.conditionsOf(c))
}

// refilled notes that another fill of the step follows its draining.
func (f *Unit) refilled(c *runStep) {
	if c.ByHand && f.s.Phase != lab.PhaseFilling {
		return // it is empty: a person drained it
	}
	c.ByHand = false
	if !c.DrainT.IsZero() {
		c.DrainT, c.RefillT = time.Time{}, f.s.Clock.T
	}
}

func (f *Unit) beginDrain() {
	s, c := f.s, f.s.cur()
	if !s.running() || c == nil {
		return
	}
	if !c.ByHand {
		c.DrainT = s.Clock.T
		f.bathEnds(c, c.DrainT)
	}
	f.clear(alertKey{rule: RuleStepOverrun, step: c}, s.Clock.T)
	f.drainsInto(c)
	f.startPump(c, false)
}
