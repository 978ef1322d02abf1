package rules

import (
	"context"
	"time"
)

// Flush folds what still waits for its turn, behind a hole or in a backlog,
// as if its wait were over, and lets no time pass: nothing is judged that the
// last arrival does not prove. It is for the end of a capture.
func (e *Engine) Flush(ctx context.Context, h History) (Changes, error) {
	for _, u := range e.order {
		w := e.units[u]
		w.Arr.Backlog = time.Time{}
		// Each look ends the wait for one hole: it begins with the first look
		// and is over by the second.
		for now := e.clock; w.Order.waiting(); now = now.Add(time.Hour) {
			w.release(now)
		}
	}
	return e.collect(ctx, h)
}
