package delivery

import (
	"context"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"wetside/internal/lab"
)

// Bounds of a call without the store.
const (
	callMost   = 5                // people
	callWithin = 20 * time.Second // all tries to one of them
)

// CallNow calls those on call at once, from what was last known of duty and
// contact methods: for when the database is away, where pages wait otherwise.
// It reads and writes nothing, may be used after Stop, and gives how many
// people were reached. Who works in the dark is left alone, unless nobody else
// can be reached.
func (w *Worker) CallNow(ctx context.Context, priority lab.Priority, title, text string) int {
	now := w.now()
	var reached atomic.Int32
	var wg sync.WaitGroup
	for _, person := range w.callable(now) {
		m := lab.PageMessage{ID: newID(), Person: person, Priority: priority, CreatedAt: now, Tries: 1,
			Body: lab.PageBody{Title: title, Text: text, Link: w.address(), Topic: topic("monitor"), Items: []lab.PageItem{}}}
		wg.Go(func() {
			ctx, cancel := context.WithTimeout(ctx, callWithin)
			defer cancel()
			c := w.contactsOf(person)
			for _, method := range w.usable(c) {
				d, _ := w.one(ctx, method, c, m)
				if d.Outcome == lab.OutcomeSent {
					reached.Add(1)
					return
				}
				w.cfg.Log.Warn("a call without the database was not taken", "person", person, "way", method, "why", d.Detail)
			}
		})
	}
	wg.Wait()
	return int(reached.Load())
}

// callable lists who is called without the store: those on call, else all who
// can be reached; who works in the dark only where there is nobody else.
func (w *Worker) callable(now time.Time) []string {
	d := w.duty(now)
	can := func(p string) bool { return slices.Contains(d.Reachable, p) }
	lit := func(p string) bool { return can(p) && !d.Dark[p].After(now) }
	for _, choice := range []struct {
		from []string
		ok   func(string) bool
	}{{d.On, lit}, {d.Reachable, lit}, {d.On, can}, {d.Reachable, can}} {
		who := slices.DeleteFunc(slices.Clone(choice.from), func(p string) bool { return !choice.ok(p) })
		if len(who) > 0 {
			return who[:min(len(who), callMost)]
		}
	}
	return nil
}
