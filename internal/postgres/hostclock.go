package postgres

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"
)

// ClockSet moves what is due along with this machine's clock, which was set by
// so much: who is called next, what is sent again, until when an alert is
// shelved. A clock that was an hour ahead must not hold pages back for an hour.
func (s *Store) ClockSet(ctx context.Context, term int64, by time.Duration) (err error) {
	defer s.wrap(&err, s.paging, "move what is due along with the clock")
	before := s.clock.Now().Add(-by)
	return s.fencedPaging(ctx, term, [][]any{
		{`UPDATE page_cases SET due_at = due_at + $1::interval WHERE ended_at IS NULL`, by},
		{`UPDATE page_messages SET next_try = next_try + $1::interval WHERE sent_at IS NULL AND dropped_at IS NULL`, by},
		{`UPDATE alerts SET shelved_until = shelved_until + $1::interval WHERE shelved_until > $2 AND state <> 'closed'`, by, before},
	})
}

// EndFutures makes due what was made by a clock that was ahead of the present
// one: a term begins with it.
func (s *Store) EndFutures(ctx context.Context, term int64) (err error) {
	defer s.wrap(&err, s.paging, "end what lies in the future")
	now := s.clock.Now()
	return s.fencedPaging(ctx, term, [][]any{
		{`UPDATE page_cases SET due_at = due_at - (opened_at - $1), opened_at = $1 WHERE ended_at IS NULL AND opened_at > $1`, now},
		{`UPDATE page_messages SET next_try = $1, created_at = $1 WHERE sent_at IS NULL AND dropped_at IS NULL AND created_at > $1`, now},
	})
}

// fencedPaging makes statements in one transaction of the term.
func (s *Store) fencedPaging(ctx context.Context, term int64, statements [][]any) error {
	return pgx.BeginFunc(ctx, s.paging, func(tx pgx.Tx) error {
		if err := fence(ctx, tx, term); err != nil {
			return err
		}
		for _, x := range statements {
			if _, err := tx.Exec(ctx, x[0].(string), x[1:]...); err != nil {
				return err
			}
		}
		return nil
	})
}
