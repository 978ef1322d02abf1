package ingest

import (
	"context"
	"errors"
	"net/url"
	"sync"
	"sync/atomic"
	"time"
)

// mostLag is how long a message may wait for its commit while the service
// still counts as caught up.
const mostLag = 250 * time.Millisecond

// Service takes telemetry from a broker to a store. See the package comment.
type Service struct {
	cfg      Config
	broker   *url.URL
	queue    *queue
	metrics  *metrics
	stats    stats
	pace     pace
	progress chan struct{} // coalescing: a batch was committed

	link      atomic.Pointer[link] // nil unless subscribed
	storeDown atomic.Bool

	mu      sync.Mutex
	cancel  context.CancelFunc // nil before Start
	stopped bool
	done    chan struct{}
}

// New checks the configuration; a bad address of the broker is an error here.
func New(cfg Config) (*Service, error) {
	broker, err := cfg.validate()
	if err != nil {
		return nil, err
	}
	s := &Service{
		cfg: cfg, broker: broker, queue: newQueue(cfg.MaxQueue, cfg.MaxQueueBytes),
		progress: make(chan struct{}, 1), done: make(chan struct{}),
	}
	s.metrics, err = newMetrics(cfg.Metrics, s)
	return s, err
}

// Start begins. A broker that is not there yet is no error: it is tried again
// until Stop or the end of ctx, which ends the service as Stop does.
func (s *Service) Start(ctx context.Context) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.cancel != nil || s.stopped {
		return errors.New("ingest: started before")
	}
	ctx, s.cancel = context.WithCancel(ctx)
	go s.run(ctx)
	return nil
}

// run holds the three parts together: session, writer, acknowledger.
func (s *Service) run(ctx context.Context) {
	defer close(s.done)
	writing, giveUp := context.WithCancel(context.WithoutCancel(ctx))
	defer giveUp()
	acks := make(chan []item, 2)
	var wg sync.WaitGroup
	wg.Go(func() { s.writeBatches(writing, acks) })
	wg.Go(func() { s.acknowledge(acks) })

	l := s.keepSession(ctx) // intake ends here
	s.queue.close()
	late := time.AfterFunc(s.cfg.StopTimeout, giveUp)
	defer late.Stop()
	wg.Wait()
	if l != nil {
		l.close()
	}
}

// Stop ends intake, lets what was received be committed and acknowledged, and
// leaves the broker. It blocks until that is done, and may be called twice or
// before Start.
func (s *Service) Stop() {
	s.mu.Lock()
	s.stopped = true
	cancel := s.cancel
	s.mu.Unlock()
	if cancel == nil {
		return
	}
	cancel()
	<-s.done
}

func (s *Service) setLink(l *link) {
	s.pace.start(l)
	s.link.Store(l)
	s.cfg.Log.Info("ingest: subscribed", "broker", s.broker.Redacted())
	s.cfg.OnConnected(true)
}

func (s *Service) clearLink() {
	s.link.Store(nil)
	s.cfg.OnConnected(false)
}

// Connected tells whether the session is subscribed.
func (s *Service) Connected() bool { return s.link.Load() != nil }

// CaughtUp tells whether the session is subscribed, nothing received waits
// for its commit, and no backlog is arriving.
func (s *Service) CaughtUp() bool {
	if s.link.Load() == nil {
		return false
	}
	now := time.Now()
	_, _, oldest, last := s.queue.held()
	if !oldest.IsZero() && now.Sub(oldest) > mostLag {
		return false
	}
	return s.pace.through(now, last)
}

// Stats counts what was done.
func (s *Service) Stats() Stats {
	n, bytes, _, _ := s.queue.held()
	return Stats{
		New: s.stats.fresh.Load(), Copies: s.stats.copies.Load(), Quarantined: s.stats.quarantined.Load(),
		Committed: s.stats.total.Load(), Acknowledged: s.stats.acknowledged.Load(),
		Queued: n, QueuedBytes: bytes,
	}
}
