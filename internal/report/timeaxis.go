package report

import (
	"cmp"
	"slices"
	"time"

	"wetside/internal/lab"
)

// timedMessage is what a trace needs of a message, with its time on the run's
// own axis. It is small, since a run may have a great many.
type timedMessage struct {
	Boot         string
	Seq, Arrival int64
	At, Received time.Time
	UpS          *float64
	T            time.Time
	Step         *lab.Step
	Temp         *lab.Temp
	Motion       *lab.Motion
}

// runMessages collects the messages of a run.
type runMessages struct{ messages []timedMessage }

// add takes a message. A will and a retained copy have no place in it.
func (c *runMessages) add(m *lab.Message) {
	if m.Will || m.Retained {
		return
	}
	c.messages = append(c.messages, timedMessage{Boot: m.Boot, Seq: m.Seq, Arrival: m.Arrival, At: m.At, Received: m.Received, UpS: m.UpS,
		Step: m.Step, Temp: m.Temp, Motion: m.Motion})
}

// clockSetLeast is how far a unit's clock may disagree with the other evidence
// before it counts as set.
const clockSetLeast = 2 * time.Second

// onTimeAxis puts the run's messages in the order of the unit's timeline (boots by
// first arrival, then seq; copies left out) and gives each its time on one
// axis: the unit's clock as it stood at the end, with steps of that clock
// taken out, so that durations are right.
func (c *runMessages) onTimeAxis(runName string) []timedMessage {
	list := c.inTimelineOrder()
	first, last := -1, -1
	for i, m := range list {
		if m.Step != nil && m.Step.Run == runName {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	if first < 0 {
		return nil
	}
	var shift time.Duration
	for i := first; i <= last; i++ {
		m := &list[i]
		m.T = m.At.Add(-shift)
		if i == first {
			continue
		}
		before := &list[i-1]
		if took, ok := clockWasSet(before, m); ok {
			right := before.T.Add(took)
			shift += m.T.Sub(right)
			m.T = right
		}
		if m.T.Before(before.T) {
			m.T = before.T
		}
	}
	list = list[first : last+1]
	for i := range list {
		list[i].T = list[i].T.Add(shift)
	}
	return list
}

// clockWasSet tells whether the unit's clock was set between two messages, and
// how long really went by.
func clockWasSet(a, b *timedMessage) (took time.Duration, ok bool) {
	dAt := b.At.Sub(a.At)
	if a.Boot == b.Boot && a.UpS != nil && b.UpS != nil {
		dUp := time.Duration((*b.UpS - *a.UpS) * float64(time.Second))
		return dUp, dUp >= 0 && (dUp-dAt).Abs() > clockSetLeast
	}
	if dAt < -clockSetLeast {
		return max(b.Received.Sub(a.Received), 0), true
	}
	return 0, false
}

// inTimelineOrder sorts the messages into the order of the unit's timeline, in
// place.
func (c *runMessages) inTimelineOrder() []timedMessage {
	list := c.messages
	slices.SortStableFunc(list, func(a, b timedMessage) int {
		return cmp.Or(cmp.Compare(a.Arrival, b.Arrival), a.Received.Compare(b.Received))
	})
	boots := map[string]int{}
	for i := range list {
		if _, ok := boots[list[i].Boot]; !ok {
			boots[list[i].Boot] = len(boots)
		}
	}
	slices.SortStableFunc(list, func(a, b timedMessage) int {
		return cmp.Or(cmp.Compare(boots[a.Boot], boots[b.Boot]), cmp.Compare(a.Seq, b.Seq))
	})
	return slices.CompactFunc(list, func(a, b timedMessage) bool { return a.Boot == b.Boot && a.Seq == b.Seq })
}
