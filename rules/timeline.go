package rules

import (
	"math"
	"time"

	"wetside/internal/lab"
)

// clock turns the times that a unit sends into timeline time: the same but
// for steps of the unit's clock, so that durations are right across them.
// Reported times are timeline time plus Shift: what the unit's clock says now.
type clock struct {
	T     time.Time     `json:"t,omitzero"`
	Shift time.Duration `json:"shift,omitempty"`

	Boot   string    `json:"boot,omitempty"`
	At     time.Time `json:"at,omitzero"`
	Recv   time.Time `json:"recv,omitzero"`
	UpS    *float64  `json:"up_s,omitempty"`
	LagS   float64   `json:"lag_s"` // smallest received - at of this boot so far
	LagSet bool      `json:"lag_set,omitempty"`
}

// stepSlackS is how far at and up_s, or at and the arrival, may disagree
// before the clock counts as stepped.
const stepSlackS = 2.0

// advance takes the next message of the timeline.
func (c *clock) advance(m *lab.Message) {
	if c.T.IsZero() {
		c.T = m.At
	} else {
		step := c.elapsed(m)
		next := c.T.Add(step)
		c.Shift = m.At.Sub(next)
		c.T = next
	}
	if c.Boot != m.Boot {
		c.LagSet = false
	}
	lag := m.Received.Sub(m.At).Seconds()
	if !c.LagSet || lag < c.LagS {
		c.LagS, c.LagSet = lag, true
	}
	c.Boot, c.At, c.Recv, c.UpS = m.Boot, m.At, m.Received, m.UpS
}

// elapsed is how long after the message before it this one was sent.
func (c *clock) elapsed(m *lab.Message) time.Duration {
	dAt := m.At.Sub(c.At)
	if c.Boot == m.Boot && c.UpS != nil && m.UpS != nil {
		dUp := *m.UpS - *c.UpS
		if dUp >= 0 && math.Abs(dUp-dAt.Seconds()) > stepSlackS {
			return sec(dUp) // the clock was set in between
		}
		return max(dAt, 0)
	}
	dRecv := max(m.Received.Sub(c.Recv), 0)
	switch {
	case dAt < 0:
		return dRecv // set back; the arrivals are all there is
	case c.LagSet && m.Received.Sub(m.At).Seconds() < c.LagS-stepSlackS && dAt > dRecv:
		return dRecv // set forward: else it would have arrived before it was sent
	}
	return dAt
}

// report gives a timeline time as the unit's clock shows it now.
func (c *clock) report(t time.Time) time.Time {
	if t.IsZero() {
		return t
	}
	return t.Add(c.Shift)
}
