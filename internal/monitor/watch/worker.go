package watch

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"wetside/internal/lab"
	"wetside/internal/service"
)

// Worker folds what arrives. Make it with New.
type Worker struct {
	*service.Runner
	cfg     Config
	rebuilt atomic.Bool
	shown   shown
	looped  atomic.Int64           // when the loop last went round, in ns
	trouble atomic.Pointer[string] // why it does not; nil: it does

	nudge  chan struct{} // coalesces: the ids are in nudged
	mu     sync.Mutex
	nudged map[string]struct{}
	reread bool
}

// New makes a Worker.
func New(cfg Config) (*Worker, error) {
	if err := cfg.complete(); err != nil {
		return nil, err
	}
	w := &Worker{cfg: cfg, nudge: make(chan struct{}, 1), nudged: map[string]struct{}{}}
	w.Runner = service.NewRunner(w.run)
	return w, nil
}

// Rebuilt tells whether all that was stored has been folded since the start
// or the last failed write.
func (w *Worker) Rebuilt() bool { return w.rebuilt.Load() }

// Looped is when the worker last went round its loop with nothing failing;
// zero before that.
func (w *Worker) Looped() time.Time {
	ns := w.looped.Load()
	if ns == 0 {
		return time.Time{}
	}
	return time.Unix(0, ns).UTC()
}

// Still tells since when the worker has not gone round its loop, and why where
// that is known; zero where it has done so within the last second, or never
// yet.
func (w *Worker) Still(now time.Time) (since time.Time, why string) {
	at := w.Looped()
	if at.IsZero() || now.Sub(at) < time.Second {
		return time.Time{}, ""
	}
	if p := w.trouble.Load(); p != nil {
		why = *p
	}
	return at, why
}

// Nudge says that a person changed an alert ("" for a unit's settings): the
// worker reads it again.
func (w *Worker) Nudge(alertID string) {
	w.mu.Lock()
	if alertID == "" {
		w.reread = true
	} else {
		w.nudged[alertID] = struct{}{}
	}
	w.mu.Unlock()
	select {
	case w.nudge <- struct{}{}:
	default:
	}
}

// takeNudges gives what Nudge was told since the last time.
func (w *Worker) takeNudges() (ids []string, reread bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for id := range w.nudged {
		ids = append(ids, id)
	}
	clear(w.nudged)
	reread, w.reread = w.reread, false
	return ids, reread
}

// run works until ctx ends or another wetside holds the lab. Whatever else
// fails, it builds its state again from the store and goes on.
func (w *Worker) run(ctx context.Context) error {
	pause := firstPause
	for {
		f := w.newFolder()
		err := f.rebuild(ctx)
		if err == nil {
			pause = firstPause
			err = w.loop(ctx, f)
		}
		w.rebuilt.Store(false)
		switch {
		case ctx.Err() != nil:
			f.saveLast()
			return ctx.Err()
		case stale(err):
			w.cfg.Log.Error("the worker ends: another wetside holds this lab", "error", err)
			return fmt.Errorf("worker: %w", err)
		}
		w.cfg.Log.Error("the worker takes up the stored state again", "error", err, "after", pause)
		text := err.Error()
		w.trouble.Store(&text)
		if !service.Pause(ctx, pause) {
			return ctx.Err()
		}
		pause = min(2*pause, longPause)
	}
}

// loop takes what arrives and lets time pass, until something fails.
func (w *Worker) loop(ctx context.Context, f *folder) error {
	tick := time.NewTicker(w.cfg.Tick)
	defer tick.Stop()
	for {
		var err error
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-w.cfg.Wake:
			err = f.drain(ctx)
		case <-w.nudge:
			err = f.people(ctx)
		case <-tick.C:
			err = f.tick(ctx)
		}
		if err != nil {
			return err
		}
		w.looped.Store(w.cfg.Clock.Now().UnixNano())
		w.trouble.Store(nil)
	}
}

// stale tells whether another holder's term has begun.
func stale(err error) bool {
	return errors.Is(err, lab.ErrStaleTerm) || lab.KindOf(err) == lab.KindConflict
}
