package timeline

import (
	"time"

	"wetside/internal/lab"
)

// setBackS is how far the time given to Tick may lie before the last arrival until
// the clock counts as set back, seconds. A little is usual: the time is taken
// first, and the database may then take a while to give newer arrivals.
const setBackS = 30.0

// clockSet is the last time the monitor's own clock was set: what it showed
// before, and by how much it was moved.
type clockSet struct {
	before time.Time
	by     time.Duration
}

// recentS is for how long after the clock was set arrivals may come that were
// stamped before, seconds.
const recentS = 60.0

// ClockSet tells that the monitor's clock, by which arrivals are stamped, was set
// by so much; now is what it shows since. All arrival times that are kept move
// with it. Otherwise every unit would count as silent at once, or none until the
// old time comes again.
func (e *Engine) ClockSet(now time.Time, by time.Duration) {
	e.set = clockSet{now.Add(-by), by}
	e.moveArrivals(func(t time.Time) time.Time { return t.Add(by) }, by)
	e.clock = now
}

// pullBack notices that the monitor's clock has gone back by an unknown amount: it
// was set while no monitor ran, or another machine took over. Arrival times that
// lie ahead of now are taken for now, so that nothing waits for them to come
// again.
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
	for _, u := range e.units {
		u.Arrivals.move(move, by)
		move(&u.Order.PauseEnd)
		for _, b := range u.Order.Boots {
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

// received is when something arrived, by the clock as it is set now: it may have
// been stamped before the clock was set.
func (e *Engine) received(at time.Time) time.Time {
	s := e.set
	if s.by == 0 || at.After(s.before) || s.before.Sub(at) > lab.Seconds(recentS) {
		return at
	}
	moved := at.Add(s.by)
	if s.by < 0 && at.Sub(e.clock) < e.clock.Sub(moved) {
		return at // unmoved it is nearer to now: it was stamped after
	}
	return moved
}
