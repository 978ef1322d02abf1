package postgres

import (
	"context"
	"crypto/rand"
	"time"
)

const (
	wakeChannel    = "wetside_arrivals"
	announceEvery  = 50 * time.Millisecond // other processes hear of arrivals at most this often
	listenRetry    = time.Second
	listenCheck    = 30 * time.Second // a peer that swallows packets is found out
	listenDeadline = 10 * time.Second
)

func newInstance() string { return rand.Text() }

// Wake fires after telemetry was appended, by this process or another. It
// coalesces and may be lost or come for nothing: poll as well. One receiver.
func (s *Store) Wake() <-chan struct{} {
	s.listen.Do(func() { s.wg.Go(s.listenLoop) })
	return s.wake
}

func (s *Store) wakeUp() {
	select {
	case s.wake <- struct{}{}:
	default:
	}
}

// appended wakes this process at once and asks for the others to be told.
func (s *Store) appended() {
	s.wakeUp()
	select {
	case s.announce <- struct{}{}:
	default:
	}
}

// announceLoop sends NOTIFY outside the ingest transaction: inside it would
// take a lock of the whole server at commit.
func (s *Store) announceLoop() {
	for {
		select {
		case <-s.life.Done():
			return
		case <-s.announce:
		}
		if err := s.announceOnce(); err != nil && s.life.Err() == nil {
			s.log.Debug("other processes were not woken; they poll", "error", err)
		}
		select {
		case <-s.life.Done():
			return
		case <-time.After(announceEvery):
		}
	}
}

func (s *Store) announceOnce() error {
	ctx, cancel := context.WithTimeout(s.life, listenDeadline)
	defer cancel()
	_, err := s.control.Exec(ctx, `SELECT pg_notify($1, $2)`, wakeChannel, s.instance)
	return err
}

func (s *Store) listenLoop() {
	for s.life.Err() == nil {
		if err := s.listenOnce(s.life); err != nil && s.life.Err() == nil {
			s.log.Debug("wake-ups from other processes are broken; connecting again", "error", err)
			select {
			case <-s.life.Done():
			case <-time.After(listenRetry):
			}
		}
	}
}

func (s *Store) listenOnce(ctx context.Context) error {
	conn, err := s.connect(ctx, listenerSession)
	if err != nil {
		return err
	}
	defer func() {
		end, cancel := context.WithTimeout(context.WithoutCancel(ctx), listenDeadline)
		defer cancel()
		conn.Close(end)
	}()
	ask, cancel := context.WithTimeout(ctx, listenDeadline)
	_, err = conn.Exec(ask, `LISTEN `+wakeChannel)
	cancel()
	if err != nil {
		return err
	}
	s.wakeUp() // what was announced while nobody listened
	for {
		wait, cancel := context.WithTimeout(ctx, listenCheck)
		n, err := conn.WaitForNotification(wait)
		quiet := wait.Err() != nil && ctx.Err() == nil
		cancel()
		switch {
		case err == nil && n.Payload != s.instance:
			s.wakeUp()
		case err == nil:
		case quiet && !conn.IsClosed():
			ask, cancel := context.WithTimeout(ctx, listenDeadline)
			err := conn.Ping(ask)
			cancel()
			if err != nil {
				return err
			}
		default:
			return err
		}
	}
}
