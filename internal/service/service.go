// Package service starts the parts of a program in order and stops them in
// the reverse order, each within a time.
//
// A Group holds the parts. Start fails fast: when one part cannot start, those
// before it are stopped again. Stop blocks until all have stopped or used up
// their time; it may be called twice, or before Start. A Runner makes a part
// out of one function that runs until its context ends; whoever calls Stop or
// reads Done waits for its goroutine, so that none is left behind.
//
// Everything here is safe for concurrent use.
package service

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"
)

// Service is a part that can be started once and stopped. Stop blocks, may be
// called twice, and before Start.
type Service interface {
	Start(ctx context.Context) error
	Stop()
}

// Watched is a Service that says when it ended by itself, and why.
type Watched interface {
	Done() <-chan struct{}
	Err() error
}

// DefaultStopWithin is how long one part may take to stop.
const DefaultStopWithin = 10 * time.Second

// Group is a list of parts. The zero value is ready to use.
type Group struct {
	// StopWithin is how long each part may take to stop. Defaults to
	// DefaultStopWithin.
	StopWithin time.Duration

	mu      sync.Mutex
	parts   []part
	started int
	stopped bool
}

type part struct {
	name string
	Service
}

// Add appends a part. It starts after those added before it and stops before
// them. Add nothing after Start.
func (g *Group) Add(name string, s Service) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.parts = append(g.parts, part{name, s})
}

// Start starts the parts in order. On an error those that were started are
// stopped again. ctx bounds the starting, and the parts may outlive it only
// if they say so.
func (g *Group) Start(ctx context.Context) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.stopped {
		return errors.New("start after stop")
	}
	if g.started > 0 {
		return errors.New("started already")
	}
	for _, p := range g.parts {
		if err := p.Start(ctx); err != nil {
			err = fmt.Errorf("start %s: %w", p.name, err)
			return errors.Join(err, g.stopLocked())
		}
		g.started++
	}
	return nil
}

// Stop stops what was started, the last first, and waits for each. The error
// names the parts that did not stop in time; they are left running.
func (g *Group) Stop() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.stopLocked()
}

func (g *Group) stopLocked() error {
	g.stopped = true
	within := g.StopWithin
	if within <= 0 {
		within = DefaultStopWithin
	}
	var errs []error
	for ; g.started > 0; g.started-- {
		p := g.parts[g.started-1]
		if !stopWithin(p, within) {
			errs = append(errs, fmt.Errorf("stop %s: not within %v", p.name, within))
		}
	}
	return errors.Join(errs...)
}

// stopWithin stops a part and tells whether it was done in time.
func stopWithin(s Service, within time.Duration) bool {
	done := make(chan struct{})
	go func() {
		defer close(done)
		s.Stop()
	}()
	timer := time.NewTimer(within)
	defer timer.Stop()
	select {
	case <-done:
		return true
	case <-timer.C:
		return false
	}
}

// Wait blocks until ctx ends (nil) or one of the started parts that are
// Watched ends by itself: then the error names it.
func (g *Group) Wait(ctx context.Context) error {
	g.mu.Lock()
	parts := g.parts[:g.started:g.started]
	g.mu.Unlock()
	ctx, cancel := context.WithCancelCause(ctx)
	var wg sync.WaitGroup
	for _, p := range parts {
		w, ok := p.Service.(Watched)
		if !ok {
			continue
		}
		wg.Go(func() {
			select {
			case <-w.Done():
				cancel(ended{p.name, w.Err()})
			case <-ctx.Done():
			}
		})
	}
	<-ctx.Done()
	cause := context.Cause(ctx)
	cancel(nil)
	wg.Wait()
	if e, ok := errors.AsType[ended](cause); ok {
		return e
	}
	return nil
}

// ended says that a part ended by itself.
type ended struct {
	name string
	err  error
}

func (e ended) Error() string {
	if e.err == nil {
		return e.name + " ended"
	}
	return fmt.Sprintf("%s ended: %v", e.name, e.err)
}

func (e ended) Unwrap() error { return e.err }
