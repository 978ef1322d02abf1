package rules

import (
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// fold folds the next message of the unit's timeline.
func (f *Unit) fold(m *lab.Message) {
	s := f.s
	before := s.Clock.T
	newBoot := s.Heard && s.Clock.Boot != m.Boot
	s.Clock.advance(m)
	s.GapBoot = newBoot
	if newBoot {
		s.DownT = before
	}
	if newBoot || s.GapNow {
		f.balancesAnew()
	}
	f.loseRun(s.Clock.T)
	if len(f.entries) > 0 {
		f.applyDue(before)
	}
	m = f.named(m)
	if newBoot {
		s.Unsure = max(s.Unsure, restarted)
	}
	if s.GapNow || f.unitSilentInBath(before) {
		f.noteHole(before, s.Clock.T)
	}
	if s.running() && s.Unsure != sure {
		s.Run.Lacks = true
	}
	f.deadlines(s.Clock.T, m)
	switch {
	case m.Status != nil:
		f.status(m.Status)
	case m.Step != nil:
		f.step(m)
		s.Unsure = sure
	case m.Temp != nil:
		f.temp(m.Temp)
	case m.Tank != nil:
		f.tank(m.Tank)
	case m.Power != nil:
		f.power(m)
	case m.Motion != nil:
		f.motion(m.Motion)
	}
	if s.running() {
		s.Run.LastT = s.Clock.T
		if s.GapNow {
			f.reportRun()
		}
	}
	if m.Temp == nil && m.Motion == nil || f.lookingAhead() {
		f.containers(m.Tank != nil)
	}
	s.Heard, s.GapNow = true, false
}

// noteGap says that messages of the timeline are missing before the next one.
func (f *Unit) noteGap(g lab.Gap) {
	f.s.GapNow = true
	if f.s.running() {
		f.s.Run.keepGap(g)
	}
}

// holeCountsS is the longest hole, in seconds, that is no gap in the evidence.
const holeCountsS = 10

// silentInBathS is the longest a unit says nothing in the bath, seconds: readings come
// every 5 s at least. One that was mute longer may have ended it unheard.
const silentInBathS = 30

// unitSilentInBath tells whether the unit said nothing for so long right before the
// message in hand that a developer may have ended meanwhile.
func (f *Unit) unitSilentInBath(before time.Time) bool {
	s := f.s
	return !s.GapBoot && s.running() && s.Phase == lab.PhaseInBath && f.isDev(s.cur()) && s.Clock.T.Sub(before) > lab.Seconds(silentInBathS)
}

// noteHole keeps what a hole may have hidden.
func (f *Unit) noteHole(from, to time.Time) {
	s := f.s
	if s.Unsure <= restarted {
		s.HoleT = from
	}
	if to.Sub(from) > lab.Seconds(holeCountsS) {
		f.drop("") // a hold wants readings one after the other
		s.Unsure = max(s.Unsure, longHole)
	} else {
		s.Unsure = max(s.Unsure, shortHole)
	}
	if !s.running() {
		return
	}
	s.Run.keepHole(hole{After: s.Run.reached(), S: to.Sub(from).Seconds()})
	if c := s.cur(); c != nil && s.Phase == lab.PhaseInBath && to.Sub(from) > lab.Seconds(holeCountsS) {
		c.Unheard = true
	}
}

// phaseStillOn tells whether a message proves that the phase before it has gone on
// until now: after a hole or a restart only one that says so.
func (f *Unit) phaseStillOn(m *lab.Message) bool {
	s := f.s
	return s.Unsure == sure || m.Step != nil && samePhase(s, m.Step) && s.Run != nil && m.Step.Run == s.Run.Name
}

func samePhase(s *state, st *lab.Step) bool {
	return s.Phase == st.Phase && s.PhaseN == st.N && s.PhaseStep == st.Step &&
		(st.Phase != lab.PhaseWaiting || s.WaitsFor == st.WaitsFor)
}

// reached is the highest sheet step that the film has begun, -1 for none.
func (f *Unit) reached() int { return max(f.s.Run.reached(), f.s.Run.Took.reached(false)) }

// reached is the highest sheet step that the run has begun, -1 for none.
func (r *run) reached() int {
	top := -1
	for _, st := range r.Steps {
		top = max(top, st.Index)
	}
	return top
}

// book is the sheets that the run is judged by; without a run those of now.
func (f *Unit) book() *process.Book {
	if r := f.s.Run; r != nil {
		return f.cfg.SheetsAt(r.StartedAt)
	}
	return f.cfg.SheetsAt(f.s.Clock.report(f.s.Clock.T))
}

// sheet is the sheet of the run, nil where there is none.
func (f *Unit) sheet() *process.Sheet {
	if f.s.Run == nil {
		return nil
	}
	sh, ok := f.book().Sheet(f.s.Run.Process)
	if !ok {
		return nil
	}
	return sh
}

// spec is the sheet's step for a step of the run, nil where there is none.
func (f *Unit) spec(c *runStep) *process.Step {
	sh := f.sheet()
	if sh == nil || c == nil || c.Index < 0 {
		return nil
	}
	sp := &sh.Steps[c.Index]
	for _, d := range f.s.Run.Fig.Devs {
		if d.Process == f.s.Run.Process && d.Step == c.ID && sp.Kind == process.Dev {
			sp = f.cfg.stepWith(f.book(), sp, d.Developer)
			break
		}
	}
	if !sp.FromUnit && sp.AtC == nil {
		return sp
	}
	return f.cfg.stepAt(sp, c.aimC(sp))
}

// sheetS is the sheet's time for a step in seconds, false where unknown.
func (f *Unit) sheetS(c *runStep) (float64, bool) {
	sp := f.spec(c)
	if sp == nil {
		return 0, false
	}
	return sp.TimeFor(f.s.Run.Push, c.SetS)
}

func (f *Unit) status(m *lab.Status) {
	f.s.Model, f.s.Firmware = m.Model, m.Firmware
	if m.Processes != nil {
		f.s.Processes = m.Processes
	}
	if m.Containers != nil {
		f.s.Declared = m.Containers
	}
}

// deadlines fires what the coming of timeline time t proves to have passed,
// judged by how things stood before the message in hand.
func (f *Unit) deadlines(t time.Time, m *lab.Message) {
	f.overrunDue(t, m)
	if f.phaseStillOn(m) {
		f.phaseDue(t)
	}
	f.fillSlowDue(t)
	f.readingDue(t, m)
	f.strandedDue(t, m)
}

// noteRefusedPhase says that a message was refused which may have said a phase: when
// the phase in hand began is not certain until the next one says.
func (f *Unit) noteRefusedPhase() {
	if s := f.s; s.Heard && s.Unsure <= restarted {
		s.HoleT, s.Unsure = s.Clock.T, shortHole
	}
}
