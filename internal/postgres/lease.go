package postgres

import (
	"context"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// Numbers of the advisory locks in this database.
const (
	leaseLock     = 0x77657473 // "wets"
	partitionLock = 0x77657474
)

const (
	leaseRetry   = 500 * time.Millisecond // between attempts
	leaseCheck   = 2 * time.Second        // how often the lock's connection is asked
	leaseTimeout = 5 * time.Second        // and how long it has to answer
)

// Lease is the right to write the lab's telemetry and findings. One process at
// a time has it; each lease has a term, a number higher than all before.
type Lease struct {
	term int64
	conn *pgx.Conn
	lost chan struct{}
	stop context.CancelFunc
	wg   sync.WaitGroup
	once sync.Once
}

// LeaseWait says what keeps a process from the lease.
type LeaseWait struct {
	Away   error     // why the database cannot be asked; nil: it answers
	Holder string    // who holds the lab; "" where it is this process itself, over a connection that broke
	Since  time.Time // since when one or the other has been so
}

// lastLease is the connection by which this process had the lease last.
type lastLease struct {
	mu   sync.Mutex
	pid  uint32
	term int64
}

// AcquireLease waits until this process has the lease of the lab, over losses
// of the database, until ctx ends. The lock behind it belongs to a connection
// of its own and falls with it; the term fences off a process that has not
// noticed yet that it lost the lease. Each time it has looked and must wait on,
// it calls waits from the goroutine that called it, unless that is nil.
func (s *Store) AcquireLease(ctx context.Context, waits func(LeaseWait)) (*Lease, error) {
	if waits == nil {
		waits = func(LeaseWait) {}
	}
	var away time.Time
	for {
		l, err := s.tryLease(ctx, func(w LeaseWait) { away = time.Time{}; waits(w) })
		if err == nil {
			return l, nil
		}
		if ctx.Err() != nil || lab.KindOf(err) != lab.KindUnavailable {
			return nil, err
		}
		if away.IsZero() {
			away = s.clock.Now()
			s.log.Warn("waiting for the database to hold the lab", "error", err)
		}
		waits(LeaseWait{Away: err, Since: away})
		select {
		case <-ctx.Done():
		case <-time.After(leaseRetry):
		}
	}
}

func (s *Store) tryLease(ctx context.Context, waits func(LeaseWait)) (_ *Lease, err error) {
	defer s.wrap(&err, nil, "hold the lab")
	conn, err := s.connect(ctx, leaseSession)
	if err != nil {
		return nil, err
	}
	l := &Lease{conn: conn, lost: make(chan struct{})}
	if l.term, err = s.takeTerm(ctx, conn, waits); err != nil {
		end, cancel := context.WithTimeout(context.WithoutCancel(ctx), leaseTimeout)
		defer cancel()
		conn.Close(end)
		return nil, err
	}
	s.lastLease.mu.Lock()
	s.lastLease.pid, s.lastLease.term = conn.PgConn().PID(), l.term
	s.lastLease.mu.Unlock()
	// another process may have written since this one last did
	s.appendMu.Lock()
	s.heard.clear()
	s.appendMu.Unlock()
	s.tail.forget()

	life, stop := context.WithCancel(context.Background())
	l.stop = stop
	l.wg.Go(func() { l.watch(life, s.resetPools) })
	return l, nil
}

// takeTerm asks for the lock again and again. It does not wait for it at the
// server: a connection that breaks while it waits would be given the lock and
// keep it.
func (s *Store) takeTerm(ctx context.Context, conn *pgx.Conn, waits func(LeaseWait)) (term int64, err error) {
	for logged := false; ; {
		got, err := askWithin(ctx, func(ctx context.Context) (got bool, err error) {
			err = conn.QueryRow(ctx, `SELECT pg_try_advisory_lock($1)`, leaseLock).Scan(&got)
			return got, err
		})
		if err != nil {
			return 0, err
		}
		if got {
			break
		}
		w, err := askWithin(ctx, func(ctx context.Context) (LeaseWait, error) { return s.leaseHolder(ctx, conn) })
		if err != nil {
			return 0, err
		}
		if !logged && w.Holder != "" {
			s.log.Info("another wetside holds this lab; standing by", "holder", w.Holder)
			logged = true
		}
		waits(w)
		select {
		case <-ctx.Done():
			return 0, ctx.Err()
		case <-time.After(leaseRetry):
		}
	}
	// waits for transactions of the term before, which have the row locked;
	// not for long: the server ends those whose other end is gone
	return askWithin(ctx, func(ctx context.Context) (term int64, err error) {
		err = conn.QueryRow(ctx, `
			UPDATE holder SET term = term + 1, app = $1, since = $2 RETURNING term`,
			s.cfg.App, s.clock.Now()).Scan(&term)
		return term, err
	})
}

// leaseHolder tells who has the lock. Where it is this process itself, by a
// connection that it has given up for lost, that one is ended.
func (s *Store) leaseHolder(ctx context.Context, conn *pgx.Conn) (LeaseWait, error) {
	s.lastLease.mu.Lock()
	pid, term := s.lastLease.pid, s.lastLease.term
	s.lastLease.mu.Unlock()
	var w LeaseWait
	var now int64
	if err := conn.QueryRow(ctx, `SELECT app, since, term FROM holder`).Scan(&w.Holder, &w.Since, &now); err != nil {
		return w, err
	}
	if pid == 0 || now != term {
		return w, nil
	}
	w.Holder = ""
	_, err := conn.Exec(ctx, `
		SELECT pg_terminate_backend(pid) FROM pg_locks
		WHERE locktype = 'advisory' AND granted AND objid = $1 AND pid = $2
		  AND database = (SELECT oid FROM pg_database WHERE datname = current_database())`, leaseLock, pid)
	return w, err
}

// askWithin asks the server, which has a while to answer.
func askWithin[T any](ctx context.Context, ask func(context.Context) (T, error)) (T, error) {
	ctx, cancel := context.WithTimeout(ctx, leaseTimeout)
	defer cancel()
	return ask(ctx)
}

// watch looks after the lock's connection. When that is lost the pools begin
// anew as well: each of their connections would have to be tried and given up,
// one after the other.
func (l *Lease) watch(life context.Context, reset func()) {
	for {
		// returns at once when the connection breaks, by timeout otherwise
		wait, cancel := context.WithTimeout(life, leaseCheck)
		_, err := l.conn.WaitForNotification(wait)
		broken := err != nil && wait.Err() == nil || l.conn.IsClosed()
		cancel()
		if life.Err() != nil {
			return
		}
		if broken {
			close(l.lost)
			reset()
			return
		}
		ask, cancel := context.WithTimeout(life, leaseTimeout)
		err = l.conn.Ping(ask)
		cancel()
		if life.Err() != nil {
			return
		}
		if err != nil {
			close(l.lost)
			reset()
			return
		}
	}
}

// Term is the number every write must carry.
func (l *Lease) Term() int64 { return l.term }

// Lost is closed when the lock's connection broke: stop writing, and acquire
// the lease again. Release does not close it.
func (l *Lease) Lost() <-chan struct{} { return l.lost }

// Release gives the lab back. It may be called twice.
func (l *Lease) Release() {
	l.once.Do(func() {
		l.stop()
		l.wg.Wait()
		ctx, cancel := context.WithTimeout(context.Background(), leaseTimeout)
		defer cancel()
		l.conn.Close(ctx)
	})
}

// fence checks inside tx that term is the present one, and keeps it so until
// the transaction ends.
func fence(ctx context.Context, tx pgx.Tx, term int64) error {
	var now int64
	if err := tx.QueryRow(ctx, `SELECT term FROM holder FOR SHARE`).Scan(&now); err != nil {
		return err
	}
	if now != term {
		return lab.Errorf(lab.KindConflict, "another wetside took over this lab: term %d has ended, %d is the present one", term, now)
	}
	return nil
}
