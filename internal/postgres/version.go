package postgres

import (
	"context"
	"strconv"

	"wetside/internal/lab"
)

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
