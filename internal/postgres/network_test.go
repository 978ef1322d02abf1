package postgres_test

import (
	"context"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// leaseWithin acquires the lease, and fails when that takes longer than most.
func leaseWithin(t *testing.T, s *postgres.Store, most time.Duration, tell func(postgres.LeaseWait)) *postgres.Lease {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), most)
	defer cancel()
	h, err := s.AcquireLease(ctx, tell)
	if err != nil {
		t.Fatalf("hold the lab within %v: %v", most, err)
	}
	t.Cleanup(h.Release)
	return h
}

// long is how long a lab may be locked by a connection that vanished: the
// server waits 15 s for its holder, and a busy machine needs some more.
const long = 40 * time.Second

// The network to the holder swallows everything: it notices, and another
// wetside takes over though nobody closed the connection that has the lock.
func TestVanishedHolderIsFollowed(t *testing.T) {
	t.Parallel()
	near := pgtest.New(t)
	network, far := labtest.BeforeDatabase(t, near)
	first := pgtest.Store(t, postgres.Config{URL: far, App: "first"})
	second := pgtest.Store(t, postgres.Config{URL: near, App: "second"})
	h1 := leaseWithin(t, first, long, nil)
	network.Hole()
	h2 := leaseWithin(t, second, long, nil)
	if h2.Term() != h1.Term()+1 {
		t.Errorf("term %d after %d", h2.Term(), h1.Term())
	}
	labtest.Closed(t, h1.Lost(), "the first to notice that it lost the lab")
}

// Back from such a network, a process follows itself at once, and does not say
// that somebody else holds the lab.
func TestVanishedHolderFollowsItself(t *testing.T) {
	t.Parallel()
	network, far := labtest.BeforeDatabase(t, pgtest.New(t))
	store := pgtest.Store(t, postgres.Config{URL: far})
	h1 := leaseWithin(t, store, long, nil)
	network.Hole()
	labtest.Closed(t, h1.Lost(), "the holder to notice")
	h1.Release()
	network.Heal()
	began := time.Now()
	h2 := leaseWithin(t, store, long, func(w postgres.LeaseWait) {
		if w.Holder != "" {
			t.Errorf("it says that %q holds the lab", w.Holder)
		}
	})
	if took := time.Since(began); took > 8*time.Second {
		t.Errorf("it followed itself after %v", took)
	}
	if _, err := store.Append(t.Context(), h2.Term(), []lab.Message{temp(plover, "b1", 1, noon, 38)}, nil); err != nil {
		if lab.KindOf(err) != lab.KindUnavailable {
			t.Fatal(err)
		}
		mustAppend(t, store, h2.Term(), temp(plover, "b1", 1, noon, 38))
	}
}

// A process that stands by and vanishes is not given the lab behind its back.
func TestVanishedStandbyGetsNothing(t *testing.T) {
	t.Parallel()
	near := pgtest.New(t)
	network, far := labtest.BeforeDatabase(t, near)
	first := pgtest.Store(t, postgres.Config{URL: near, App: "first"})
	second := pgtest.Store(t, postgres.Config{URL: far, App: "second"})
	third := pgtest.Store(t, postgres.Config{URL: near, App: "third"})
	h1 := leaseWithin(t, first, long, nil)
	waits := labtest.NewSignal[postgres.LeaseWait](1)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		if h, err := second.AcquireLease(ctx, waits.Emit); err == nil {
			t.Error("the vanished process holds the lab")
			h.Release()
		}
	}()
	waits.Wait(t, "the second to stand by")
	network.Hole()
	h1.Release()
	began := time.Now()
	leaseWithin(t, third, long, nil)
	if took := time.Since(began); took > 10*time.Second {
		t.Errorf("the third had to wait %v", took)
	}
	cancel()
	labtest.Closed(t, ended, "the second to give up")
}

// A database half a second away, there and back, is slow and works; its pooled
// connections too, when they were idle for long enough to be checked.
func TestDatabaseHalfASecondAway(t *testing.T) {
	t.Parallel()
	network, far := labtest.BeforeDatabase(t, pgtest.New(t))
	network.Delay(250 * time.Millisecond)
	store := pgtest.Store(t, postgres.Config{URL: far, Decode: decode})
	term := leaseWithin(t, store, long, nil).Term()
	mustAppend(t, store, term, temp(plover, "b1", 1, noon, 38))
	timer := time.NewTimer(1500 * time.Millisecond) // idle: from a second on a connection is checked before it is used
	<-timer.C
	mustAppend(t, store, term, temp(plover, "b1", 2, noon, 38))
	if err := store.Commit(t.Context(), term, lab.Commit{States: []lab.UnitState{{Unit: plover, Arrival: 2, Version: 1, Blob: []byte("{}")}}}); err != nil {
		t.Error(err)
	}
	if err := store.Ready(t.Context()); err != nil {
		t.Error(err)
	}
	if got, err := store.ArrivalsAfter(t.Context(), 0, 10); err != nil || len(got) != 2 {
		t.Errorf("%d arrivals, %v; want 2", len(got), err)
	}
}

// Connections that the network closes are replaced: a call fails at most once.
func TestDatabaseCut(t *testing.T) {
	t.Parallel()
	network, far := labtest.BeforeDatabase(t, pgtest.New(t))
	store := pgtest.Store(t, postgres.Config{URL: far, Decode: decode})
	h := leaseWithin(t, store, long, nil)
	mustAppend(t, store, h.Term(), temp(plover, "b1", 1, noon, 38))
	network.Cut()
	labtest.Closed(t, h.Lost(), "the holder to notice")
	h.Release()
	h = leaseWithin(t, store, long, nil)
	if _, err := store.Append(t.Context(), h.Term(), []lab.Message{temp(plover, "b1", 2, noon, 38)}, nil); err != nil {
		if lab.KindOf(err) != lab.KindUnavailable {
			t.Fatalf("%v; want unavailable", err)
		}
		mustAppend(t, store, h.Term(), temp(plover, "b1", 2, noon, 38))
	}
}
