// Package pgtest gives tests a real PostgreSQL: one private cluster for the
// test binary, a migrated template in it, and a clone for each test that asks.
//
//	func TestMain(m *testing.M) { pgtest.Main(m) }
//
//	func TestX(t *testing.T) {
//		t.Parallel()
//		store := pgtest.Store(t, postgres.Config{})
//		...
//	}
//
// The cluster starts with the first test that asks and is ended by Main, or by
// the system when the test binary dies. A machine without PostgreSQL fails the
// test: a database test that is skipped proves nothing. New, Store and Hold
// are safe for concurrent use. For tests only; no program imports it.
package pgtest

import (
	"context"
	"fmt"
	"log/slog"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"go.uber.org/goleak"

	"wetside/internal/postgres"
	"wetside/internal/postgres/private"
)

const (
	startTimeout = 2 * time.Minute
	template     = "wetside_template"
)

var (
	inMain  atomic.Bool
	counter atomic.Int64
	cluster struct {
		sync.Mutex
		*private.Cluster
		dir string
		err error
	}
)

// Main runs the tests, ends the cluster, calls atEnd and looks for leaked
// goroutines. It does not return.
func Main(m *testing.M, atEnd ...func()) {
	inMain.Store(true)
	code := m.Run()
	stop()
	for _, f := range atEnd {
		f()
	}
	if code == 0 {
		if err := goleak.Find(); err != nil {
			fmt.Fprintln(os.Stderr, "goroutines leaked:", err)
			code = 1
		}
	}
	os.Exit(code)
}

func stop() {
	cluster.Lock()
	defer cluster.Unlock()
	if cluster.Cluster != nil {
		cluster.Stop()
	}
	if cluster.dir != "" {
		os.RemoveAll(cluster.dir)
	}
}

// start brings the cluster up once and makes the template.
func start() (*private.Cluster, error) {
	cluster.Lock()
	defer cluster.Unlock()
	if cluster.Cluster != nil || cluster.err != nil {
		return cluster.Cluster, cluster.err
	}
	cluster.Cluster, cluster.err = startCluster()
	return cluster.Cluster, cluster.err
}

func startCluster() (*private.Cluster, error) {
	ctx, cancel := context.WithTimeout(context.Background(), startTimeout)
	defer cancel()
	dir, err := os.MkdirTemp("", "wetside-pgtest-")
	if err != nil {
		return nil, err
	}
	cluster.dir = dir
	if err := os.Chmod(dir, 0o711); err != nil { // the server's user passes through
		return nil, err
	}
	c, err := private.Start(ctx, private.Config{
		Dir: filepath.Join(dir, "pg"), Log: slog.New(slog.DiscardHandler), EndWithProcess: true,
		// nothing of a test outlives it; what proves durability starts its own
		Settings: map[string]string{"fsync": "off", "full_page_writes": "off", "max_connections": "400"},
	})
	if err != nil {
		return nil, err
	}
	if err := makeTemplate(ctx, c); err != nil {
		c.Stop()
		return nil, err
	}
	return c, nil
}

func makeTemplate(ctx context.Context, c *private.Cluster) error {
	if err := exec(ctx, c, "CREATE DATABASE "+template); err != nil {
		return err
	}
	store, err := postgres.Open(ctx, postgres.Config{URL: urlOf(c, template), Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	store.Close()
	return nil
}

func exec(ctx context.Context, c *private.Cluster, sql string) error {
	conn, err := pgx.Connect(ctx, c.URL())
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	_, err = conn.Exec(ctx, sql)
	return err
}

func urlOf(c *private.Cluster, database string) string {
	u, err := url.Parse(c.URL())
	if err != nil {
		panic(err) // private made it
	}
	u.Path = "/" + database
	return u.String()
}

// New gives the URL of a migrated database of the test's own.
func New(t testing.TB) string {
	t.Helper()
	return create(t, template)
}

// Empty gives the URL of a database of the test's own with nothing in it.
func Empty(t testing.TB) string {
	t.Helper()
	return create(t, "template0")
}

func create(t testing.TB, from string) string {
	t.Helper()
	if !inMain.Load() {
		t.Fatal(`pgtest: want func TestMain(m *testing.M) { pgtest.Main(m) } in this package, which ends the cluster`)
	}
	c, err := start()
	if err != nil {
		t.Fatalf("pgtest: %v", err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), startTimeout)
	defer cancel()
	name := fmt.Sprintf("test_%d", counter.Add(1))
	cluster.Lock() // two clones of one template at once disturb each other
	err = exec(ctx, c, "CREATE DATABASE "+name+" TEMPLATE "+from)
	cluster.Unlock()
	if err != nil {
		t.Fatalf("pgtest: %v", err)
	}
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), startTimeout)
		defer cancel()
		if err := exec(ctx, c, "DROP DATABASE "+name+" WITH (FORCE)"); err != nil {
			t.Errorf("pgtest: %v", err)
		}
	})
	return urlOf(c, name)
}

// Store opens a store on a database of the test's own, and closes it at the
// end. What it logs goes to the test's log.
func Store(t testing.TB, cfg postgres.Config) *postgres.Store {
	t.Helper()
	if cfg.URL == "" {
		cfg.URL = New(t)
	}
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.NewTextHandler(logWriter{t}, &slog.HandlerOptions{Level: slog.LevelWarn}))
	}
	store, err := postgres.Open(t.Context(), cfg)
	if err != nil {
		t.Fatalf("pgtest: %v", err)
	}
	t.Cleanup(store.Close)
	return store
}

// Lease acquires the lease of the lab for the test and gives its term.
func Lease(t testing.TB, store *postgres.Store) int64 {
	t.Helper()
	lease, err := store.AcquireLease(t.Context(), nil)
	if err != nil {
		t.Fatalf("pgtest: %v", err)
	}
	t.Cleanup(lease.Release)
	return lease.Term()
}

type logWriter struct{ t testing.TB }

func (w logWriter) Write(p []byte) (int, error) {
	w.t.Log(strings.TrimRight(string(p), "\n"))
	return len(p), nil
}
