package ingest

import (
	"slices"
	"sync"
	"time"

	"wetside/internal/lab"
)

// item is one received message on its way to the store.
type item struct {
	raw  lab.Raw
	came time.Time // monotonic, for the lag
	link *link
	ack  func()
	// again: unacknowledged, the broker sends it again (QoS 1).
	again bool
}

// queue holds what was received and not yet committed, bounded by count and
// bytes, what the writer has in hand included. push refuses what would not fit.
type queue struct {
	maxItems, maxBytes int

	mu       sync.Mutex
	items    []item
	hand     []item // what take gave and done has not returned
	bytes    int
	closed   bool
	wake     chan struct{}
	room     chan struct{} // coalescing: something was taken out
	lastPush time.Time
}

func newQueue(maxItems, maxBytes int) *queue {
	return &queue{maxItems: maxItems, maxBytes: maxBytes, wake: make(chan struct{}, 1), room: make(chan struct{}, 1)}
}

// push never blocks; it tells whether there was room.
func (q *queue) push(it item) bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	size := len(it.raw.Payload) + len(it.raw.Topic)
	held := len(q.items) + len(q.hand)
	if q.closed || held >= q.maxItems || q.bytes+size > q.maxBytes && held > 0 {
		return false
	}
	q.items = append(q.items, it)
	q.bytes += size
	q.lastPush = it.came
	signal(q.wake)
	return true
}

// take waits for messages and gives up to most of them, in order; nil when
// the queue is closed and empty.
func (q *queue) take(most int) []item {
	for {
		q.mu.Lock()
		if n := min(most, len(q.items)); n > 0 {
			q.hand = append([]item(nil), q.items[:n]...)
			rest := copy(q.items, q.items[n:])
			clear(q.items[rest:])
			q.items = q.items[:rest]
			q.mu.Unlock()
			return q.hand
		}
		closed := q.closed
		q.mu.Unlock()
		if closed {
			return nil
		}
		<-q.wake
	}
}

// done says that what take gave is committed.
func (q *queue) done() {
	q.mu.Lock()
	defer q.mu.Unlock()
	for _, it := range q.hand {
		q.bytes -= len(it.raw.Payload) + len(it.raw.Topic)
	}
	q.hand = nil
	signal(q.room)
}

// forget takes out what came over a link that is gone and was not begun: the
// broker sends it again. Storing it first would put work that can no longer be
// acknowledged before work that can, and with a store that stumbles the
// service would then go round in circles.
func (q *queue) forget(l *link) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.items = slices.DeleteFunc(q.items, func(it item) bool {
		if it.link != l || !it.again {
			return false
		}
		q.bytes -= len(it.raw.Payload) + len(it.raw.Topic)
		return true
	})
	signal(q.room)
}

// close ends intake; take still gives what is there.
func (q *queue) close() {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.closed = true
	signal(q.wake)
}

// held gives the number and bytes of the messages held, since when the oldest
// waits (zero: none) and when the last one came.
func (q *queue) held() (n, bytes int, oldest, last time.Time) {
	q.mu.Lock()
	defer q.mu.Unlock()
	switch {
	case len(q.hand) > 0:
		oldest = q.hand[0].came
	case len(q.items) > 0:
		oldest = q.items[0].came
	}
	return len(q.items) + len(q.hand), q.bytes, oldest, q.lastPush
}

// signal leaves a coalescing hint in a channel of capacity 1.
func signal(ch chan struct{}) {
	select {
	case ch <- struct{}{}:
	default:
	}
}
