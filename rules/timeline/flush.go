package timeline

import (
	"context"
	"slices"
	"time"
)

// Flush folds what still waits behind a hole or in a backlog, as if its wait were
// over. It is for the end of a capture: no time passes, so that nothing is raised
// for time after the last arrival.
func (e *Engine) Flush(ctx context.Context, h History) (Changes, error) {
	for _, u := range slices.Clone(e.order) {
		w := e.units[u]
		if w == nil {
			continue
		}
		_ = e.guard(u, func() error { // no error can come: the store is not asked
			w.Arrivals.Backlog = time.Time{}
			// An hour is longer than any wait for a hole: what still waits in
			// the first pass does not in the next.
			for now := e.clock; w.Order.waiting(); now = now.Add(time.Hour) {
				w.release(now)
			}
			return nil
		})
	}
	return e.collect(ctx, h)
}
