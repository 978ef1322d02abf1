package timeline

import (
	"time"

	"wetside/internal/lab"
)

// setBackS is how far time may run back before it counts as set back, seconds.
// Below it somebody looked at the clock, and then waited for the database.
const setBackS = 30.0

// clockSet is the last time the monitor's own clock was set: what it showed
// before, and by how much it was moved.
type clockSet struct {
	before time.Time
	by     time.Duration
}

// recentS is for how long after the clock was set something that was stamped
// before may still come, seconds.
const recentS = 60.0

// ClockSet takes in that the clock by which arrivals are stamped was set, by
// so much; now is what it shows since. Everything that is counted on arrival
// moves along: it has not become older or younger by that. Silence would else
// be told of every unit at once, or of none until the old time comes again.
func (e *Engine) ClockSet(now time.Time, by time.Duration) {
	e.set = clockSet{now.Add(-by), by}
	e.moveArrivals(func(t time.Time) time.Time { return t.Add(by) }, by)
	e.clock = now
}

// pullBack takes in that time has gone back, by how much nobody knows: the
// clock was set while no monitor ran, or that of another machine goes on. What
// lies ahead of now is taken for now: nothing waits for a time long past to
// come again.
func (e *Engine) pullBack(now time.Time) {
	e.moveArrivals(func(t time.Time) time.Time {
		if t.After(now) {
			return now
		}
		return t
	}, 0)
	e.clock = now
}

func (e *Engine) moveArrivals(to func(time.Time) time.Time, by time.Duration) {
	move := func(t *time.Time) {
		if !t.IsZero() {
			*t = to(*t)
		}
	}
	move(&e.since)
	e.due = time.Time{}
	for _, w := range e.units {
		w.Arrivals.move(move, by)
		move(&w.Order.PauseEnd)
		for _, b := range w.Order.Boots {
			for _, m := range b.Pending {
				move(&m.Received)
			}
		}
	}
}

// move moves every arrival time that is kept.
func (a *arrivals) move(move func(*time.Time), by time.Duration) {
	for _, t := range []*time.Time{&a.Last, &a.From, &a.Will, &a.Offline, &a.Backlog, &a.BackT} {
		move(t)
	}
	for i := range a.Refused {
		move(&a.Refused[i])
	}
	a.LiveS, a.BackS, a.Base = a.LiveS+by.Seconds(), a.BackS+by.Seconds(), a.Base+by.Seconds()
	for i := range a.Lags {
		move(&a.Lags[i].T)
		a.Lags[i].S += by.Seconds()
	}
}

// received is when something arrived, by the clock as it goes now: it may have
// been stamped before that was set.
func (e *Engine) received(at time.Time) time.Time {
	s := e.set
	if s.by == 0 || at.After(s.before) || s.before.Sub(at) > lab.Seconds(recentS) {
		return at
	}
	moved := at.Add(s.by)
	if s.by < 0 && at.Sub(e.clock) < e.clock.Sub(moved) {
		return at // nearer to now as it is
	}
	return moved
}
