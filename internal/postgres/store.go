package postgres

import (
	"context"
	"log/slog"
	"sync"
	"sync/atomic"

	"github.com/jackc/pgx/v5/pgxpool"

	"wetside/internal/lab"
)

// Config is what Open needs.
type Config struct {
	// URL of the database, postgres://... Required.
	URL string
	// Log receives what a person should know. Defaults to slog.Default().
	Log *slog.Logger
	// Clock tells the time. Defaults to the machine's clock.
	Clock lab.Clock
	// App names this program in pg_stat_activity. Defaults to "wetside".
	App string
	// Decode reads a stored payload with the code that accepted it. Needed by
	// ArrivalsAfter and UnitMessages only.
	Decode func(lab.Raw) (lab.Message, error)
	// Migrating is told before the tables of an older version are brought to
	// that of this program, which may take a while. Defaults to nobody.
	Migrating func(from, to int64)
}

// Store is the database. Safe for concurrent use.
type Store struct {
	cfg   Config
	log   *slog.Logger
	clock lab.Clock

	// Apart, so that a slow query of the pages never makes telemetry wait.
	ingest  *pgxpool.Pool // Append, one connection
	web     *pgxpool.Pool // queries of people
	control *pgxpool.Pool // the worker, migrations, partitions, notifications
	paging  *pgxpool.Pool // pages to people

	appendMu sync.Mutex // one writer at a time; guards heard
	heard    *heardBoots
	tail     tail

	wake     chan struct{}
	announce chan struct{}
	listen   sync.Once
	instance string
	lastTerm atomic.Int64 // that this process held
	selfNow  atomic.Pointer[func() Self]

	stop context.CancelFunc
	life context.Context
	wg   sync.WaitGroup
}

// Open connects, migrates the database and makes partitions ahead. It fails
// where the database cannot be reached or migrated.
func Open(ctx context.Context, cfg Config) (_ *Store, err error) {
	if cfg.URL == "" {
		return nil, lab.Errorf(lab.KindInvalid, "no database is named; give a URL such as postgres://user@host/wetside")
	}
	if cfg.Log == nil {
		cfg.Log = slog.Default()
	}
	if cfg.Clock == nil {
		cfg.Clock = lab.SystemClock{}
	}
	if cfg.App == "" {
		cfg.App = "wetside"
	}
	s := &Store{
		cfg: cfg, log: cfg.Log, clock: cfg.Clock,
		heard:    newHeardBoots(),
		wake:     make(chan struct{}, 1),
		announce: make(chan struct{}, 1),
		instance: newInstance(),
	}
	s.life, s.stop = context.WithCancel(context.Background())
	defer func() {
		if err != nil {
			s.Close()
		}
	}()
	for _, p := range []struct {
		pool **pgxpool.Pool
		session
	}{{&s.ingest, ingestSession}, {&s.web, webSession}, {&s.control, controlSession}, {&s.paging, pagingSession}} {
		if *p.pool, err = openPool(cfg, p.session); err != nil {
			return nil, err
		}
	}
	if err = s.migrate(ctx); err != nil {
		return nil, err
	}
	if err = s.partitionsAhead(ctx); err != nil {
		return nil, err
	}
	s.wg.Go(s.partitionDaily)
	s.wg.Go(s.announceLoop)
	return s, nil
}

func openPool(cfg Config, n session) (*pgxpool.Pool, error) {
	pc, err := pgxpool.ParseConfig(cfg.URL)
	if err != nil {
		return nil, lab.Errorf(lab.KindInvalid, "the database URL cannot be read: %w; give postgres://user@host/wetside", err)
	}
	pc.MaxConns = n.conns
	pc.PingTimeout = pingTimeout
	pc.MaxConnIdleTime = idleConns
	n.apply(cfg, pc.ConnConfig)
	pc.AfterConnect = n.settle
	return pgxpool.NewWithConfig(context.Background(), pc)
}

// Close ends the background work and gives all connections back. It waits
// for calls under way. It may be called twice.
func (s *Store) Close() {
	s.stop()
	s.wg.Wait()
	for _, p := range []*pgxpool.Pool{s.ingest, s.web, s.control, s.paging} {
		if p != nil {
			p.Close()
		}
	}
}

// resetPools closes what is idle, and the rest when it is given back.
func (s *Store) resetPools() {
	for _, p := range []*pgxpool.Pool{s.ingest, s.web, s.control, s.paging} {
		p.Reset()
	}
}

// Ready tells whether the database answers and is migrated.
func (s *Store) Ready(ctx context.Context) (err error) {
	defer s.wrap(&err, s.web, "ask the database whether it is ready")
	var last int64
	return s.web.QueryRow(ctx, `SELECT last FROM arrival_counter`).Scan(&last)
}
