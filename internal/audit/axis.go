package audit

import (
	"cmp"
	"slices"
	"time"

	"wetside/internal/lab"
)

// moment is a message with its time on the run's own axis.
type moment struct {
	*lab.Message
	T time.Time
}

// axisSlack is how far a unit's clock may disagree with the other evidence
// before it counts as set.
const axisSlack = 2 * time.Second

// along puts the run's messages in the order of the unit's timeline (boots by
// first arrival, then seq; copies left out) and gives each its time on one
// axis: the unit's clock as it stood at the end, with steps of that clock
// taken out, so that durations are right.
func along(messages []lab.Message, runName string) []moment {
	list := inOrder(messages)
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
		if took, ok := setClock(before.Message, m.Message); ok {
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

// setClock tells whether the unit's clock was set between two messages, and
// how long really went by.
func setClock(a, b *lab.Message) (took time.Duration, ok bool) {
	dAt := b.At.Sub(a.At)
	if a.Boot == b.Boot && a.UpS != nil && b.UpS != nil {
		dUp := time.Duration((*b.UpS - *a.UpS) * float64(time.Second))
		return dUp, dUp >= 0 && (dUp-dAt).Abs() > axisSlack
	}
	if dAt < -axisSlack {
		return max(b.Received.Sub(a.Received), 0), true
	}
	return 0, false
}

func inOrder(messages []lab.Message) []moment {
	byArrival := make([]*lab.Message, 0, len(messages))
	for i := range messages {
		if m := &messages[i]; !m.Will && !m.Retained {
			byArrival = append(byArrival, m)
		}
	}
	slices.SortStableFunc(byArrival, func(a, b *lab.Message) int {
		return cmp.Or(cmp.Compare(a.Arrival, b.Arrival), a.Received.Compare(b.Received))
	})
	boots := map[string]int{}
	list := make([]moment, 0, len(byArrival))
	for _, m := range byArrival {
		if _, ok := boots[m.Boot]; !ok {
			boots[m.Boot] = len(boots)
		}
		list = append(list, moment{Message: m})
	}
	slices.SortStableFunc(list, func(a, b moment) int {
		return cmp.Or(cmp.Compare(boots[a.Boot], boots[b.Boot]), cmp.Compare(a.Seq, b.Seq))
	})
	return slices.CompactFunc(list, func(a, b moment) bool { return a.Boot == b.Boot && a.Seq == b.Seq })
}
