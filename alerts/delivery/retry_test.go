package delivery_test

import (
	"context"
	"errors"
	"log/slog"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"wetside/alerts/delivery"
	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// claimless is a store that cannot tell what waits for Wren, so many times.
type claimless struct {
	delivery.Store
	left atomic.Int32
}

func (c *claimless) ClaimMessage(ctx context.Context, term int64, person string, recent time.Time, decide func(lab.PersonQueue) lab.QueueDecision) (*lab.PageMessage, time.Time, error) {
	if person == "Wren" && c.left.Add(-1) >= 0 {
		return nil, time.Time{}, errors.New("canceling statement due to statement timeout")
	}
	return c.Store.ClaimMessage(ctx, term, person, recent, decide)
}

// pauses gives the pauses that a log tells of.
type pauses struct {
	slog.Handler
	took chan time.Duration
}

func (p pauses) Enabled(context.Context, slog.Level) bool { return true }

func (p pauses) Handle(_ context.Context, r slog.Record) error {
	if strings.HasPrefix(r.Message, "what waits for a person cannot be read") {
		r.Attrs(func(a slog.Attr) bool {
			if a.Key == "after" {
				p.took <- a.Value.Duration()
			}
			return true
		})
	}
	return nil
}

// A page is waited for briefly first and longer from then on while the store
// fails, and goes out when it answers again.
func TestPausesGrowWhileTheStoreFails(t *testing.T) {
	t.Parallel()
	log := pauses{slog.DiscardHandler, make(chan time.Duration, 100)}
	l := newLot(t, nil, func(c *delivery.Config) {
		store := &claimless{Store: c.Store}
		store.left.Store(2)
		c.Store, c.Log = store, slog.New(log)
	})
	l.raise("plover", lab.Urgent)
	first := labtest.Receive(t, log.took, "the first pause")
	second := labtest.Receive(t, log.took, "the second pause")
	if first <= 0 || first > time.Second || second != 2*first {
		t.Errorf("paused for %s, then for %s; want a short pause, then twice as long", first, second)
	}
	l.to(l.mail.next(t, "the page"), "Wren")
}
