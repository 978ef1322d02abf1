package service

import (
	"context"
	"errors"
	"sync"
)

// Runner runs one function in a goroutine of its own. Stop blocks, may be
// called twice and before Start; Done and Err say when it ended by itself, and
// why.
type Runner struct {
	run func(ctx context.Context) error

	mu      sync.Mutex
	cancel  context.CancelFunc
	started bool
	done    chan struct{}
	err     error
}

// NewRunner makes a Runner of run, which must return soon after its context
// ends. An error that run returns only because its context ended is none.
func NewRunner(run func(ctx context.Context) error) *Runner {
	return &Runner{run: run, done: make(chan struct{})}
}

// Start begins to run. The context of the run keeps the values of ctx but
// not its end: only Stop ends it.
func (r *Runner) Start(ctx context.Context) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.started {
		return errors.New("started already, or stopped before")
	}
	r.started = true
	ctx, r.cancel = context.WithCancel(context.WithoutCancel(ctx))
	go func() {
		defer close(r.done)
		err := r.run(ctx)
		if ctx.Err() != nil && errors.Is(err, context.Canceled) {
			err = nil
		}
		r.mu.Lock()
		r.err = err
		r.mu.Unlock()
	}()
	return nil
}

// Stop ends the run and waits for it.
func (r *Runner) Stop() {
	r.mu.Lock()
	if !r.started {
		r.started = true
		close(r.done)
	}
	cancel := r.cancel
	r.mu.Unlock()
	if cancel != nil {
		cancel()
	}
	<-r.done
}

// Done is closed when the run has ended.
func (r *Runner) Done() <-chan struct{} { return r.done }

// Err is why the run ended by itself; nil while it runs and after Stop.
func (r *Runner) Err() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.err
}
