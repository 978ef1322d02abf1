package postgres

import (
	"context"
	"embed"
	"io/fs"
	"strconv"
	"time"

	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"

	"wetside/internal/lab"
)

//go:embed migrations/*.sql
var migrations embed.FS

// migrate brings the schema up to date. Two programs that start at once take
// turns by a lock in the database.
func (s *Store) migrate(ctx context.Context) (err error) {
	defer s.wrap(&err, s.control, "migrate the database")
	if err := s.checkVersion(ctx); err != nil {
		return err
	}
	dir, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return err
	}
	turns, err := lock.NewPostgresSessionLocker()
	if err != nil {
		return err
	}
	db := stdlib.OpenDBFromPool(s.control)
	defer db.Close()
	p, err := goose.NewProvider(goose.DialectPostgres, db, dir,
		goose.WithSessionLocker(turns), goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return err
	}
	from, to, err := p.GetVersions(ctx)
	if err != nil {
		return err
	}
	if from > 0 && from < to {
		s.log.Info("bringing the database up to date", "from_version", from, "to_version", to)
		if s.cfg.Migrating != nil {
			s.cfg.Migrating(from, to)
		}
	}
	began := s.clock.Now()
	done, err := p.Up(ctx)
	for _, m := range done {
		s.log.Info("database migrated", "step", m.Source.Path, "took", m.Duration)
	}
	if err == nil && len(done) > 0 {
		s.log.Info("database up to date", "version", to, "took", s.clock.Now().Sub(began).Round(time.Millisecond))
	}
	return err
}

// oldestServer is PostgreSQL 15 as server_version_num counts.
const oldestServer = 150000

func (s *Store) checkVersion(ctx context.Context) error {
	var text, name string
	err := s.control.QueryRow(ctx, `
		SELECT current_setting('server_version_num'), current_setting('server_version')`).Scan(&text, &name)
	if err != nil {
		return err
	}
	if num, err := strconv.Atoi(text); err != nil || num < oldestServer {
		return lab.Errorf(lab.KindInvalid, "the database server must be PostgreSQL 15 or newer; got %s", name)
	}
	return nil
}
