package broker

import (
	"context"
	"sync"

	"golang.org/x/time/rate"

	"wetside/internal/lab"
	"wetside/internal/service"
)

// What one unit may do, so that it holds nobody else back. A unit sends a few
// messages a second, ten times as many in a trial that runs faster, and after
// a weekend offline some 77,000 that had to wait: those take a little over a
// minute.
const (
	// Rate is how many messages a second of one unit are taken for as long as
	// it likes; faster, it is read no faster.
	Rate = 1000
	// Burst is how many are taken at once after a quiet time.
	Burst = 2000
	// Window is how many messages of one unit the engine has in hand at once:
	// it puts them on disk one after the other, and another unit's message
	// waits for those before it.
	Window = 16
	// mostShares bounds the units that are kept in mind.
	mostShares = 4096
)

// shares holds what each unit has left of its share. Safe for concurrent use.
type shares struct {
	rate, burst int
	most        int64 // bytes of one unit that may wait for the monitor
	mu          sync.Mutex
	units       map[lab.UnitID]*share
	drained     chan struct{} // closed and made anew when nothing waits any more
}

type share struct {
	limit   *rate.Limiter
	slots   chan struct{} // one for each message that the engine has in hand
	waiting int64         // bytes passed on since nothing waited the last time
}

func newShares(perSecond, burst int, most int64) *shares {
	return &shares{rate: perSecond, burst: burst, most: most, units: map[lab.UnitID]*share{}, drained: make(chan struct{})}
}

func (s *shares) of(unit lab.UnitID) *share {
	if sh, ok := s.units[unit]; ok {
		return sh
	}
	if len(s.units) >= mostShares {
		s.sweep()
	}
	if len(s.units) >= mostShares {
		unit = lab.UnitID{} // names without number share one share
		if sh, ok := s.units[unit]; ok {
			return sh
		}
	}
	sh := &share{slots: make(chan struct{}, Window), limit: rate.NewLimiter(rate.Limit(s.rate), s.burst)}
	s.units[unit] = sh
	return sh
}

// sweep forgets units that have their whole share.
func (s *shares) sweep() {
	for unit, sh := range s.units {
		if sh.waiting == 0 && len(sh.slots) == 0 && sh.limit.Tokens() >= float64(s.burst) {
			delete(s.units, unit)
		}
	}
}

// take waits until a message of the unit may go on; slowed tells whether it
// had to wait, before which it calls beforeWait. It is ctx's error where that
// ended first.
func (s *shares) take(ctx context.Context, unit lab.UnitID, bytes int, beforeWait func() error) (slowed bool, err error) {
	for {
		s.mu.Lock()
		sh, drained := s.of(unit), s.drained
		if sh.waiting == 0 || sh.waiting+int64(bytes) <= s.most {
			sh.waiting += int64(bytes)
			wait := sh.limit.Reserve().Delay()
			s.mu.Unlock()
			if wait > 0 {
				slowed = true
				if err := beforeWait(); err != nil {
					return slowed, err
				}
			}
			service.Pause(ctx, wait)
			return slowed, ctx.Err()
		}
		s.mu.Unlock()
		slowed = true
		if err := beforeWait(); err != nil {
			return slowed, err
		}
		select {
		case <-drained:
		case <-ctx.Done():
			return slowed, ctx.Err()
		}
	}
}

// slot waits until the engine may be given another message of the unit; put
// it back when the engine has answered.
func (s *shares) slot(ctx context.Context, unit lab.UnitID, beforeWait func() error) (chan struct{}, error) {
	s.mu.Lock()
	slots := s.of(unit).slots
	s.mu.Unlock()
	select {
	case slots <- struct{}{}:
		return slots, nil
	default:
	}
	if err := beforeWait(); err != nil {
		return nil, err
	}
	select {
	case slots <- struct{}{}:
		return slots, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// empty says that nothing of any unit waits for the monitor any more.
func (s *shares) empty() {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, sh := range s.units {
		sh.waiting = 0
	}
	close(s.drained)
	s.drained = make(chan struct{})
}
