package rules

import (
	"slices"
	"time"

	"wetside/internal/lab"
)

// enterRun begins a run when the message names another than before.
func (u *Unit) enterRun(m *lab.Message) {
	st, s := m.Step, u.s
	if st.Phase == lab.PhaseIdle || st.Run == "" {
		return
	}
	if s.Run != nil && s.Run.Name == st.Run {
		if st.Kind != "" && !s.Run.KindSaid {
			s.Run.Kind = st.Kind
		}
		s.Run.Of = max(s.Run.Of, st.Of)
		u.revive(st)
		u.takesOnLate(st)
		return
	}
	if s.running() {
		u.endRun(lab.OutcomeLost, s.Run.LastT)
	}
	taken, named, proposed := u.takesOn(st)
	u.leavesFilm(taken)
	u.keepFilm()
	u.leaveRun()
	kind := st.Kind
	if kind == "" {
		kind = lab.KindOfRunFilm
	}
	t := s.Clock.T
	s.Run = &run{ID: RunID(u.id, st.Run), Name: st.Run, Process: st.Process, Push: st.Push, Kind: kind,
		StartT: t, StartedAt: lab.At(s.Clock.report(t)).Time, Of: st.Of, Outcome: lab.OutcomeRunning, LastT: t, LastBoot: m.Boot}
	s.Run.Whole = u.beginsRun(st)
	s.Run.FromFirst = s.Heard && s.Unsure == nothingMissed && s.outsideRun()
	u.beginShares()
	s.noteStart(t)
	u.setKind(s.Run)
	s.Run.Fig = u.figuresAt(s.Clock.report(t), st)
	switch {
	case !s.Run.film(): // a flush or a strip is not the run that the load is for
	case taken != nil || named != "":
		u.takeOn(taken, named, proposed)
	default:
		s.Run.Load, s.Load = s.Load, nil
	}
	if u.sheet() == nil && st.Process != "" {
		u.raise(alertKey{rule: RuleSheetMissing, subject: st.Process, run: true}, t, alertContent{priority: lab.Low,
			message: u.sheetMissingWords(st.Process), facts: map[string]any{"process": st.Process}})
	}
	if st.Phase == lab.PhaseDone || st.Phase == lab.PhaseAborted || st.Phase == lab.PhaseDrying {
		s.Run.Whole, s.Run.FromFirst = false, false
	}
	u.rollMismatch()
	u.pushUnknown()
	for _, fl := range s.Films { // a run that was to go on with it may have begun with other film
		u.reportLeft(fl)
	}
	u.reportRun()
}

// revive takes up a run again that was given up as lost or aborted, when the unit
// goes on with it after all.
func (u *Unit) revive(st *lab.Step) {
	r := u.s.Run
	gone := r.Outcome == lab.OutcomeLost || r.Outcome == lab.OutcomeAborted
	if !gone || st.Phase == lab.PhaseAborted {
		return
	}
	if u.s.Unsure != nothingMissed || r.Outcome == lab.OutcomeAborted {
		r.Whole, r.Lacks = false, true
	}
	r.Outcome, r.EndedAt = lab.OutcomeRunning, time.Time{}
	u.s.Phase = ""
	if fl := u.filmLeftBy(r); fl != nil {
		u.clearFilmAlerts(fl, u.s.Clock.T)
		u.s.forgetFilm(fl)
	}
	u.reopen(st)
}

// reopen takes up the step in which a run was given up, where its film stayed in
// the bath.
func (u *Unit) reopen(st *lab.Step) {
	c, t := u.s.currentStep(), u.s.Clock.T
	if c == nil || c.N != st.N || c.ID != st.Step || !c.DrainT.IsZero() || c.BathT.IsZero() || st.Phase != lab.PhaseInBath && st.Phase != lab.PhaseDraining {
		return
	}
	c.EndT, c.LeftT, c.EndUnsure, c.EndLost, c.Stranded = time.Time{}, time.Time{}, false, false, false
	if c.Bath.Prev {
		c.Bath.to(t, c.Bath.PrevC, u.conditionsOf(c)) // no readings meanwhile
	}
}

// followPush takes a push that is corrected before the first bath is in.
func (u *Unit) followPush(st *lab.Step) {
	r := u.s.Run
	if inBaths(st.Phase) && !slices.ContainsFunc(r.Steps, func(c *runStep) bool { return !c.BathT.IsZero() }) {
		r.Push = st.Push
		u.rollMismatch()
		u.pushUnknown()
	}
}

// beginsRun tells whether the first message of a run is its beginning: the
// unit was heard idle right before, or it stands before the first bath.
func (u *Unit) beginsRun(st *lab.Step) bool {
	s := u.s
	if s.Heard && s.Unsure == nothingMissed && s.outsideRun() {
		return true
	}
	first := st.N == 1 || u.sheet() != nil && u.sheet().Index(st.Step) == 0
	return first && (st.Phase == lab.PhaseHeating || st.Phase == lab.PhaseFilling)
}

// outsideRun tells whether the unit is in no run, by its last message.
func (s *state) outsideRun() bool {
	return s.Phase == lab.PhaseIdle || s.Phase == lab.PhaseDone || s.Phase == lab.PhaseAborted
}
