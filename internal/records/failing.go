package records

import (
	"context"
	"errors"
	"time"

	"wetside/internal/lab"
)

// Failing are the runs whose record could not be made, those that fail
// longest before the others. They are tried again, after longer and longer
// waits, and hold up no other.
func (w *Worker) Failing() []lab.RecordFailing {
	if list := w.failing.Load(); list != nil {
		return *list
	}
	return nil
}

// ofRun sees to an error of one run's record. It gives back what is not of
// the run alone, but of the log, of the database or of the term.
func (w *Worker) ofRun(ctx context.Context, d lab.RecordDue, err error) error {
	if err == nil {
		w.strikes, w.strikesOf = 0, ""
		if d.Failures > 0 {
			return w.lookForFailing(ctx)
		}
		return nil
	}
	if ctx.Err() != nil && !errors.Is(ctx.Err(), context.DeadlineExceeded) || errors.Is(err, errOfLog) || errors.Is(err, lab.ErrStaleTerm) || lab.KindOf(err) == lab.KindConflict {
		return err
	}
	if lab.KindOf(err) == lab.KindUnavailable {
		if w.strikesOf != d.RunID {
			w.strikes, w.strikesOf = 0, d.RunID
		}
		if w.strikes++; w.strikes < strikesMost {
			return err
		}
	}
	wait := putOffs[min(d.Failures, len(putOffs)-1)]
	w.cfg.Log.Error("the record of a run could not be made; the others go on", "run", d.RunID, "failures", d.Failures+1, "again_in", wait.String(), "error", err)
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), storeWithin)
	defer cancel()
	if err := w.cfg.Store.PutOffRecord(ctx, d, w.now().Add(wait), err.Error()); err != nil {
		return err // the database is away: that is no fault of the run
	}
	w.strikes, w.strikesOf = 0, ""
	return w.lookForFailing(ctx)
}

// lookEvery is how often the list of failing runs is read where nothing
// changed it here.
const lookEvery = time.Minute

func (w *Worker) lookForFailing(ctx context.Context) error {
	list, err := w.cfg.Store.RecordsFailing(ctx, failingMost)
	if err != nil {
		return err
	}
	w.failing.Store(&list)
	w.looked = w.cfg.Clock.Now()
	return nil
}
