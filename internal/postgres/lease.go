package postgres

import (
	"context"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// Numbers of the advisory locks in this database.
const (
	leaseLock     = 0x77657473 // "wets": how a wetside of before held the lab; kept beside the row for its sake
	partitionLock = 0x77657474
)

const (
	leaseRenew   = 2 * time.Second        // between renewals
	leaseLife    = 6 * time.Second        // without one, another may take over
	leaseRetry   = 250 * time.Millisecond // between looks of one who waits
	leaseTimeout = 5 * time.Second        // and how long an answer may take
	leaseLate    = 2 * time.Second        // the same for a renewal after its time: a process that was stopped, and nobody took over
)

// wholeDatabase keys the lease of the one lab that has the whole database.
const wholeDatabase = ""

// Lease is the right to write the lab's telemetry and findings. One process at
// a time has it, by a row that it renews; each lease has a term, a number
// higher than all before. Safe for concurrent use.
type Lease struct {
	s       *Store
	term    int64
	how     string
	before  LeaseHolder
	conn    *pgx.Conn
	locked  bool // the lock of before is ours too
	until   atomic.Pointer[time.Time]
	standby atomic.Pointer[[]Self]
	lost    chan struct{}
	stop    context.CancelFunc
	wg      sync.WaitGroup
	once    sync.Once
}

// How a lease came to its holder.
const (
	TakenFree    = "free"    // nobody held the lab: the one before gave it back, or there was none
	TakenAgain   = "again"   // this very process had it before
	TakenEnded   = "ended"   // the session of the one before had ended: it was killed, or lost the database
	TakenExpired = "expired" // the one before did not renew: it is stopped, hung or cut off
)

// Term is the number every write must carry.
func (l *Lease) Term() int64 { return l.term }

// Taken says how the lab came here, and from whom.
func (l *Lease) Taken() (how string, before LeaseHolder) { return l.how, l.before }

// Lost is closed when the lease has ended: another took over, or it could not
// be renewed in time. Stop writing, and acquire it again. Release does not
// close it.
func (l *Lease) Lost() <-chan struct{} { return l.lost }

// Holds tells whether nobody else can have taken over yet, by this machine's
// own clock and with no question to anybody: what cannot be taken back, such as
// a page, asks it right before. A process that was stopped and goes on again
// finds it false before Lost is closed.
func (l *Lease) Holds() bool {
	select {
	case <-l.lost:
		return false
	default:
	}
	until := l.until.Load()
	// both clocks: the steady one stands still while a machine is suspended, the
	// one on the wall may be set
	return time.Now().Before(*until) && time.Now().Round(0).Before(until.Round(0))
}

// Sure waits until the lease Holds, and fails when it has ended: what cannot be
// taken back is done after it, or not at all.
func (l *Lease) Sure(ctx context.Context) error {
	for !l.Holds() {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-l.lost:
			return lab.ErrStaleTerm
		case <-time.After(leaseRetry / 10):
		}
	}
	return nil
}

// Standbys are those who waited for the lab when it was last renewed.
func (l *Lease) Standbys() []Self { return *l.standby.Load() }

// Release gives the lab back, at once for who stands by. It may be called
// twice.
func (l *Lease) Release() {
	l.once.Do(func() {
		l.stop()
		l.wg.Wait()
		ctx, cancel := context.WithTimeout(context.Background(), leaseTimeout)
		defer cancel()
		if !l.conn.IsClosed() {
			_, err := l.conn.Exec(ctx, `UPDATE holder SET expires_at = clock_timestamp() WHERE lab = $1 AND term = $2`, wholeDatabase, l.term)
			if err != nil { // it expires
				l.s.log.Debug("the lab was not given back", "error", err)
			}
		}
		l.conn.Close(ctx)
	})
}

// keep renews the lease until that fails. Then the pools begin anew as well:
// each of their connections would have to be tried and given up, one after the
// other.
func (l *Lease) keep(life context.Context) {
	next := leaseRenew
	if !l.locked {
		next = leaseRetry
	}
	for {
		// returns at once when the connection breaks, by timeout otherwise
		wait, cancel := context.WithTimeout(life, next)
		_, err := l.conn.WaitForNotification(wait)
		broken := err != nil && wait.Err() == nil || l.conn.IsClosed()
		cancel()
		if life.Err() != nil {
			return
		}
		if broken {
			break
		}
		held, err := l.renew(life)
		if life.Err() != nil {
			return
		}
		if err == nil && !held {
			l.s.log.Warn("another wetside took over this lab", "term", l.term)
			break
		}
		if next = leaseRenew; err != nil {
			if l.conn.IsClosed() || !time.Now().Before(*l.until.Load()) {
				l.s.log.Warn("the lab could not be held any longer", "error", err)
				break
			}
			next = leaseRetry
		}
	}
	close(l.lost)
	l.s.resetPools()
}

// renew lets the lease last on from the moment of asking. It gives false where
// another has it.
func (l *Lease) renew(life context.Context) (held bool, err error) {
	asked := time.Now()
	within := *l.until.Load()
	if late := asked.Add(leaseLate); within.Before(late) {
		within = late
	}
	ctx, cancel := context.WithDeadline(life, within)
	defer cancel()
	self := l.s.self()
	var waiting []Self
	var locked bool
	err = l.conn.QueryRow(ctx, `
		WITH renewed AS (
			UPDATE holder SET renewed_at = statement_timestamp(), expires_at = statement_timestamp() + $3::interval, address = $4, certificate = $5
			WHERE lab = $1 AND term = $2 RETURNING 1)
		SELECT EXISTS (SELECT FROM renewed), $6 OR pg_try_advisory_lock($7),
			(SELECT coalesce(jsonb_agg(jsonb_build_object('machine', machine, 'address', address, 'certificate', certificate) ORDER BY process), '[]')
				FROM standbys WHERE lab = $1 AND seen_at > clock_timestamp() - $8::interval)`,
		wholeDatabase, l.term, leaseLife, self.Address, self.Certificate, l.locked, leaseLock, standbyLasts).Scan(&held, &locked, &waiting)
	if err != nil {
		return false, err
	}
	l.locked = locked
	if held {
		until := asked.Add(leaseLife)
		l.until.Store(&until)
	}
	l.standby.Store(&waiting)
	return held, nil
}

// fence checks inside tx that term is the present one, and keeps it so until
// the transaction ends. It stands in the way of who takes over, not of the
// holder's renewals, which change no key.
func fence(ctx context.Context, tx pgx.Tx, term int64) error {
	var now int64
	if err := tx.QueryRow(ctx, `SELECT term FROM holder WHERE lab = $1 FOR KEY SHARE`, wholeDatabase).Scan(&now); err != nil {
		return err
	}
	if now != term {
		return lab.Errorf(lab.KindConflict, "another wetside took over this lab: term %d has ended, %d is the present one", term, now)
	}
	return nil
}
