package postgres

import (
	"context"
	"embed"
	"io/fs"

	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
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
	done, err := p.Up(ctx)
	for _, m := range done {
		s.log.Info("database migrated", "step", m.Source.Path, "took", m.Duration)
	}
	return err
}
