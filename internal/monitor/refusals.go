package monitor

import (
	"context"
	"log/slog"
	"time"

	"wetside/internal/lab"
)

// refusals brings what the embedded broker did not let in to the database. It
// is told of strangers too, so it never blocks and drops what is too much.
type refusals struct {
	keep func(context.Context, []lab.Refusal) error
	log  *slog.Logger
	in   chan lab.Refusal
	stop chan struct{}
	done chan struct{}
}

const (
	refusalsWaiting = 256
	refusalsEvery   = 200 * time.Millisecond
)

func newRefusals(keep func(context.Context, []lab.Refusal) error, log *slog.Logger) *refusals {
	r := &refusals{keep: keep, log: log, in: make(chan lab.Refusal, refusalsWaiting), stop: make(chan struct{}), done: make(chan struct{})}
	go r.run()
	return r
}

// add takes one in; it may be called from any goroutine.
func (r *refusals) add(one lab.Refusal) {
	select {
	case r.in <- one:
	default: // the log has it
	}
}

func (r *refusals) run() {
	defer close(r.done)
	for {
		select {
		case one := <-r.in:
			r.write(r.gather(one))
		case <-r.stop:
			return
		}
	}
}

// gather waits a moment for more and counts alike ones together.
func (r *refusals) gather(first lab.Refusal) []lab.Refusal {
	type key struct {
		unit               lab.UnitID
		what, reason, from string
	}
	list, at := []lab.Refusal{first}, map[key]int{{first.Unit, first.What, first.Reason, first.From}: 0}
	enough := time.NewTimer(refusalsEvery)
	defer enough.Stop()
	for {
		select {
		case one := <-r.in:
			k := key{one.Unit, one.What, one.Reason, one.From}
			if i, ok := at[k]; ok {
				list[i].Count += one.Count
				list[i].LastAt = one.LastAt
				continue
			}
			at[k] = len(list)
			list = append(list, one)
		case <-enough.C:
			return list
		case <-r.stop:
			return list
		}
	}
}

func (r *refusals) write(list []lab.Refusal) {
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	if err := r.keep(ctx, list); err != nil {
		r.log.Warn("what the broker refused is not on the units' pages", "refusals", len(list), "error", err)
	}
}

// close ends it; what was not written yet stands in the log.
func (r *refusals) close() {
	close(r.stop)
	<-r.done
}
