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

// The second waits until the first is gone; then the first can write no more,
// though it may not have noticed.
func TestLeaseTakenOver(t *testing.T) {
	t.Parallel()
	url := pgtest.New(t)
	first := pgtest.Store(t, postgres.Config{URL: url, App: "first", Decode: decode})
	second := pgtest.Store(t, postgres.Config{URL: url, App: "second", Decode: decode})
	h1, err := first.AcquireLease(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(h1.Release)
	mustAppend(t, first, h1.Term(), temp(plover, "b1", 1, noon, 38))

	type held struct {
		h   *postgres.Lease
		err error
	}
	got := make(chan held, 1)
	standsBy := labtest.NewSignal[postgres.LeaseWait](1)
	go func() {
		h, err := second.AcquireLease(t.Context(), standsBy.Emit)
		got <- held{h, err}
	}()
	conn := connect(t, url)
	if w := standsBy.Wait(t, "the second to stand by"); w.Holder.Machine != "first" || w.Away != nil {
		t.Errorf("the second waits for %+v; want for the first", w)
	}
	// the server ends the first one's connection: the lock falls with it
	one[bool](t, conn, `SELECT pg_terminate_backend(pid) FROM pg_stat_activity
		WHERE application_name = 'first holder' AND datname = current_database()`)
	select {
	case <-h1.Lost():
	case <-time.After(20 * time.Second):
		t.Fatal("the first does not notice that it lost the lab")
	}
	var h2 held
	select {
	case h2 = <-got:
	case <-time.After(20 * time.Second):
		t.Fatal("the second does not take over")
	}
	if h2.err != nil {
		t.Fatal(h2.err)
	}
	t.Cleanup(h2.h.Release)
	if how, before := h2.h.Taken(); h2.h.Term() != h1.Term()+1 || how != postgres.TakenEnded || before.Machine != "first" {
		t.Errorf("term %d after %d, %s, from %+v", h2.h.Term(), h1.Term(), how, before)
	}
	if _, err := first.Append(t.Context(), h1.Term(), []lab.Message{temp(plover, "b1", 2, noon, 38)}, nil); lab.KindOf(err) != lab.KindConflict {
		t.Errorf("append with the old term: %v; want a conflict", err)
	}
	if err := first.Commit(t.Context(), h1.Term(), lab.Commit{States: []lab.UnitState{{Unit: plover}}}); lab.KindOf(err) != lab.KindConflict {
		t.Errorf("commit with the old term: %v; want a conflict", err)
	}
	res := mustAppend(t, second, h2.h.Term(), temp(plover, "b1", 1, noon, 38), temp(plover, "b1", 2, noon, 38))
	if res.New != 1 || res.Copies != 1 {
		t.Errorf("the second goes on with %+v; want one new, one copy", res)
	}
	if n := one[int](t, conn, `SELECT count(*) FROM unit_states`); n != 0 {
		t.Error("the fenced commit wrote")
	}
}

// waitFor asks until ok, with a deadline.
func waitFor(t *testing.T, what string, ok func() bool) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	again := time.NewTicker(10 * time.Millisecond)
	defer again.Stop()
	for !ok() {
		select {
		case <-ctx.Done():
			t.Fatalf("%s: it does not", what)
		case <-again.C:
		}
	}
}

func TestAcquireLeaseEndsWithItsContext(t *testing.T) {
	t.Parallel()
	url := pgtest.New(t)
	pgtest.Lease(t, pgtest.Store(t, postgres.Config{URL: url}))
	second := pgtest.Store(t, postgres.Config{URL: url})
	ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	if _, err := second.AcquireLease(ctx, nil); lab.KindOf(err) != lab.KindUnavailable {
		t.Errorf("got %v; want unavailable", err)
	}
}

// A store whose connections the server ended works again at the next call.
func TestConnectionsEnded(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	mustAppend(t, store, term, temp(plover, "b1", 1, noon, 38))
	if _, err := conn.Exec(t.Context(), `SELECT pg_terminate_backend(pid) FROM pg_stat_activity
		WHERE datname = current_database() AND application_name IN ('wetside ingest', 'wetside web', 'wetside control')`); err != nil {
		t.Fatal(err)
	}
	batch := []lab.Message{temp(plover, "b1", 1, noon, 38), temp(plover, "b1", 2, noon, 38)}
	res, err := store.Append(t.Context(), term, batch, nil)
	if err != nil {
		if lab.KindOf(err) != lab.KindUnavailable {
			t.Fatalf("got %v; want unavailable", err)
		}
		res = mustAppend(t, store, term, batch...)
	}
	if res.New != 1 || res.Copies != 1 {
		t.Errorf("got %+v; want one new, one copy", res)
	}
}

func TestWakeAcrossProcesses(t *testing.T) {
	t.Parallel()
	url := pgtest.New(t)
	writer := pgtest.Store(t, postgres.Config{URL: url, Decode: decode})
	reader := pgtest.Store(t, postgres.Config{URL: url, Decode: decode, App: "reader"})
	term := pgtest.Lease(t, writer)
	here, there := writer.Wake(), reader.Wake()
	conn := connect(t, url)
	listening := func() int {
		return one[int](t, conn, `SELECT coalesce(max(pid), 0) FROM pg_stat_activity
			WHERE datname = current_database() AND application_name = 'reader listener' AND query LIKE 'LISTEN%' AND state = 'idle'`)
	}
	waitFor(t, "the reader listens", func() bool { return listening() != 0 })
	expectWake(t, "the reader, for having begun to listen", there)
	mustAppend(t, writer, term, temp(plover, "b1", 1, noon, 38))
	expectWake(t, "this process", here)
	expectWake(t, "the other process", there)

	old := listening()
	one[bool](t, conn, `SELECT pg_terminate_backend($1)`, old)
	waitFor(t, "the reader listens again", func() bool { pid := listening(); return pid != 0 && pid != old })
	expectWake(t, "the reader, for what it may have missed", there)
	mustAppend(t, writer, term, temp(plover, "b1", 2, noon, 38))
	expectWake(t, "the other process after it connected again", there)
}

func expectWake(t *testing.T, who string, wake <-chan struct{}) {
	t.Helper()
	select {
	case <-wake:
	case <-time.After(20 * time.Second):
		t.Fatalf("%s is not woken", who)
	}
}
