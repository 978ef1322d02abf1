package ingest

import (
	"context"
	"errors"
	"time"

	"wetside/internal/lab"
	"wetside/internal/service"
)

const (
	minRetry      = 100 * time.Millisecond
	maxRetry      = 5 * time.Second
	appendTimeout = 30 * time.Second
)

// writeBatches takes what is queued, at once and as much as there is up to a
// batch, decodes it and has it committed; then it goes to acks, in order. It
// ends when the queue is closed and empty, or ctx is done.
func (s *Service) writeBatches(ctx context.Context, acks chan<- []item) {
	defer close(acks)
	for {
		batch := s.queue.take(s.cfg.MaxBatch)
		if batch == nil || !s.write(ctx, batch) {
			return
		}
		acks <- batch
		s.queue.done()
		signal(s.progress)
	}
}

// write commits one batch, however often it must try; false when ctx ended it
// before, and then nothing of it may be acknowledged.
func (s *Service) write(ctx context.Context, batch []item) bool {
	msgs := make([]lab.Message, 0, len(batch))
	var refused []lab.Quarantined
	for _, it := range batch {
		if q, ok := s.refusedAtDoor(it.raw); ok {
			s.metrics.refused.WithLabelValues(lab.RefusedTopic).Inc()
			refused = append(refused, q)
			continue
		}
		m, refusal := decode(it.raw)
		if refusal != nil {
			s.metrics.refused.WithLabelValues(refusal.Code).Inc()
			refused = append(refused, Quarantine(it.raw, refusal))
			continue
		}
		msgs = append(msgs, m)
	}
	var failing time.Time
	for wait := minRetry; ; wait = min(2*wait, maxRetry) {
		began := time.Now()
		res, err := s.append(ctx, msgs, refused)
		if err == nil {
			s.metrics.batch(len(batch), time.Since(began), res)
			if s.storeDown.CompareAndSwap(true, false) {
				s.cfg.Log.Info("ingest: the store is back")
			}
			s.stats.committed(len(batch), res)
			s.pace.observe(msgs, batch[len(batch)-1].link)
			return true
		}
		if ctx.Err() != nil {
			s.cfg.Log.Error("ingest: stopped before the store took the last batch; it stays with the broker",
				"messages", len(batch), "error", err)
			return false
		}
		s.metrics.storeErrors.Inc()
		if failing.IsZero() {
			failing = began
		}
		s.cfg.Log.Error("ingest: store refuses the batch; nothing of it is acknowledged",
			"messages", len(batch), "error", err, "again_in", wait.String())
		if errors.Is(err, lab.ErrStaleTerm) {
			failing = began.Add(-s.cfg.StoreGrace) // the session is another's now: leave at once
		}
		s.leaveIfAway(failing)
		if !s.waitToRetry(ctx, failing, wait) {
			return false
		}
	}
}

// refusedAtDoor opens the envelope of what the embedded broker refused.
func (s *Service) refusedAtDoor(raw lab.Raw) (lab.Quarantined, bool) {
	if !s.cfg.Embedded {
		return lab.Quarantined{}, false
	}
	return lab.Unwrap(raw)
}

func (s *Service) append(ctx context.Context, msgs []lab.Message, refused []lab.Quarantined) (lab.AppendResult, error) {
	ctx, cancel := context.WithTimeout(ctx, appendTimeout)
	defer cancel()
	return s.cfg.Store.Append(ctx, s.cfg.Term, msgs, refused)
}

// leaveIfAway ends the link once the store has failed for the time of grace:
// what waits is safer with the broker than with us.
func (s *Service) leaveIfAway(failing time.Time) {
	if time.Since(failing) < s.cfg.StoreGrace {
		return
	}
	s.storeDown.Store(true)
	if l := s.link.Load(); l != nil {
		l.end(errStoreAway)
	}
}

// waitToRetry sleeps, and wakes at the end of the grace to leave on time.
func (s *Service) waitToRetry(ctx context.Context, failing time.Time, wait time.Duration) bool {
	if left := s.cfg.StoreGrace - time.Since(failing); left > 0 && left < wait {
		if !service.Pause(ctx, left) {
			return false
		}
		s.leaveIfAway(failing)
		wait -= left
	}
	return service.Pause(ctx, jitter(wait))
}

// acknowledge acknowledges committed batches in the order received. Over a
// link that is gone it cannot: the broker sends those again, and the store
// knows them by their key.
func (s *Service) acknowledge(acks <-chan []item) {
	for batch := range acks {
		for _, it := range batch {
			if !it.link.gone.Load() {
				it.ack()
				s.stats.acknowledged.Add(1)
			}
		}
	}
}
