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
	make    reportMaker
	trouble atomic.Pointer[trouble]
	failing atomic.Pointer[[]lab.RecordFailing]

	// used by the goroutine of run alone
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
	w := &Worker{cfg: cfg, make: reportMaker{Making: cfg.Making, store: cfg.Store}, size: -1, perPart: partMessages}
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
		did, err := w.step(ctx)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil && (errors.Is(err, lab.ErrStaleTerm) || lab.KindOf(err) == lab.KindConflict) {
			w.cfg.Log.Error("sealing ends: another wetside holds this lab", "error", err)
			return fmt.Errorf("records: %w", err)
		}
		w.reportTrouble(err)
		switch {
		case errors.Is(err, ErrLogChanged):
			service.Pause(ctx, lookAgain)
		case err != nil:
			w.size = -1
			service.Pause(ctx, w.cfg.Poll)
		case did:
			// rest for as long as the work took, so that live work has the other half
			service.Pause(ctx, min(max(time.Since(began), restAtLeast), restAtMost))
		default:
			service.Pause(ctx, w.cfg.Poll)
		}
	}
}

// reportTrouble logs when trouble begins and when it ends, once each.
func (w *Worker) reportTrouble(err error) {
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

// step does one piece of work, and tells whether there was one to do.
func (w *Worker) step(ctx context.Context) (did bool, err error) {
	short, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	w.dropOldTelemetry(short) // first, so that it never waits for the last run to be sealed
	// The state before a run is saved first: the rules forget it.
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
	return true, w.handleRunError(long, due[0], w.sealRun(long, due[0]))
}

// keepBefores saves the states before runs that ended. One that cannot be read
// holds up no other: the report of that run is replayed from its own messages
// alone.
func (w *Worker) keepBefores(ctx context.Context) (did bool, err error) {
	due, err := w.cfg.Store.RecordsWithoutBefore(ctx, statesAtOnce)
	if err != nil || len(due) == 0 {
		return false, err
	}
	for _, d := range due {
		st, err := w.stateBefore(ctx, d.RunID)
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

func (w *Worker) stateBefore(ctx context.Context, run string) (st *report.State, err error) {
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
	return w.make.stateBefore(ctx, row)
}

// dropOldTelemetry drops old telemetry once an hour. A failure holds up no
// sealing.
func (w *Worker) dropOldTelemetry(ctx context.Context) {
	now := w.cfg.Clock.Now()
	if w.cfg.Drop == nil || now.Sub(w.dropped) < dropEvery {
		return
	}
	w.dropped = now
	if err := w.cfg.Drop(ctx); err != nil && ctx.Err() == nil {
		w.cfg.Log.Error("old telemetry was not dropped; it is tried again in an hour", "error", err)
	}
}

// Failing are the runs whose record could not be made, those that fail
// longest before the others. They are tried again, after longer and longer
// waits, and hold up no other.
func (w *Worker) Failing() []lab.RecordFailing {
	if list := w.failing.Load(); list != nil {
		return *list
	}
	return nil
}

// handleRunError puts off a run whose record cannot be made. It gives back errors
// that are not of this run alone but of the log, the database or the lease.
func (w *Worker) handleRunError(ctx context.Context, d lab.RecordDue, err error) error {
	if err == nil {
		w.strikes, w.strikesOf = 0, ""
		if d.Failures > 0 {
			return w.lookForFailing(ctx)
		}
		return nil
	}
	if ctx.Err() != nil && !errors.Is(ctx.Err(), context.DeadlineExceeded) || errors.Is(err, errLog) || errors.Is(err, lab.ErrStaleTerm) || lab.KindOf(err) == lab.KindConflict {
		return err
	}
	if lab.KindOf(err) == lab.KindUnavailable {
		if w.strikesOf != d.RunID {
			w.strikes, w.strikesOf = 0, d.RunID
		}
		if w.strikes++; w.strikes < mostStrikes {
			return err
		}
	}
	wait := putOffs[min(d.Failures, len(putOffs)-1)]
	w.cfg.Log.Error("the record of a run could not be made; the others go on", "run", d.RunID, "failures", d.Failures+1, "again_in", wait.String(), "error", err)
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), storeWithin)
	defer cancel()
	if err := w.cfg.Store.PutOffRecord(ctx, d, w.now().Add(wait), err.Error()); err != nil {
		return err // the database cannot be reached, which is no fault of the run
	}
	w.strikes, w.strikesOf = 0, ""
	return w.lookForFailing(ctx)
}

// lookEvery is how often the list of failing runs is read where nothing
// changed it here.
const lookEvery = time.Minute

func (w *Worker) lookForFailing(ctx context.Context) error {
	list, err := w.cfg.Store.RecordsFailing(ctx, mostFailing)
	if err != nil {
		return err
	}
	w.failing.Store(&list)
	w.looked = w.cfg.Clock.Now()
	return nil
}
