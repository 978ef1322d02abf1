package rules

import (
	"time"

	"wetside/internal/lab"
)

// noteGap says that messages of the timeline are missing before the next one.
func (u *Unit) noteGap(g lab.Gap) {
	u.s.GapNow = true
	if u.s.running() {
		u.s.Run.keepGap(g)
	}
}

// holeCountsS is how long a hole must be to count as a gap in the evidence,
// seconds.
const holeCountsS = 10

// silentInBathS is the longest that a unit sends nothing while film is in a
// bath, seconds: readings come every 5 s at least. After a longer silence the
// bath may have ended unnoticed, even where no seq is missing.
const silentInBathS = 30

// unitSilentInBath tells whether the unit sent nothing for so long right before
// the message at hand that a developer may have ended meanwhile.
func (u *Unit) unitSilentInBath(before time.Time) bool {
	s := u.s
	return !s.GapBoot && s.running() && s.Phase == lab.PhaseInBath && u.isDev(s.currentStep()) && s.Clock.T.Sub(before) > lab.Seconds(silentInBathS)
}

// noteHole notes a time of which no data was received, and what it may hide.
func (u *Unit) noteHole(from, to time.Time) {
	s := u.s
	if s.Unsure <= restarted {
		s.HoleT = from
	}
	if to.Sub(from) > lab.Seconds(holeCountsS) {
		u.dropHolds("") // what must last must be seen to last, without a hole in it
		s.Unsure = max(s.Unsure, longHole)
	} else {
		s.Unsure = max(s.Unsure, shortHole)
	}
	if !s.running() {
		return
	}
	s.Run.keepHole(hole{After: s.Run.reached(), S: to.Sub(from).Seconds()})
	if c := s.currentStep(); c != nil && s.Phase == lab.PhaseInBath && to.Sub(from) > lab.Seconds(holeCountsS) {
		c.Unheard = true
	}
}

// phaseStillOn tells whether a message proves that the phase before it has gone
// on until now. After a hole or a restart only a message of the same phase does.
func (u *Unit) phaseStillOn(m *lab.Message) bool {
	s := u.s
	return s.Unsure == nothingMissed || m.Step != nil && samePhase(s, m.Step) && s.Run != nil && m.Step.Run == s.Run.Name
}

func samePhase(s *state, st *lab.Step) bool {
	return s.Phase == st.Phase && s.PhaseN == st.N && s.PhaseStep == st.Step &&
		(st.Phase != lab.PhaseWaiting || s.WaitsFor == st.WaitsFor)
}

// noteRefusedPhase notes that a message was refused that may have told a change
// of phase: when the phase at hand began is not certain until the next one
// tells.
func (u *Unit) noteRefusedPhase() {
	if s := u.s; s.Heard && s.Unsure <= restarted {
		s.HoleT, s.Unsure = s.Clock.T, shortHole
	}
}
