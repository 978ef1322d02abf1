package timeline

import (
	"context"
	"time"
)

// Flush folds what still waits behind a hole or in a backlog, as if its wait were
// over. It is for the end of a capture: no time passes, so that nothing is raised
// for time after the last arrival.
func (e *Engine) Flush(ctx context.Context, h History) (Changes, error) {
	for _, id := range e.byName {
		u := e.units[id]
		if u == nil {
			continue
		}
		_ = e.guard(id, func() error { // no error can come: the store is not asked
			u.Arrivals.Backlog = time.Time{}
			// An hour is longer than any wait for a hole: what still waits in
			// the first pass does not in the next.
			for now := e.clock; u.Order.waiting(); now = now.Add(time.Hour) {
				u.release(now)
			}
			return nil
		})
	}
	return e.collect(ctx, h)
}
