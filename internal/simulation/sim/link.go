package sim

import (
	"container/heap"
	"math/rand/v2"
	"time"

	"wetside/internal/lab"
)

// event is what a delivery is: a message, or a change of the connection that
// the real-time publisher must follow.
type event uint8

const (
	evMessage event = iota
	evWill          // the broker publishes the last will: the unit is cut off
	evConnect       // the unit connects
)

// delivery is one thing on its way to the broker.
type delivery struct {
	raw   lab.Raw
	unit  int
	event event
	order int64
}

// queue holds deliveries by the moment at which they reach the broker.
type queue struct {
	items []delivery
	next  int64
}

func (q *queue) Len() int      { return len(q.items) }
func (q *queue) Swap(i, j int) { q.items[i], q.items[j] = q.items[j], q.items[i] }
func (q *queue) Push(x any)    { q.items = append(q.items, x.(delivery)) }
func (q *queue) Less(i, j int) bool {
	a, b := &q.items[i], &q.items[j]
	if !a.raw.Received.Equal(b.raw.Received) {
		return a.raw.Received.Before(b.raw.Received)
	}
	return a.order < b.order
}
func (q *queue) Pop() any {
	last := q.items[len(q.items)-1]
	q.items = q.items[:len(q.items)-1]
	return last
}

func (q *queue) put(d delivery) {
	d.order = q.next
	q.next++
	heap.Push(q, d)
}

// before takes the first delivery out, if it arrives by then.
func (q *queue) before(to time.Time) (delivery, bool) {
	if len(q.items) == 0 || q.items[0].raw.Received.After(to) {
		return delivery{}, false
	}
	return heap.Pop(q).(delivery), true
}

// disturbance is what the network does to messages now.
type disturbance struct {
	copies, late, swap float64 // odds, 0..1
	lateBy             time.Duration
}

// link is a unit's network. While it is up, messages arrive in order and after a
// short delay; while it is cut, they are kept for later or lost.
type link struct {
	out    *queue
	net    *rand.Rand
	unit   int
	topic  string // of the status, where the will goes
	grace  time.Duration
	up     bool
	keeps  bool // what is sent while cut is kept
	buffer []lab.Raw
	last   time.Time // when the last message arrived
	cutAt  time.Time
	willed bool
	lost   int // messages that were lost in cuts
}

const maxBuffer = 20000 // messages; the oldest go first

// send gives a message to the network.
func (l *link) send(now time.Time, raw lab.Raw, m disturbance) {
	if !l.up {
		switch {
		case !l.keeps:
			l.lost++
		case len(l.buffer) >= maxBuffer:
			l.lost++
			l.buffer = append(l.buffer[1:], raw)
		default:
			l.buffer = append(l.buffer, raw)
		}
		return
	}
	l.pass(now, raw, time.Millisecond)
	l.disturb(raw, m)
}

// pass delivers a message in order.
func (l *link) pass(now time.Time, raw lab.Raw, gap time.Duration) {
	at := now.Add(time.Duration(between(l.net, 12, 70) * float64(time.Millisecond)))
	if least := l.last.Add(gap); at.Before(least) {
		at = least
	}
	l.last = at.Truncate(time.Millisecond)
	raw.Received = l.last
	l.out.put(delivery{raw: raw, unit: l.unit})
}

// disturb adds a copy of what was just passed, or moves it behind what comes
// after it.
func (l *link) disturb(raw lab.Raw, m disturbance) {
	if m.copies == 0 && m.late == 0 && m.swap == 0 {
		return
	}
	raw.Received = l.last
	switch x := l.net.Float64(); {
	case x < m.copies:
		raw.Received = l.last.Add(time.Duration(between(l.net, 1, 4000)) * time.Millisecond)
		l.out.put(delivery{raw: raw, unit: l.unit})
	case x < m.copies+m.late:
		l.delay(m.lateBy)
	case x < m.copies+m.late+m.swap:
		l.delay(time.Duration(between(l.net, 300, 3000)) * time.Millisecond)
	}
}

// delay holds the newest delivery of this unit back.
func (l *link) delay(by time.Duration) {
	for i := range l.out.items {
		if l.out.items[i].order == l.out.next-1 {
			l.out.items[i].raw.Received = l.out.items[i].raw.Received.Add(by)
			heap.Fix(l.out, i)
			return
		}
	}
}

// cut takes the network away.
func (l *link) cut(now time.Time, keeps bool) {
	if !l.up {
		l.keeps = l.keeps && keeps
		return
	}
	l.up, l.keeps, l.cutAt, l.willed = false, keeps, now, false
}

// tick lets the broker notice that the unit is gone.
func (l *link) tick(now time.Time) {
	if l.up || l.willed || l.cutAt.IsZero() || now.Sub(l.cutAt) < l.grace {
		return
	}
	l.willed = true
	if now.After(l.last) {
		l.last = now
	}
	l.out.put(delivery{raw: lab.Raw{Topic: l.topic, Payload: will, Received: l.last}, unit: l.unit, event: evWill})
}

// connect brings the network back. What was kept goes first, oldest first.
func (l *link) connect(now time.Time) {
	l.up, l.willed = true, false
	if now.After(l.last) {
		l.last = now
	}
	l.out.put(delivery{raw: lab.Raw{Topic: l.topic, Received: l.last}, unit: l.unit, event: evConnect})
	for _, raw := range l.buffer {
		l.pass(now, raw, 8*time.Millisecond)
	}
	l.buffer = nil
}
