package rules

import (
	"math"
	"time"

	"wetside/internal/lab"
)

// timelineClock turns the times that a unit sends into timeline time: the same but
// for steps of the unit's clock, so that durations are right across them.
// Reported times are timeline time plus Shift: what the unit's clock says now.
type timelineClock struct {
	T     time.Time     `json:"t,omitzero"`
	Shift time.Duration `json:"shift,omitempty"`

	Boot string    `json:"boot,omitempty"`
	At   time.Time `json:"at,omitzero"`
	Recv time.Time `json:"recv,omitzero"`
	UpS  *float64  `json:"up_s,omitempty"`

	// The smallest received - at so far; it moves with the unit's clock. It is
	// what live messages have, and good to judge by, only once such messages
	// have arrived at the pace they were sent for a while: a backlog tells
	// nothing of it.
	LagS   float64 `json:"lag_s"`
	LagSet bool    `json:"lag_set,omitempty"`
	PaceS  float64 `json:"pace_s,omitempty"`
}

const (
	// stepSlackS is how far at and up_s, or at and the arrival, may disagree
	// before the clock counts as stepped. Below it times that run backwards
	// are jitter.
	stepSlackS = 2.0
	// livePaceS is how long messages must keep pace to be live, seconds.
	livePaceS = 10.0
	// paceSlackS is how unevenly live messages arrive at most, seconds.
	paceSlackS = 0.4
)

// advance takes the next message of the timeline.
func (c *timelineClock) advance(m *lab.Message) {
	if c.T.IsZero() {
		c.T, c.LagS = m.At, m.Received.Sub(m.At).Seconds()
	} else {
		next := m.At.Add(-c.Shift)
		if took, stepped := c.stepped(m); stepped {
			right := c.T.Add(took)
			moved := next.Sub(right)
			c.Shift, c.LagS = c.Shift+moved, c.LagS-moved.Seconds()
			next = right
		}
		c.T = lab.Later(c.T, next)
		c.pace(m)
	}
	c.Boot, c.At, c.Recv, c.UpS = m.Boot, m.At, m.Received, m.UpS
}

// stepped tells whether the unit's clock was set between the message before
// and this one, and how long really went by.
func (c *timelineClock) stepped(m *lab.Message) (took time.Duration, stepped bool) {
	dAt := m.At.Sub(c.At)
	if c.Boot == m.Boot && c.UpS != nil && m.UpS != nil {
		dUp := *m.UpS - *c.UpS
		return lab.Seconds(dUp), dUp >= 0 && math.Abs(dUp-dAt.Seconds()) > stepSlackS
	}
	dRecv := max(m.Received.Sub(c.Recv), 0)
	if dAt < -lab.Seconds(stepSlackS) {
		return dRecv, true // set back; the arrivals are all there is
	}
	// set forward: else it would have arrived before it was sent
	early := c.LagSet && m.Received.Sub(m.At).Seconds() < c.LagS-stepSlackS
	return dRecv, early && dAt > dRecv
}

// pace follows whether messages arrive as they are sent.
func (c *timelineClock) pace(m *lab.Message) {
	lag := m.Received.Sub(m.At).Seconds()
	c.LagS = min(c.LagS, lag)
	if c.LagSet {
		return
	}
	dAt, dRecv := m.At.Sub(c.At).Seconds(), m.Received.Sub(c.Recv).Seconds()
	switch {
	case dAt < 2*paceSlackS && math.Abs(dRecv) < 2*paceSlackS: // too close together to tell
		return
	case math.Abs(dRecv-dAt) > paceSlackS:
		c.PaceS = 0
		return
	}
	c.PaceS += dAt
	c.LagSet = c.PaceS >= livePaceS && lag < c.LagS+stepSlackS/2
}

// report gives a timeline time as the unit's clock shows it now.
func (c *timelineClock) report(t time.Time) time.Time {
	if t.IsZero() {
		return t
	}
	return t.Add(c.Shift)
}
