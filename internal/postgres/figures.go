package postgres

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// AlertsFor gives, whole, the alerts that were noticed in a period or that
// stood open in it, for counting how the alerting did.
func (s *Store) AlertsFor(ctx context.Context, from, to time.Time) (_ []lab.StoredAlert, err error) {
	defer s.wrap(&err, s.web, "read the alerts of a period")
	rows, err := s.web.Query(ctx, `
		SELECT `+alertColumns+` FROM alerts
		WHERE (noticed_at >= $1 AND raised_at < $2) OR (state <> 'closed' AND raised_at < $2)
		ORDER BY id`, from.UTC(), to.UTC())
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanAlert)
}

// SentPages gives the messages that reached people in a period.
func (s *Store) SentPages(ctx context.Context, from, to time.Time) (_ []lab.SentPage, err error) {
	defer s.wrap(&err, s.web, "read the pages of a period")
	rows, err := s.web.Query(ctx, `
		SELECT m.person, m.sent_at, coalesce((m.body->>'test')::boolean, false) OR m.only_way <> '',
		       ARRAY(SELECT DISTINCT item->>'rule' FROM jsonb_array_elements(m.body->'items') AS item ORDER BY 1)
		FROM page_messages m WHERE m.sent_at >= $1 AND m.sent_at < $2 ORDER BY m.sent_at, m.id`, from.UTC(), to.UTC())
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (p lab.SentPage, err error) {
		err = row.Scan(&p.Person, &p.At.Time, &p.Test, &p.Rules)
		p.At = lab.At(p.At.Time)
		return p, err
	})
}
