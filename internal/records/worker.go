package records

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"wetside/internal/lab"
	"wetside/internal/report"
	"wetside/internal/service"
)

// Worker seals. Make it with NewWorker.
type Worker struct {
	*service.Runner
	cfg     Config
	make    maker
	trouble atomic.Pointer[trouble]
	failing atomic.Pointer[[]lab.RecordFailing]

	// of the run's goroutine
	size      int64 // leaves of the log; -1: not looked yet
	dropped   time.Time
	looked    time.Time // for failing runs
	perPart   int       // messages in a part of a record, at most
	strikes   int       // times the database failed at one run
	strikesOf string
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
	w := &Worker{cfg: cfg, make: maker{Making: cfg.Making, store: cfg.Store}, size: -1, perPart: partMessages}
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
			service.Pause(ctx, lookAgain)
		case err != nil:
			w.size = -1
			service.Pause(ctx, w.cfg.Poll)
		case did:
			// as long as the work took: live work has the other half
			service.Pause(ctx, min(max(time.Since(began), restAtLeast), restAtMost))
		default:
			service.Pause(ctx, w.cfg.Poll)
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
	short, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	w.drop(short) // first, so that it never waits for the last run to be sealed
	// The state before a run is kept first: the fold forgets it.
	if did, err = w.keepBefores(short); did || err != nil {
		return did, err
	}
	if w.size < 0 {
		if w.size, err = w.openLog(short); err != nil {
			w.size = -1
			return false, err
		}
	}
	if did, err = w.sealEntries(short); did || err != nil {
		return did, err
	}
	if w.cfg.Clock.Now().Sub(w.looked) >= lookEvery {
		if err := w.lookForFailing(short); err != nil {
			return false, err
		}
	}
	due, err := w.cfg.Store.RecordsDue(short, w.cfg.Clock.Now(), w.cfg.Waits, 1)
	if err != nil || len(due) == 0 {
		return false, err
	}
	long, cancelLong := context.WithTimeout(ctx, sealWithin)
	defer cancelLong()
	return true, w.ofRun(long, due[0], w.sealRun(long, due[0]))
}

// keepBefores keeps the states before runs that ended. One that cannot be
// read is no reason to hold up the others: its report is folded from its run
// alone.
func (w *Worker) keepBefores(ctx context.Context) (did bool, err error) {
	due, err := w.cfg.Store.RecordsWithoutBefore(ctx, beforesOnce)
	if err != nil || len(due) == 0 {
		return false, err
	}
	for _, d := range due {
		st, err := w.beforeOf(ctx, d.RunID)
		if lab.KindOf(err) == lab.KindUnavailable {
			return true, err
		}
		if err != nil {
			w.cfg.Log.Warn("the state before a run does not read; its report is folded from the run alone", "run", d.RunID, "error", err)
		}
		if st != nil {
			d.BeforeVersion, d.BeforeState = st.Version, st.Blob
		}
		if err := w.cfg.Store.KeepBefore(ctx, d); err != nil {
			return true, err
		}
	}
	return true, nil
}

func (w *Worker) beforeOf(ctx context.Context, run string) (st *report.State, err error) {
	defer func() {
		if r := recover(); r != nil {
			st, err = nil, &panicked{fmt.Sprint(r)}
		}
	}()
	row, err := w.cfg.Store.RunRow(ctx, run)
	if err != nil {
		if lab.KindOf(err) == lab.KindNotFound {
			err = nil
		}
		return nil, err
	}
	return w.make.before(ctx, row)
}

// drop lets old telemetry go, once in a while. That it fails holds up no seal.
func (w *Worker) drop(ctx context.Context) {
	now := w.cfg.Clock.Now()
	if w.cfg.Drop == nil || now.Sub(w.dropped) < dropEvery {
		return
	}
	w.dropped = now
	if err := w.cfg.Drop(ctx); err != nil && ctx.Err() == nil {
		w.cfg.Log.Error("old telemetry was not dropped; it is tried again in an hour", "error", err)
	}
}
