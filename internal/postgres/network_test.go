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

// long is how long anything here may take on a busy machine.
const long = 40 * time.Second

// overdue is how long a holder that vanished may keep the lab (issue 13): the
// lease lasts 6 s.
const overdue = 10 * time.Second

// The network to the holder swallows everything: it notices, and another
// wetside takes over though nobody closed the connection that has the lock.
func TestVanishedHolderIsFollowed(t *testing.T) {
	t.Parallel()
	near := pgtest.New(t)
	network, far := labtest.BeforeDatabase(t, near)
	first := pgtest.Store(t, postgres.Config{URL: far, App: "first"})
	second := pgtest.Store(t, postgres.Config{URL: near, App: "second"})
	h1 := leaseWithin(t, first, long, nil)
	// and in the middle of a transaction, which keeps the lease's row
	began, ended := make(chan struct{}), make(chan error, 1)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	go func() {
		ended <- first.Commit(ctx, h1.Term(), lab.Commit{
			States: []lab.UnitState{{Unit: plover}}, AlertKeys: []string{"none"},
			Apply: func([]lab.StoredAlert, time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
				network.Hole()
				close(began)
				return nil, nil, nil
			},
		})
	}()
	labtest.Closed(t, began, "the first to write")
	h2 := leaseWithin(t, second, overdue, nil)
	if how, before := h2.Taken(); h2.Term() != h1.Term()+1 || how != postgres.TakenExpired || before.Machine != "first" {
		t.Errorf("term %d after %d, %s, from %+v", h2.Term(), h1.Term(), how, before)
	}
	labtest.Closed(t, h1.Lost(), "the first to notice that it lost the lab")
	if h1.Holds() {
		t.Error("the first still believes that it holds the lab")
	}
	cancel() // its connections are in the hole: nothing of that transaction can come
	if err := labtest.Receive(t, ended, "the first to give its transaction up"); err == nil {
		t.Error("the transaction of the first was committed")
	}
	if n := one[int](t, connect(t, near), `SELECT count(*) FROM unit_states`); n != 0 {
		t.Error("the transaction of the first wrote")
	}
}

// What was given back is had at once, and nobody is told of a holder that ended.
func TestLeaseGivenBack(t *testing.T) {
	t.Parallel()
	url := pgtest.New(t)
	first := pgtest.Store(t, postgres.Config{URL: url, App: "first"})
	second := pgtest.Store(t, postgres.Config{URL: url, App: "second"})
	h1 := leaseWithin(t, first, long, nil)
	if n := len(h1.Standbys()); n != 0 {
		t.Errorf("%d stand by at first", n)
	}
	waits := labtest.NewSignal[postgres.LeaseWait](1)
	got := make(chan *postgres.Lease, 1)
	go func() { got <- leaseWithin(t, second, long, waits.Emit) }()
	waits.Wait(t, "the second to stand by")
	labtest.Poll(t, "the first hears of the second", func() bool { s := h1.Standbys(); return len(s) == 1 && s[0].Machine == "second" })
	if !h1.Holds() {
		t.Error("a renewed lease is not believed")
	}
	h1.Release()
	h2 := labtest.Receive(t, got, "the second to hold the lab")
	if how, _ := h2.Taken(); how != postgres.TakenFree {
		t.Errorf("taken %s; want free", how)
	}
	labtest.Poll(t, "the second hears that nobody stands by", func() bool { return len(h2.Standbys()) == 0 })
}

// A holder that did not renew and is asked before anybody took over goes on: a
// machine that slept.
func TestLeaseLateAndStillOurs(t *testing.T) {
	t.Parallel()
	url := pgtest.New(t)
	h := leaseWithin(t, pgtest.Store(t, postgres.Config{URL: url}), long, nil)
	conn := connect(t, url)
	if _, err := conn.Exec(t.Context(), `UPDATE holder SET expires_at = clock_timestamp() - interval '1 hour', renewed_at = clock_timestamp() - interval '2 hours'`); err != nil {
		t.Fatal(err)
	}
	labtest.Poll(t, "it renews", func() bool { return one[bool](t, conn, `SELECT expires_at > clock_timestamp() FROM holder`) })
	if !h.Holds() {
		t.Error("it gave the lab up")
	}
}

// A database whose clock was set back, so that the lease seems to last for
// hours, does not keep a holder that is gone.
func TestLeaseOutlastsNoClock(t *testing.T) {
	t.Parallel()
	url := pgtest.New(t)
	conn := connect(t, url)
	// this session stands for that of a holder which is hung
	if _, err := conn.Exec(t.Context(), `UPDATE holder SET process = 'hung', machine = 'hung', term = 7, session = pg_backend_pid(),
		session_began = (SELECT backend_start FROM pg_stat_activity WHERE pid = pg_backend_pid()),
		renewed_at = clock_timestamp() + interval '3 hours', expires_at = clock_timestamp() + interval '3 hours 6 seconds'`); err != nil {
		t.Fatal(err)
	}
	h := leaseWithin(t, pgtest.Store(t, postgres.Config{URL: url}), long, nil)
	if how, before := h.Taken(); how != postgres.TakenExpired || before.Machine != "hung" || h.Term() != 8 {
		t.Errorf("taken %s from %+v, term %d", how, before, h.Term())
	}
}

// A wetside of before has a lock and never renews: as long as it has the lock
// it has the lab.
func TestLeaseOfAWetsideOfBefore(t *testing.T) {
	t.Parallel()
	url := pgtest.New(t)
	conn := connect(t, url)
	one[bool](t, conn, `SELECT pg_try_advisory_lock(2003137651)`) // 0x77657473
	if _, err := conn.Exec(t.Context(), `UPDATE holder SET term = 7, app = 'former', since = now()`); err != nil {
		t.Fatal(err)
	}
	waits := labtest.NewSignal[postgres.LeaseWait](1)
	got := make(chan *postgres.Lease, 1)
	go func() { got <- leaseWithin(t, pgtest.Store(t, postgres.Config{URL: url}), long, waits.Emit) }()
	if w := waits.Wait(t, "it to stand by"); w.Holder.Machine != "former" {
		t.Errorf("it waits for %+v", w.Holder)
	}
	one[bool](t, conn, `SELECT pg_advisory_unlock(2003137651)`)
	if h := labtest.Receive(t, got, "it to hold the lab"); h.Term() != 8 {
		t.Errorf("term %d; want 8", h.Term())
	}
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
		if w.Holder.Machine != "" {
			t.Errorf("it says that %q holds the lab", w.Holder.Machine)
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
