package records

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"wetside/internal/lab"
	"wetside/internal/service"
)

// Worker seals. Make it with NewWorker.
type Worker struct {
	*service.Runner
	cfg     Config
	make    maker
	trouble atomic.Pointer[trouble]

	// of the run's goroutine
	size    int64 // leaves of the log; -1: not looked yet
	dropped time.Time
}

type trouble struct {
	why   string
	since time.Time
}

// NewWorker makes a Worker.
func NewWorker(cfg Config) (*Worker, error) {
	if err := cfg.complete(); err != nil {
		return nil, err
	}
	w := &Worker{cfg: cfg, make: maker{cfg.Making, cfg.Store}, size: -1}
	w.Runner = service.NewRunner(w.run)
	return w, nil
}

// Trouble says why nothing is sealed at present, and since when; "" while all
// is well.
func (w *Worker) Trouble() (why string, since time.Time) {
	if t := w.trouble.Load(); t != nil {
		return t.why, t.since
	}
	return "", time.Time{}
}

// run works until ctx ends or another wetside holds the lab.
func (w *Worker) run(ctx context.Context) error {
	for {
		began := time.Now()
		did, err := w.once(ctx)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil && (errors.Is(err, lab.ErrStaleTerm) || lab.KindOf(err) == lab.KindConflict) {
			w.cfg.Log.Error("sealing ends: another wetside holds this lab", "error", err)
			return fmt.Errorf("records: %w", err)
		}
		w.tell(err)
		switch {
		case errors.Is(err, ErrLogChanged):
			pause(ctx, lookAgain)
		case err != nil:
			w.size = -1
			pause(ctx, w.cfg.Poll)
		case did:
			// as long as the work took: live work has the other half
			pause(ctx, min(max(time.Since(began), restAtLeast), restAtMost))
		default:
			pause(ctx, w.cfg.Poll)
		}
	}
}

// tell logs trouble once, and its end.
func (w *Worker) tell(err error) {
	now := trouble{}
	if err != nil {
		now = trouble{err.Error(), w.cfg.Clock.Now()}
	}
	was, since := w.Trouble()
	if was == now.why {
		return
	}
	if was != "" && now.why != "" {
		now.since = since
	}
	w.trouble.Store(&now)
	if err != nil {
		w.cfg.Log.Error("records are not sealed", "error", err)
		return
	}
	w.cfg.Log.Info("records are sealed again")
}

// once does one piece of work and tells whether there was any.
func (w *Worker) once(ctx context.Context) (did bool, err error) {
	ctx, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	// The state before a run is kept first: the fold forgets it.
	if did, err = w.keepBefores(ctx); did || err != nil {
		return did, err
	}
	if w.size < 0 {
		if w.size, err = w.openLog(ctx); err != nil {
			w.size = -1
			return false, err
		}
	}
	if did, err = w.sealEntries(ctx); did || err != nil {
		return did, err
	}
	due, err := w.cfg.Store.RecordsDue(ctx, w.cfg.Clock.Now(), w.cfg.Waits, 1)
	if err != nil {
		return false, err
	}
	if len(due) > 0 {
		return true, w.sealRun(ctx, due[0])
	}
	return false, w.drop(ctx)
}

// keepBefores keeps the states before runs that ended.
func (w *Worker) keepBefores(ctx context.Context) (did bool, err error) {
	due, err := w.cfg.Store.RecordsWithoutBefore(ctx, beforesOnce)
	if err != nil || len(due) == 0 {
		return false, err
	}
	for _, d := range due {
		row, err := w.cfg.Store.RunRow(ctx, d.RunID)
		if err != nil && lab.KindOf(err) != lab.KindNotFound {
			return true, err
		}
		if err == nil {
			st, err := w.make.before(ctx, row)
			if err != nil {
				return true, err
			}
			if st != nil {
				d.BeforeVersion, d.BeforeState = st.Version, st.Blob
			}
		}
		if err := w.cfg.Store.KeepBefore(ctx, d); err != nil {
			return true, err
		}
	}
	return true, nil
}

func (w *Worker) drop(ctx context.Context) error {
	now := w.cfg.Clock.Now()
	if w.cfg.Drop == nil || now.Sub(w.dropped) < dropEvery {
		return nil
	}
	w.dropped = now
	return w.cfg.Drop(ctx)
}

func pause(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-ctx.Done():
	}
}
