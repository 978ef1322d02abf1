package rules

import (
	"math"
	"time"

	"wetside/internal/lab"
)

// timelineClock turns the times that a unit sends into timeline time. Where the
// unit's clock is set, timeline time goes on evenly, so that durations are right
// across it; Shift is by how much the unit's clock then shows more. What people
// read is in the unit's own time, timeline time plus Shift.
type timelineClock struct {
	T     time.Time     `json:"t,omitzero"`
	Shift time.Duration `json:"shift,omitempty"`

	Boot string    `json:"boot,omitempty"`
	At   time.Time `json:"at,omitzero"`
	Recv time.Time `json:"recv,omitzero"`
	UpS  *float64  `json:"up_s,omitempty"`

	// LagS is the smallest difference so far between when a message arrived and
	// when it was sent by the unit's clock. A message with a smaller one shows
	// that the clock was set forward. LagSet: it can be relied on, since messages
	// have come live for a while; in a backlog they all come late.
	LagS   float64 `json:"lag_s"`
	LagSet bool    `json:"lag_set,omitempty"`
	PaceS  float64 `json:"pace_s,omitempty"`
}

const (
	// stepSlackS is how far the unit's time may differ from its up_s, or from
	// the arrivals, before its clock counts as set, seconds. Times that run
	// back by less are jitter.
	stepSlackS = 2.0
	// livePaceS is for how long messages must arrive at the pace at which they
	// were sent to count as live, seconds.
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
		return dRecv, true // set back: only the arrivals tell how much time passed
	}
	// set forward: else it would have arrived before it was sent
	early := c.LagSet && m.Received.Sub(m.At).Seconds() < c.LagS-stepSlackS
	return dRecv, early && dAt > dRecv
}

// pace follows whether messages arrive at the pace at which they were sent.
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

// report is a timeline time in the unit's own time, as its clock shows it now.
func (c *timelineClock) report(t time.Time) time.Time {
	if t.IsZero() {
		return t
	}
	return t.Add(c.Shift)
}
