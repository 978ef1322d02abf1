package timeline

import (
	"context"
	"slices"
	"time"
)

// Flush folds what still waits for its turn, behind a hole or in a backlog,
// as if its wait were over, and lets no time pass: nothing is judged that the
// last arrival does not prove. It is for the end of a capture.
func (e *Engine) Flush(ctx context.Context, h History) (Changes, error) {
	for _, u := range slices.Clone(e.order) {
		w := e.units[u]
		if w == nil {
			continue
		}
		_ = e.guard(u, func() error { // it reads nothing from the store
			w.Arrivals.Backlog = time.Time{}
			// Each look ends the wait for one hole: it begins with the first look
			// and is over by the second.
			for now := e.clock; w.Order.waiting(); now = now.Add(time.Hour) {
				w.release(now)
			}
			return nil
		})
	}
	return e.collect(ctx, h)
}
