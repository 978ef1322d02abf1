package main

import (
	"context"
	"log/slog"
	"os"
	"path/filepath"

	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/internal/postgres"
)

// databaseFlags are those of every command that needs the database.
type databaseFlags struct {
	Database string `env:"WETSIDE_DATABASE" default:"embedded" placeholder:"URL" help:"PostgreSQL as postgres://user@host/name, or \"embedded\": the private one under --data."`
	Data     string `env:"WETSIDE_DATA" placeholder:"DIR" default:"${data}" help:"Folder of the private database and broker. Default: ${default}"`
}

// open opens the database. A private one that does not run is started for the
// time of the command; create says whether one may be made.
func (f databaseFlags) open(ctx context.Context, log *slog.Logger, create bool) (*postgres.Store, func(), error) {
	return monitor.OpenForCommand(ctx, f.Database, f.Data, log, create)
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
