package private

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"wetside/internal/lab"
)

// Config says where and how the cluster runs.
type Config struct {
	// Dir holds everything of the cluster. Made where it is missing. Required.
	Dir string
	// Log receives what a person should know. Defaults to slog.Default().
	Log *slog.Logger
	// Settings are further server settings. Defaults to none.
	Settings map[string]string
	// EndWithProcess ends the server when this process ends in whatever way,
	// where the system can. Defaults to false: the next Start adopts it.
	EndWithProcess bool

	search []string // folders with binaries; tests set it
}

const (
	readyTimeout = 5 * time.Minute // recovery after a power cut may take its time
	readyPoll    = 20 * time.Millisecond
	startTries   = 40 // while children of a killed server still end
)

// Cluster is a running private PostgreSQL.
type Cluster struct {
	l      layout
	log    *slog.Logger
	share  *os.File // shared lock: this process uses the cluster
	server *server
}

// Start brings the cluster of cfg.Dir up, making it where there is none, and
// returns when it answers.
func Start(ctx context.Context, cfg Config) (_ *Cluster, err error) {
	defer func() {
		var known *lab.Error
		if err != nil && !errors.As(err, &known) {
			err = fmt.Errorf("private PostgreSQL in %s: %w", cfg.Dir, err)
		}
	}()
	if cfg.Dir == "" {
		return nil, lab.Errorf(lab.KindInvalid, "the private database needs a folder; name one with --data")
	}
	if cfg.Log == nil {
		cfg.Log = slog.Default()
	}
	if cfg.search == nil {
		cfg.search = searchPath()
	}
	who, err := serverOwner()
	if err != nil {
		return nil, err
	}
	l, err := prepare(cfg.Dir, who)
	if err != nil {
		return nil, err
	}
	turn, err := lockFile(ctx, filepath.Join(l.dir, "start.lock"), exclusive)
	if err != nil {
		return nil, err
	}
	defer turn.Close()
	c := &Cluster{l: l, log: cfg.Log}
	if c.share, err = lockFile(ctx, filepath.Join(l.dir, "use.lock"), shared); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			c.share.Close()
		}
	}()
	if err := c.bringUp(ctx, cfg, who); err != nil {
		return nil, err
	}
	return c, nil
}

// prepare makes the folders. Dir itself stays ours and only lets others
// through, so that the server's user reaches its own 0700 folders inside.
func prepare(dir string, who owner) (layout, error) {
	mode := os.FileMode(0o700)
	if who.switches {
		mode = 0o711
	}
	if err := os.MkdirAll(dir, mode); err != nil {
		return layout{}, err
	}
	l, err := newLayout(dir)
	if err != nil {
		return l, err
	}
	if err := who.reaches(l.dir); err != nil {
		return l, err
	}
	return l, who.folder(l.socket)
}

func (c *Cluster) bringUp(ctx context.Context, cfg Config, who owner) error {
	bin, err := findBinaries(ctx, cfg.search, c.l.major())
	if err != nil {
		return err
	}
	if c.l.major() == 0 {
		c.log.Info("making a private PostgreSQL", "dir", c.l.dir, "version", bin.major)
		if err := initialise(ctx, bin, c.l, who); err != nil {
			return err
		}
	}
	if pid := c.l.running(); pid != 0 {
		c.log.Info("adopting the private PostgreSQL that is still running", "pid", pid)
		c.server = &server{pid: pid, data: c.l.data}
		if err = c.ready(ctx); err == nil || c.l.running() != 0 {
			return err
		}
		// it was about to end when we found it
	}
	for try := 1; ; try++ {
		if err := c.launch(ctx, cfg, bin, who); err != nil {
			return err
		}
		err := c.ready(ctx)
		if err == nil {
			return nil
		}
		ended := c.server.ended()
		if !ended {
			c.server.stop()
		}
		// Children of a killed server need a moment to notice and end.
		if !ended || try == startTries || !logEndsWith(c.l.log, "shared memory block") {
			return fmt.Errorf("%w; the server's log %s ends: %s", err, c.l.log, logTail(c.l.log))
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(250 * time.Millisecond):
		}
	}
}

// ready waits until the server answers and our database is there.
func (c *Cluster) ready(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, readyTimeout)
	defer cancel()
	for {
		err := makeDatabase(ctx, c.l)
		if err == nil {
			return nil
		}
		var refused *pgconn.PgError
		if errors.As(err, &refused) && refused.Code != "57P03" { // 57P03: it is starting up
			return err
		}
		if c.server.ended() {
			return fmt.Errorf("the server ended while it started: %w", err)
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("it does not answer: %w", err)
		case <-time.After(readyPoll):
		}
	}
}

func makeDatabase(ctx context.Context, l layout) error {
	conn, err := pgx.Connect(ctx, l.url("postgres"))
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var there bool
	err = conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)`, database).Scan(&there)
	if err != nil || there {
		return err
	}
	_, err = conn.Exec(ctx, `CREATE DATABASE `+pgx.Identifier{database}.Sanitize())
	return err
}

// URL is where the database is.
func (c *Cluster) URL() string { return c.l.url(database) }

// PID is the process id of the server.
func (c *Cluster) PID() int { return c.server.pid }

// Ended tells whether the server has ended under us.
func (c *Cluster) Ended() bool { return c.server.ended() }

// Stop ends the server in order, unless another process uses it too, and
// returns when it has ended. It may be called twice.
func (c *Cluster) Stop() {
	if c == nil || c.share == nil {
		return
	}
	defer func() {
		c.share.Close()
		c.share = nil
	}()
	turn, err := lockFile(context.Background(), filepath.Join(c.l.dir, "start.lock"), exclusive)
	if err != nil {
		c.log.Error("the private PostgreSQL was left running", "error", err)
		return
	}
	defer turn.Close()
	if !onlyUser(c.share) {
		c.log.Info("the private PostgreSQL goes on for another wetside")
		return
	}
	c.server.stop()
}

// Find gives the URL of the private PostgreSQL that runs in dir.
func Find(dir string) (string, error) {
	l, err := newLayout(dir)
	if err != nil {
		return "", err
	}
	if l.major() == 0 && l.running() == 0 {
		if _, err := os.Stat(l.dir); err != nil {
			return "", lab.Errorf(lab.KindNotFound, "there is no folder %s; name the --data folder of the running wetside", dir)
		}
	}
	if l.running() == 0 {
		return "", lab.Errorf(lab.KindUnavailable, "no private PostgreSQL runs in %s; start wetside with this --data, or name a server with --database", dir)
	}
	return l.url(database), nil
}
