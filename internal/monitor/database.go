package monitor

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"

	"wetside/ingest"
	"wetside/internal/monitor/disk"
	"wetside/internal/monitor/sealkey"
	"wetside/internal/postgres"
	"wetside/internal/postgres/private"
)

// PostgresDir is the folder of the private database under the data folder.
func PostgresDir(data string) string { return filepath.Join(data, "postgres") }

func brokerDir(data string) string { return filepath.Join(data, "broker") }

// foldersOf is what the service keeps under its data folder. What an outside
// database has left is its own server's to tell: it refuses writes when it is
// full, which shows as the rules standing still.
func foldersOf(cfg Config) (out []disk.Folder) {
	if cfg.Database == Embedded {
		out = append(out, disk.Folder{Path: PostgresDir(cfg.Data), What: "the database"})
	}
	if cfg.Broker == Embedded {
		out = append(out, disk.Folder{Path: brokerDir(cfg.Data), What: "the broker's store"})
	}
	return append(out, disk.Folder{Path: sealkey.Dir(cfg.Data), What: "the sealing key and checkpoints"})
}

func startPrivate(ctx context.Context, data string, log *slog.Logger, endWithUs bool) (*private.Cluster, error) {
	return private.Start(ctx, private.Config{Dir: PostgresDir(data), Log: log, EndWithProcess: endWithUs})
}

// OpenStore opens the database at a URL; app is what the server shows of the
// connections.
func OpenStore(ctx context.Context, url string, log *slog.Logger, app string) (*postgres.Store, error) {
	return postgres.Open(ctx, postgres.Config{URL: url, Log: log, App: app, Decode: ingest.Decode})
}

// OpenForCommand opens the database of a lab, a URL or Embedded, for the time
// of a command. A private one that does not run is started meanwhile; create
// says whether one may be made. The function it gives ends what was opened.
func OpenForCommand(ctx context.Context, database, data string, log *slog.Logger, create bool) (*postgres.Store, func(), error) {
	url, stop, err := DatabaseFor(ctx, database, data, log, create)
	if err != nil {
		return nil, nil, err
	}
	store, err := OpenStore(ctx, url, log, "wetside command")
	if err != nil {
		stop()
		return nil, nil, err
	}
	return store, func() { store.Close(); stop() }, nil
}

// DatabaseFor gives the URL of a lab's database for the time of a command, as
// OpenForCommand has it, and opens nothing in it.
func DatabaseFor(ctx context.Context, database, data string, log *slog.Logger, create bool) (url string, stop func(), err error) {
	if database != Embedded {
		return database, func() {}, nil
	}
	if _, err := os.Stat(PostgresDir(data)); !create && errors.Is(err, fs.ErrNotExist) {
		return "", nil, fmt.Errorf("there is no private database in %s; name the --data folder of a wetside, or a server with --database URL", data)
	}
	cluster, err := startPrivate(ctx, data, log, false)
	if err != nil {
		return "", nil, err
	}
	return cluster.URL(), cluster.Stop, nil
}

func (p *Program) openDatabase(ctx context.Context) (err error) {
	address := p.cfg.Database
	if address == Embedded {
		if p.cluster, err = startPrivate(ctx, p.cfg.Data, p.log, p.cfg.EndWithProcess); err != nil {
			return err
		}
		address = p.cluster.URL()
	}
	p.store, err = postgres.Open(ctx, postgres.Config{URL: address, Log: p.log, App: "wetside", Decode: ingest.Decode, Clock: p.cfg.Clock, Migrating: p.migrating})
	return err
}

// migrating tells who asks during the start after an update what it waits for.
func (p *Program) migrating(from, to int64) {
	if p.listener == nil { // the first start: nothing is listened on before the database says that it may be
		return
	}
	p.listener.Waiting(fmt.Sprintf("starting after an update: the database is brought from version %d to %d, since %s", from, to, p.clockTime(p.now())))
}

// reviveDatabase starts a private database that ended under us.
func (p *Program) reviveDatabase(ctx context.Context) error {
	if p.cluster == nil {
		return nil
	}
	cluster, err := startPrivate(ctx, p.cfg.Data, p.log, p.cfg.EndWithProcess)
	if err != nil {
		return err
	}
	p.cluster.Stop() // only gives up its share of the new one
	p.cluster = cluster
	return nil
}
