package ingest

import (
	"context"
	"errors"
	"math/rand/v2"
	"time"

	"wetside/internal/service"
)

const minReconnect = 200 * time.Millisecond

// keepSession connects, and again whenever the link ends, until ctx is done.
// The link that is open then is left open, deaf, for the last batch to be
// acknowledged; it is the caller's to close.
func (s *Service) keepSession(ctx context.Context) *link {
	s.takeOver(ctx)
	wait := minReconnect
	for s.storeReady(ctx) {
		l := s.newLink(ctx, s.cfg.ClientID, false)
		err := s.cfg.Sure(ctx)
		if err == nil {
			err = l.connect(ctx)
		}
		if err != nil {
			l.close()
			s.queue.forget(l)
			if ctx.Err() != nil {
				return nil
			}
			s.cfg.Log.Warn("ingest: not connected", "error", err, "again_in", wait.String())
			s.metrics.disconnects.WithLabelValues("connect").Inc()
			if !service.Pause(ctx, jitter(wait)) {
				return nil
			}
			wait = min(2*wait, s.cfg.MaxReconnect)
			continue
		}
		began := time.Now()
		s.setLink(l)
		if s.await(ctx, l); ctx.Err() != nil {
			return l
		}
		l.close()
		s.queue.forget(l)
		if time.Since(began) > s.cfg.MaxReconnect {
			wait = minReconnect
		}
		if !service.Pause(ctx, jitter(wait)) {
			return nil
		}
		wait = min(2*wait, s.cfg.MaxReconnect)
	}
	return nil
}

// await returns when l ended or ctx is done.
func (s *Service) await(ctx context.Context, l *link) {
	select {
	case <-ctx.Done():
		l.end(errStopping)
		s.clearLink()
	case <-l.ended:
		s.clearLink()
		cause := l.why()
		s.cfg.Log.Warn("ingest: session interrupted", "cause", cause)
		s.metrics.disconnects.WithLabelValues(causeLabel(cause)).Inc()
	}
}

func causeLabel(err error) string {
	switch {
	case errors.Is(err, errQueueFull):
		return "queue-full"
	case errors.Is(err, errStoreAway):
		return "store"
	}
	return "lost"
}

// storeReady waits until the store takes batches and half the queue is free;
// false when ctx is done.
func (s *Service) storeReady(ctx context.Context) bool {
	for ctx.Err() == nil {
		n, bytes, _, _ := s.queue.held()
		if !s.storeDown.Load() && n <= s.cfg.MaxQueue/2 && bytes <= s.cfg.MaxQueueBytes/2 {
			return true
		}
		select {
		case <-ctx.Done():
		case <-s.progress:
		}
	}
	return false
}

func jitter(d time.Duration) time.Duration { return d/2 + rand.N(d/2+1) }
