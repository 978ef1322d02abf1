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

// holeCountsS is the longest hole, in seconds, that is no gap in the evidence.
const holeCountsS = 10

// silentInBathS is the longest a unit says nothing in the bath, seconds: readings come
// every 5 s at least. One that was mute longer may have ended it unheard.
const silentInBathS = 30

// unitSilentInBath tells whether the unit said nothing for so long right before the
// message in hand that a developer may have ended meanwhile.
func (u *Unit) unitSilentInBath(before time.Time) bool {
	s := u.s
	return !s.GapBoot && s.running() && s.Phase == lab.PhaseInBath && u.isDev(s.cur()) && s.Clock.T.Sub(before) > lab.Seconds(silentInBathS)
}

// noteHole keeps what a hole may have hidden.
func (u *Unit) noteHole(from, to time.Time) {
	s := u.s
	if s.Unsure <= restarted {
		s.HoleT = from
	}
	if to.Sub(from) > lab.Seconds(holeCountsS) {
		u.drop("") // a hold wants readings one after the other
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
func (u *Unit) phaseStillOn(m *lab.Message) bool {
	s := u.s
	return s.Unsure == sure || m.Step != nil && samePhase(s, m.Step) && s.Run != nil && m.Step.Run == s.Run.Name
}

func samePhase(s *state, st *lab.Step) bool {
	return s.Phase == st.Phase && s.PhaseN == st.N && s.PhaseStep == st.Step &&
		(st.Phase != lab.PhaseWaiting || s.WaitsFor == st.WaitsFor)
}

// noteRefusedPhase says that a message was refused which may have said a phase: when
// the phase in hand began is not certain until the next one says.
func (u *Unit) noteRefusedPhase() {
	if s := u.s; s.Heard && s.Unsure <= restarted {
		s.HoleT, s.Unsure = s.Clock.T, shortHole
	}
}
