package postgres

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"
)

// LeaseTerm is one time that a process held the lab.
type LeaseTerm struct {
	Term    int64
	Machine string
	Since   time.Time // by the clock of the database
	How     string    // TakenFree and so on
}

// LeaseTerms lists who held the lab for a time back, the latest first.
func (s *Store) LeaseTerms(ctx context.Context, back time.Duration) (terms []LeaseTerm, err error) {
	defer s.wrap(&err, s.web, "list who held the lab")
	rows, err := s.web.Query(ctx, `
		SELECT term, machine, since, how FROM lease_terms
		WHERE lab = $1 AND since > clock_timestamp() - $2::interval ORDER BY term DESC LIMIT 1000`, wholeDatabase, back)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[LeaseTerm])
}
