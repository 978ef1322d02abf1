package ingest

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/eclipse/paho.mqtt.golang/packets"

	"wetside/internal/service"
)

// takeOverWithin bounds how long the former session's backlog may take.
const takeOverWithin = 10 * time.Minute

// takeOver empties the session under the former client id and ends it, once:
// what the broker acknowledged to units and kept there must not be lost. New
// telemetry goes to both sessions for a moment; the store drops copies.
func (s *Service) takeOver(ctx context.Context) {
	if s.cfg.FormerClientID == "" {
		return
	}
	for wait := minReconnect; s.storeReady(ctx); wait = min(2*wait, s.cfg.MaxReconnect) {
		err := s.takeOverOnce(ctx)
		if err == nil {
			if s.cfg.FormerDone == nil {
				return
			}
			if err = s.cfg.FormerDone(ctx); err == nil {
				return
			}
		}
		if ctx.Err() != nil {
			return
		}
		if errors.Is(err, packets.ErrorRefusedNotAuthorised) || errors.Is(err, packets.ErrorRefusedIDRejected) ||
			errors.Is(err, packets.ErrorRefusedBadUsernameOrPassword) {
			s.cfg.Log.Warn("ingest: the broker does not let wetside look into the session it had under its former client id; what may wait there stays", "error", err)
			return
		}
		s.cfg.Log.Warn("ingest: the session under the former client id is not taken over yet", "error", err, "again_in", wait.String())
		if !service.Pause(ctx, jitter(wait)) {
			return
		}
	}
}

func (s *Service) takeOverOnce(ctx context.Context) error {
	former := s.newLink(ctx, s.cfg.FormerClientID, false)
	defer func() {
		former.close()
		s.queue.forget(former)
	}()
	stop := context.AfterFunc(ctx, former.sever)
	defer stop()
	present, err := former.resume()
	if err == nil {
		err = former.settled()
	}
	if err != nil {
		return err
	}
	if !present {
		former.close()
		return s.endFormer(ctx)
	}
	s.cfg.Log.Info("ingest: taking what waits in the session under the former client id")
	s.pace.start(former)
	if err := s.drained(ctx, former); err != nil { // the backlog first, in its order
		return err
	}
	// The new session is subscribed before the former one ends: nothing falls
	// between the two.
	next := s.newLink(ctx, s.cfg.ClientID, false)
	err = next.connect(ctx)
	next.close()
	s.queue.forget(next)
	if err != nil {
		return err
	}
	if token := former.client.Unsubscribe(topics); !token.WaitTimeout(dialTimeout) {
		return fmt.Errorf("unsubscribe: no answer in %v", dialTimeout)
	} else if token.Error() != nil {
		return token.Error()
	}
	if err := s.drained(ctx, former); err != nil {
		return err
	}
	former.close()
	return s.endFormer(ctx)
}

// drained waits until the backlog of a link is through and committed.
func (s *Service) drained(ctx context.Context, l *link) error {
	limit := time.NewTimer(takeOverWithin)
	defer limit.Stop()
	look := time.NewTicker(20 * time.Millisecond)
	defer look.Stop()
	began := time.Now()
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-l.ended:
			return l.why()
		case <-limit.C:
			return nil
		case <-look.C:
		}
		now := time.Now()
		n, _, _, last := s.queue.held()
		if n == 0 && now.Sub(began) >= quiet && s.pace.through(now, last) {
			return nil
		}
	}
}

// endFormer makes the broker forget the former session.
func (s *Service) endFormer(ctx context.Context) error {
	l := s.newLink(ctx, s.cfg.FormerClientID, true)
	defer l.close()
	stop := context.AfterFunc(ctx, l.sever)
	defer stop()
	_, err := l.resume()
	return err
}
