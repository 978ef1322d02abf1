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
	holdRetry   = 500 * time.Millisecond // between attempts while the database is away
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

// Hold waits until this process holds the lab, over losses of the database,
// until ctx ends. The lock belongs to a connection of its own and falls with
// it; the term fences off a holder that has not noticed yet.
func (s *Store) Hold(ctx context.Context) (*Holding, error) {
	for logged := false; ; {
		h, err := s.tryHold(ctx)
		if err == nil {
			return h, nil
		}
		if ctx.Err() != nil || lab.KindOf(err) != lab.KindUnavailable {
			return nil, err
		}
		if !logged {
			s.log.Warn("waiting for the database to hold the lab", "error", err)
			logged = true
		}
		select {
		case <-ctx.Done():
		case <-time.After(holdRetry):
		}
	}
}

func (s *Store) tryHold(ctx context.Context) (_ *Holding, err error) {
	defer s.wrap(&err, nil, "hold the lab")
	cc := s.control.Config().ConnConfig
	cc.RuntimeParams["application_name"] = s.cfg.App + " holder"
	conn, err := pgx.ConnectConfig(ctx, cc)
	if err != nil {
		return nil, err
	}
	h := &Holding{conn: conn, lost: make(chan struct{})}
	if h.term, err = takeTerm(ctx, conn, s); err != nil {
		conn.Close(context.WithoutCancel(ctx))
		return nil, err
	}
	// another holder may have written since this process last did
	s.appendMu.Lock()
	s.heard.clear()
	s.appendMu.Unlock()

	life, stop := context.WithCancel(context.Background())
	h.stop = stop
	h.wg.Go(func() { h.watch(life) })
	return h, nil
}

func takeTerm(ctx context.Context, conn *pgx.Conn, s *Store) (term int64, err error) {
	var got bool
	if err = conn.QueryRow(ctx, `SELECT pg_try_advisory_lock($1)`, holderLock).Scan(&got); err != nil {
		return 0, err
	}
	if !got {
		s.log.Info("another wetside holds this lab; standing by")
		if _, err = conn.Exec(ctx, `SELECT pg_advisory_lock($1)`, holderLock); err != nil {
			return 0, err
		}
	}
	// waits for transactions of the term before, which have the row locked
	err = conn.QueryRow(ctx, `
		UPDATE holder SET term = term + 1, app = $1, since = $2 RETURNING term`,
		s.cfg.App, s.clock.Now()).Scan(&term)
	return term, err
}

func (h *Holding) watch(life context.Context) {
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
		return lab.Errorf(lab.KindConflict, "another wetside took over this lab: term %d is over, %d is the present one", term, now)
	}
	return nil
}
