package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/postgres/private"
)

// embedded names the parts that come with wetside.
const embedded = "embedded"

// databaseFlags are those of every command that needs the database.
type databaseFlags struct {
	Database string `env:"WETSIDE_DATABASE" default:"embedded" placeholder:"URL" help:"PostgreSQL as postgres://user@host/name, or \"embedded\": the private one under --data."`
	Data     string `env:"WETSIDE_DATA" placeholder:"DIR" default:"${data}" help:"Folder of the private database and broker. Default: ${default}"`
}

// open opens the database. A private one that does not run is started for the
// time of the command; create says whether one may be made.
func (f databaseFlags) open(ctx context.Context, log *slog.Logger, create bool) (*postgres.Store, func(), error) {
	url, stop := f.Database, func() {}
	if url == embedded {
		dir := postgresDir(f.Data)
		if _, err := os.Stat(dir); !create && errors.Is(err, fs.ErrNotExist) {
			return nil, nil, fmt.Errorf("there is no private database in %s; name the --data folder of a wetside, or a server with --database URL", f.Data)
		}
		cluster, err := startPrivate(ctx, f.Data, log, false)
		if err != nil {
			return nil, nil, err
		}
		url, stop = cluster.URL(), cluster.Stop
	}
	store, err := openStore(ctx, url, log, "wetside command")
	if err != nil {
		stop()
		return nil, nil, err
	}
	return store, func() { store.Close(); stop() }, nil
}

func postgresDir(data string) string { return filepath.Join(data, "postgres") }
func brokerDir(data string) string   { return filepath.Join(data, "broker") }

func startPrivate(ctx context.Context, data string, log *slog.Logger, endWithUs bool) (*private.Cluster, error) {
	return private.Start(ctx, private.Config{Dir: postgresDir(data), Log: log, EndWithProcess: endWithUs})
}

func openStore(ctx context.Context, url string, log *slog.Logger, app string) (*postgres.Store, error) {
	return postgres.Open(ctx, postgres.Config{URL: url, Log: log, App: app, Decode: ingest.Decode})
}

// defaultData is where the private parts are when nobody says otherwise.
func defaultData() string {
	if os.Geteuid() == 0 {
		return "/var/lib/wetside"
	}
	if dir := os.Getenv("XDG_STATE_HOME"); filepath.IsAbs(dir) {
		return filepath.Join(dir, "wetside")
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "wetside-data"
	}
	return filepath.Join(home, ".local", "state", "wetside")
}

// quiet is a log of what goes wrong, for commands.
func quiet(s streams) *slog.Logger {
	return slog.New(slog.NewTextHandler(s.err, &slog.HandlerOptions{Level: slog.LevelWarn}))
}

// asUsage makes wrong usage of an error that says that what was asked for is
// not well formed.
func asUsage(err error) error {
	if err != nil && lab.KindOf(err) == lab.KindInvalid {
		return usageError{err}
	}
	return err
}
