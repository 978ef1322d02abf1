package rules

import (
	"time"

	"wetside/internal/lab"
)

// moved is what people did to a container, as its probe showed it: a level that
// changed faster than any leak while no pump ran.
type moved struct {
	FromL float64   `json:"from_l"`
	ToL   float64   `json:"to_l"`
	FromT time.Time `json:"from_t"` // the last reading before
	T     time.Time `json:"t"`      // the last that belongs to it
	Said  bool      `json:"said,omitempty"`
}

// movedS is for how long readings that go on in the same direction are the same
// doing, seconds.
const movedS = 180

// noteMoved notes that people filled or emptied the container. It is called with
// the estimate still as it was before.
func (t *tank) noteMoved(l float64, now time.Time) {
	m := t.Moved
	if m != nil && now.Sub(m.FromT).Seconds() <= movedS && (m.ToL-m.FromL)*(l-m.ToL) > 0 {
		m = &moved{FromL: m.FromL, FromT: m.FromT, Said: m.Said}
	} else {
		m = &moved{FromL: t.best(), FromT: t.EstT}
	}
	m.ToL, m.T = max(0, l), now
	t.Moved = m
}

// answerMoved notes that a person said what was done.
func (t *tank) answerMoved() {
	if m := t.Moved; m != nil && !m.Said {
		said := *m
		said.Said = true
		t.Moved = &said
	}
}

// A fall by thirdOf of what was in it asks; one that leaves at most emptyShare of
// the capacity behind is an emptying. It is asked for askS.
const (
	thirdOf    = 1. / 3
	emptyShare = 0.05
	askS       = 3600
)

// changedView is what people did to a container, as it is shown.
func (u *Unit) changedView(t *tank, capacity float64, now time.Time) *lab.LevelChange {
	m := t.Moved
	if m == nil {
		return nil
	}
	v := &lab.LevelChange{FromL: lab.Round(m.FromL, 2), ToL: lab.Round(m.ToL, 2), At: lab.At(u.s.Clock.report(m.T)),
		Within: lab.Round(m.T.Sub(m.FromT).Seconds(), 0), What: lab.LooksToppedUp}
	if fell := m.FromL - m.ToL; fell > 0 {
		v.What, v.Ask = lab.LooksLowered, !m.Said && fell >= thirdOf*m.FromL && now.Sub(v.At.Time) < lab.Seconds(askS)
		if m.ToL <= max(emptyShare*capacity, emptyL) {
			v.What = lab.LooksEmptied
		}
	}
	return v
}
