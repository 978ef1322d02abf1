package rules

import (
	"time"

	"wetside/internal/lab"
)

// fold folds the next message of the unit's timeline.
func (u *Unit) fold(m *lab.Message) {
	s := u.s
	before := s.Clock.T
	newBoot := s.Heard && s.Clock.Boot != m.Boot
	s.Clock.advance(m)
	s.GapBoot = newBoot
	if newBoot {
		s.DownT = before
	}
	if newBoot || s.GapNow {
		u.balancesAnew()
	}
	u.loseRun(s.Clock.T)
	if len(u.entries) > 0 {
		u.applyDue(before)
	}
	m = u.withSheetName(m)
	if newBoot {
		s.Unsure = max(s.Unsure, restarted)
	}
	if s.GapNow || u.unitSilentInBath(before) {
		u.noteHole(before, s.Clock.T)
	}
	if s.running() && s.Unsure != nothingMissed {
		s.Run.Lacks = true
	}
	u.raiseOverdue(s.Clock.T, m)
	switch {
	case m.Status != nil:
		u.takeStatus(m.Status)
	case m.Step != nil:
		u.takeStep(m)
		s.Unsure = nothingMissed
	case m.Temp != nil:
		u.takeTemperatures(m.Temp)
	case m.Tank != nil:
		u.takeLevels(m.Tank)
	case m.Power != nil:
		u.takePower(m)
	case m.Motion != nil:
		u.takeRotation(m.Motion)
	}
	if s.running() {
		s.Run.LastT = s.Clock.T
		if s.GapNow {
			u.reportRun()
		}
	}
	if m.Temp == nil && m.Motion == nil || u.lookingAhead() {
		u.judgeContainers(m.Tank != nil)
	}
	s.Heard, s.GapNow = true, false
}

// reached is the highest sheet step that the film has begun, -1 for none.
func (u *Unit) reached() int { return max(u.s.Run.reached(), u.s.Run.Took.reached(false)) }

// reached is the highest sheet step that the run has begun, -1 for none.
func (r *run) reached() int {
	top := -1
	for _, st := range r.Steps {
		top = max(top, st.Index)
	}
	return top
}

func (u *Unit) takeStatus(m *lab.Status) {
	u.s.Model, u.s.Firmware = m.Model, m.Firmware
	if m.Processes != nil {
		u.s.Processes = m.Processes
	}
	if m.Containers != nil {
		u.s.Declared = m.Containers
	}
}

// raiseOverdue raises what timeline time t proves to be overdue, judged by how
// things stood before the message at hand.
func (u *Unit) raiseOverdue(t time.Time, m *lab.Message) {
	u.overrunDue(t, m)
	if u.phaseStillOn(m) {
		u.phaseDue(t)
	}
	u.fillSlowDue(t)
	u.readingDue(t, m)
	u.strandedDue(t, m)
}
