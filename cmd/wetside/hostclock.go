package main

import (
	"context"
	"time"

	"wetside/internal/lab"
)

const (
	clockWithin = 10 * time.Second // one try to move what is due
	clockRetry  = time.Second
)

// moveDue moves what is due along when this machine's clock was set, until it
// is done or the term has ended.
func (t *term) moveDue(life context.Context) {
	for {
		select {
		case <-life.Done():
			return
		case <-t.clockMoved:
		}
		for by := t.clockBy.Swap(0); by != 0; {
			ctx, cancel := context.WithTimeout(life, clockWithin)
			err := t.p.store.ClockSet(ctx, t.lease.Term(), time.Duration(by))
			cancel()
			if err == nil || lab.KindOf(err) == lab.KindConflict {
				break
			}
			t.p.log.Warn("what is due was not moved along with the clock; trying again", "error", err)
			select {
			case <-life.Done():
				return
			case <-time.After(clockRetry):
			}
			by += t.clockBy.Swap(0)
		}
		t.worker.Nudge("")
		if pages := t.pages.Load(); pages != nil {
			pages.Wake()
		}
	}
}

// clockSet is told by the worker that this machine's clock was set.
func (t *term) clockSet(by time.Duration) {
	t.clockBy.Add(int64(by))
	select {
	case t.clockMoved <- struct{}{}:
	default:
	}
}
