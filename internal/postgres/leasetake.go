package postgres

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// standbyLasts is how long a word of one who stands by holds.
const standbyLasts = 3 * leaseRenew

// evictAfter is how long a take-over waits for transactions of the term before
// to end by themselves.
const evictAfter = 500 * time.Millisecond

// Self is what a process says of itself to others on the same database.
type Self struct {
	Machine     string `json:"machine"`     // as people know it
	Address     string `json:"address"`     // where others reach its pages and API; empty: nowhere
	Certificate string `json:"certificate"` // SHA-256 in hex of the certificate that it shows there; empty: none
}

// Introduce has the store say of this process what self gives. Before the
// lease is asked for.
func (s *Store) Introduce(self func() Self) { s.selfNow.Store(&self) }

func (s *Store) self() Self {
	if f := s.selfNow.Load(); f != nil {
		return (*f)()
	}
	return Self{Machine: s.cfg.App}
}

// LeaseHolder is who holds the lab.
type LeaseHolder struct {
	Self
	Process string // one start of one program
	Term    int64
	Since   time.Time // since when
}

// LeaseWait says what keeps a process from the lease.
type LeaseWait struct {
	Away   error       // why the database cannot be asked; nil: it answers
	Since  time.Time   // since when it cannot be asked, or is held
	Holder LeaseHolder // who holds the lab
}

// AcquireLease waits until this process has the lease of the lab, over losses
// of the database, until ctx ends. It takes it from a holder that gave it back,
// whose database session has ended, or that did not renew it for 6 s by the
// clock of the database; the term fences off a process that has not noticed yet
// that it lost the lease. Each time it has looked and must wait on, it calls
// waits from the goroutine that called it, unless that is nil.
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
	l := &Lease{s: s, conn: conn, lost: make(chan struct{})}
	l.standby.Store(&[]Self{})
	if err = s.takeLease(ctx, l, waits); err != nil {
		end, cancel := context.WithTimeout(context.WithoutCancel(ctx), leaseTimeout)
		defer cancel()
		if ctx.Err() != nil {
			s.standsNoMore(end, conn)
		}
		conn.Close(end)
		return nil, err
	}
	s.lastTerm.Store(l.term)
	// another process may have written since this one last did
	s.appendMu.Lock()
	s.heard.clear()
	s.appendMu.Unlock()
	s.tail.forget()

	life, stop := context.WithCancel(context.Background())
	l.stop = stop
	l.wg.Go(func() { l.keep(life) })
	return l, nil
}

// takeLease looks at the row again and again until it may be taken, and takes
// it.
func (s *Store) takeLease(ctx context.Context, l *Lease, waits func(LeaseWait)) error {
	logged, seen := false, leaseSeen{}
	var said time.Time
	for {
		row, err := askWithin(ctx, func(ctx context.Context) (leaseRow, error) { return lookAtLease(ctx, l.conn) })
		if err != nil {
			return err
		}
		if how := s.mayTake(row, seen.still(row, time.Now())); how != "" {
			took, err := s.take(ctx, l, row, how)
			if took || err != nil {
				return err
			}
		}
		if !logged {
			s.log.Info("another wetside holds this lab; standing by", "machine", row.Machine, "since", row.Since)
			logged = true
		}
		if time.Since(said) >= leaseRenew {
			if err := s.standsBy(ctx, l.conn); err != nil {
				return err
			}
			said = time.Now()
		}
		waits(LeaseWait{Holder: row.LeaseHolder, Since: row.Since})
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(leaseRetry):
		}
	}
}

// leaseRow is the lease as it stands.
type leaseRow struct {
	LeaseHolder
	former    bool // held by a wetside of before, or never: the lock says which
	released  bool
	expired   bool
	sessionUp bool // the holder's session is still there
	renewed   time.Time
}

func lookAtLease(ctx context.Context, conn *pgx.Conn) (r leaseRow, err error) {
	var since, renewed *time.Time
	err = conn.QueryRow(ctx, `
		SELECT h.term, h.process, coalesce(nullif(h.machine, ''), h.app), h.address, h.certificate, h.since, h.renewed_at,
			h.expires_at IS NULL,
			coalesce(h.expires_at < h.renewed_at + $2::interval - interval '1 millisecond', false),
			coalesce(h.expires_at <= clock_timestamp(), false),
			-- what other users' sessions are is not shown to everybody
			EXISTS (SELECT FROM pg_stat_activity a WHERE a.pid = h.session AND coalesce(a.backend_start = h.session_began, true))
		FROM holder h WHERE h.lab = $1`, wholeDatabase, leaseLife).Scan(
		&r.Term, &r.Process, &r.Machine, &r.Address, &r.Certificate, &since, &renewed, &r.former, &r.released, &r.expired, &r.sessionUp)
	if since != nil {
		r.Since = since.UTC()
	}
	if renewed != nil {
		r.renewed = *renewed
	}
	return r, err
}

// leaseSeen follows by this machine's steady clock how long a row has stood as
// it is: a database whose clock was set back would keep a dead holder.
type leaseSeen struct {
	term    int64
	renewed time.Time
	at      time.Time
}

func (s *leaseSeen) still(r leaseRow, now time.Time) time.Duration {
	if s.at.IsZero() || s.term != r.Term || !s.renewed.Equal(r.renewed) {
		*s = leaseSeen{r.Term, r.renewed, now}
	}
	return now.Sub(s.at)
}

// mayTake says how the lab may be taken as it stands; empty: not.
func (s *Store) mayTake(r leaseRow, still time.Duration) string {
	switch {
	case r.former:
		return TakenFree // if the lock can be had
	case r.Process == s.instance && r.Term == s.lastTerm.Load():
		return TakenAgain
	case r.released && r.expired:
		return TakenFree
	case !r.sessionUp:
		return TakenEnded
	case r.expired, still > 2*leaseLife:
		return TakenExpired
	}
	return ""
}

// take makes the next term ours; false where it was somebody else's first.
// Transactions of the term before have the row locked: they are waited for,
// and ended when they last.
func (s *Store) take(ctx context.Context, l *Lease, r leaseRow, how string) (took bool, err error) {
	ctx, cancel := context.WithTimeout(ctx, leaseTimeout)
	defer cancel()
	locked := false
	if err := l.conn.QueryRow(ctx, `SELECT pg_try_advisory_lock($1)`, leaseLock).Scan(&locked); err != nil || r.former && !locked {
		return false, err
	}
	defer func() {
		if locked && !took && !l.conn.IsClosed() {
			_, e := l.conn.Exec(ctx, `SELECT pg_advisory_unlock($1)`, leaseLock)
			err = errors.Join(err, e)
		}
	}()
	evicted := s.evict(ctx, l.conn.PgConn().PID())
	defer evicted()
	asked := time.Now()
	next, err := s.nextTerm(ctx, l.conn, r, how)
	if errors.Is(err, pgx.ErrNoRows) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	l.term, l.how, l.before, l.locked = next, how, r.LeaseHolder, locked
	until := asked.Add(leaseLife)
	l.until.Store(&until)
	s.endLock(ctx, l)
	return true, nil
}

// nextTerm raises the term, in one round trip: a database may be far away. No
// row comes back where somebody else was first.
func (s *Store) nextTerm(ctx context.Context, conn *pgx.Conn, r leaseRow, how string) (term int64, err error) {
	self := s.self()
	err = conn.QueryRow(ctx, `
		WITH present AS (SELECT lab FROM holder WHERE lab = $1 AND term = $2 FOR UPDATE),
		taken AS (
			UPDATE holder h SET term = h.term + 1, app = $3, since = $4, process = $5, machine = $6, address = $7, certificate = $8, session = $9,
				session_began = (SELECT backend_start FROM pg_stat_activity WHERE pid = $9),
				renewed_at = clock_timestamp(), expires_at = clock_timestamp() + $10::interval
			FROM present p WHERE h.lab = p.lab RETURNING h.lab, h.term),
		noted AS (
			INSERT INTO lease_terms (lab, term, process, machine, since, how)
			SELECT lab, term, $5, $6, clock_timestamp(), $11 FROM taken),
		forgotten AS (DELETE FROM lease_terms WHERE since < clock_timestamp() - interval '31 days'),
		waited AS (DELETE FROM standbys WHERE lab = $1 AND process = $5 OR seen_at < clock_timestamp() - interval '1 day')
		SELECT term FROM taken`,
		wholeDatabase, r.Term, s.cfg.App, s.clock.Now(), s.instance, self.Machine, self.Address, self.Certificate,
		int32(conn.PgConn().PID()), leaseLife, how).Scan(&term)
	return term, err
}

// evict ends, after a moment, the sessions that keep ours waiting: transactions
// of the term before, whose process may be stopped or cut off and never ends
// them. Sessions that ask for the lease themselves are left alone. The function
// that it gives ends it.
func (s *Store) evict(ctx context.Context, session uint32) func() {
	ctx, cancel := context.WithCancel(ctx)
	done := make(chan struct{})
	go func() {
		defer close(done)
		for {
			select {
			case <-ctx.Done():
				return
			case <-time.After(evictAfter):
			}
			var n int
			err := s.web.QueryRow(ctx, `
				SELECT count(*) FILTER (WHERE pg_terminate_backend(a.pid)) FROM pg_stat_activity a
				WHERE a.pid = ANY(pg_blocking_pids($1)) AND a.application_name NOT LIKE '% holder'`, int32(session)).Scan(&n)
			if ctx.Err() == nil && (err != nil || n > 0) {
				s.log.Warn("ended what kept the lab from being taken over", "sessions", n, "error", err)
			}
		}
	}()
	return func() { cancel(); <-done }
}

// endLock ends the session of the holder before, which has the lock of before.
// Whether that works or not: the row is ours.
func (s *Store) endLock(ctx context.Context, l *Lease) {
	if l.locked {
		return
	}
	_, err := l.conn.Exec(ctx, `
		SELECT pg_terminate_backend(pid) FROM pg_locks
		WHERE locktype = 'advisory' AND granted AND classid = 0 AND objid = $1 AND objsubid = 1 AND pid <> pg_backend_pid()
		  AND database = (SELECT oid FROM pg_database WHERE datname = current_database())`, leaseLock)
	if err != nil {
		s.log.Debug("the session of the holder before was not ended", "error", err)
	}
}

// standsBy says that this process waits for the lab.
func (s *Store) standsBy(ctx context.Context, conn *pgx.Conn) error {
	self := s.self()
	_, err := askWithin(ctx, func(ctx context.Context) (struct{}, error) {
		_, err := conn.Exec(ctx, `
			INSERT INTO standbys (lab, process, machine, address, certificate, seen_at) VALUES ($1, $2, $3, $4, $5, clock_timestamp())
			ON CONFLICT ON CONSTRAINT standbys_key DO UPDATE SET
				machine = excluded.machine, address = excluded.address, certificate = excluded.certificate, seen_at = excluded.seen_at`,
			wholeDatabase, s.instance, self.Machine, self.Address, self.Certificate)
		return struct{}{}, err
	})
	return err
}

// standsNoMore takes that back; where it cannot be said, it is no longer
// believed in a moment.
func (s *Store) standsNoMore(ctx context.Context, conn *pgx.Conn) {
	if conn.IsClosed() {
		return
	}
	if _, err := conn.Exec(ctx, `DELETE FROM standbys WHERE lab = $1 AND process = $2`, wholeDatabase, s.instance); err != nil {
		s.log.Debug("that this process stands by no longer was not said", "error", err)
	}
}

// askWithin asks the server, which has a while to answer.
func askWithin[T any](ctx context.Context, ask func(context.Context) (T, error)) (T, error) {
	ctx, cancel := context.WithTimeout(ctx, leaseTimeout)
	defer cancel()
	return ask(ctx)
}
