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
	holderLock    = 0x77657473 // "wets"
	partitionLock = 0x77657474
)

const (
	holdRetry   = 500 * time.Millisecond // between attempts
	holdCheck   = 2 * time.Second        // how often the lock's connection is asked
	holdTimeout = 5 * time.Second        // and how long it has to answer
)

// Holding is the right to write the lab's telemetry and findings.
type Holding struct {
	term int64
	conn *pgx.Conn
	lost chan struct{}
	stop context.CancelFunc
	wg   sync.WaitGroup
	once sync.Once
}

// Waiting says what keeps a process from holding the lab.
type Waiting struct {
	Away   error     // why the database cannot be asked; nil: it answers
	Holder string    // who holds the lab; "" where it is this process itself, over a connection that broke
	Since  time.Time // since when one or the other has been so
}

// heldBefore is the connection by which this process held the lab last.
type heldBefore struct {
	mu   sync.Mutex
	pid  uint32
	term int64
}

// Hold waits until this process holds the lab, over losses of the database,
// until ctx ends. The lock belongs to a connection of its own and falls with
// it; the term fences off a holder that has not noticed yet.
func (s *Store) Hold(ctx context.Context) (*Holding, error) {
	return s.HoldTelling(ctx, func(Waiting) {})
}

// HoldTelling is Hold, and tells what it waits for: each time it has looked,
// from the goroutine that called it.
func (s *Store) HoldTelling(ctx context.Context, tell func(Waiting)) (*Holding, error) {
	var away time.Time
	for {
		h, err := s.tryHold(ctx, func(w Waiting) { away = time.Time{}; tell(w) })
		if err == nil {
			return h, nil
		}
		if ctx.Err() != nil || lab.KindOf(err) != lab.KindUnavailable {
			return nil, err
		}
		if away.IsZero() {
			away = s.clock.Now()
			s.log.Warn("waiting for the database to hold the lab", "error", err)
		}
		tell(Waiting{Away: err, Since: away})
		select {
		case <-ctx.Done():
		case <-time.After(holdRetry):
		}
	}
}

func (s *Store) tryHold(ctx context.Context, tell func(Waiting)) (_ *Holding, err error) {
	defer s.wrap(&err, nil, "hold the lab")
	conn, err := s.connect(ctx, holderSession)
	if err != nil {
		return nil, err
	}
	h := &Holding{conn: conn, lost: make(chan struct{})}
	if h.term, err = s.takeTerm(ctx, conn, tell); err != nil {
		end, cancel := context.WithTimeout(context.WithoutCancel(ctx), holdTimeout)
		defer cancel()
		conn.Close(end)
		return nil, err
	}
	s.heldBy.mu.Lock()
	s.heldBy.pid, s.heldBy.term = conn.PgConn().PID(), h.term
	s.heldBy.mu.Unlock()
	// another holder may have written since this process last did
	s.appendMu.Lock()
	s.heard.clear()
	s.appendMu.Unlock()
	s.tail.forget()

	life, stop := context.WithCancel(context.Background())
	h.stop = stop
	h.wg.Go(func() { h.watch(life, s.resetPools) })
	return h, nil
}

// takeTerm asks for the lock again and again. It does not wait for it at the
// server: a connection that breaks while it waits would be given the lock and
// keep it.
func (s *Store) takeTerm(ctx context.Context, conn *pgx.Conn, tell func(Waiting)) (term int64, err error) {
	for logged := false; ; {
		got, err := askWithin(ctx, func(ctx context.Context) (got bool, err error) {
			err = conn.QueryRow(ctx, `SELECT pg_try_advisory_lock($1)`, holderLock).Scan(&got)
			return got, err
		})
		if err != nil {
			return 0, err
		}
		if got {
			break
		}
		w, err := askWithin(ctx, func(ctx context.Context) (Waiting, error) { return s.whoHolds(ctx, conn) })
		if err != nil {
			return 0, err
		}
		if !logged && w.Holder != "" {
			s.log.Info("another wetside holds this lab; standing by", "holder", w.Holder)
			logged = true
		}
		tell(w)
		select {
		case <-ctx.Done():
			return 0, ctx.Err()
		case <-time.After(holdRetry):
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

// whoHolds tells who has the lock. Where it is this process itself, by a
// connection that it has given up for lost, that one is ended.
func (s *Store) whoHolds(ctx context.Context, conn *pgx.Conn) (Waiting, error) {
	s.heldBy.mu.Lock()
	pid, term := s.heldBy.pid, s.heldBy.term
	s.heldBy.mu.Unlock()
	var w Waiting
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
		  AND database = (SELECT oid FROM pg_database WHERE datname = current_database())`, holderLock, pid)
	return w, err
}

// askWithin asks the server, which has a while to answer.
func askWithin[T any](ctx context.Context, ask func(context.Context) (T, error)) (T, error) {
	ctx, cancel := context.WithTimeout(ctx, holdTimeout)
	defer cancel()
	return ask(ctx)
}

// watch looks after the lock's connection. When that is lost the pools begin
// anew as well: each of their connections would have to be tried and given up,
// one after the other.
func (h *Holding) watch(life context.Context, reset func()) {
	for {
		// returns at once when the connection breaks, by timeout otherwise
		wait, cancel := context.WithTimeout(life, holdCheck)
		_, err := h.conn.WaitForNotification(wait)
		broken := err != nil && wait.Err() == nil || h.conn.IsClosed()
		cancel()
		if life.Err() != nil {
			return
		}
		if broken {
			close(h.lost)
			reset()
			return
		}
		ask, cancel := context.WithTimeout(life, holdTimeout)
		err = h.conn.Ping(ask)
		cancel()
		if life.Err() != nil {
			return
		}
		if err != nil {
			close(h.lost)
			reset()
			return
		}
	}
}

// Term is the number every write must carry.
func (h *Holding) Term() int64 { return h.term }

// Lost is closed when the lock's connection broke: stop writing, and Hold
// again. It is not closed by Release.
func (h *Holding) Lost() <-chan struct{} { return h.lost }

// Release gives the lab back. It may be called twice.
func (h *Holding) Release() {
	h.once.Do(func() {
		h.stop()
		h.wg.Wait()
		ctx, cancel := context.WithTimeout(context.Background(), holdTimeout)
		defer cancel()
		h.conn.Close(ctx)
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
