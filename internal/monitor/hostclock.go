package monitor

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
// is done or the lab is no longer led from here.
func (l *leader) moveDue(life context.Context) {
	for {
		select {
		case <-life.Done():
			return
		case <-l.clockMoved:
		}
		for by := l.clockBy.Swap(0); by != 0; {
			ctx, cancel := context.WithTimeout(life, clockWithin)
			err := l.p.store.ClockSet(ctx, l.lease.Term(), time.Duration(by))
			cancel()
			if err == nil || lab.KindOf(err) == lab.KindConflict {
				break
			}
			l.p.log.Warn("what is due was not moved along with the clock; trying again", "error", err)
			select {
			case <-life.Done():
				return
			case <-time.After(clockRetry):
			}
			by += l.clockBy.Swap(0)
		}
		l.worker.Nudge("")
		if pages := l.pages.Load(); pages != nil {
			pages.Wake()
		}
	}
}

// clockSet is told by the worker that this machine's clock was set.
func (l *leader) clockSet(by time.Duration) {
	l.clockBy.Add(int64(by))
	select {
	case l.clockMoved <- struct{}{}:
	default:
	}
}
