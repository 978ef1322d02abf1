package postgres

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// Alerts gives the alerts of a filter, newest first.
func (s *Store) Alerts(ctx context.Context, f lab.AlertFilter) (_ []lab.Alert, err error) {
	defer s.wrap(&err, s.web, "read alerts")
	rows, err := s.web.Query(ctx, `
		SELECT `+alertColumns+` FROM alerts
		WHERE ($1::boolean IS NULL OR (state <> 'closed') = $1)
		  AND ($2 = '' OR unit = $2)
		  AND ($3 = '' OR rule = $3)
		  AND ($4::timestamptz IS NULL OR raised_at >= $4)
		ORDER BY raised_at DESC, id LIMIT $5`, f.Open, f.Unit, f.Rule, orNull(f.Since), capped(f.Limit))
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (lab.Alert, error) {
		a, err := scanAlert(row)
		return a.Alert, err
	})
}

// Alert gives one alert, by its id or one it had before.
func (s *Store) Alert(ctx context.Context, id string) (_ lab.Alert, err error) {
	defer s.wrap(&err, s.web, "alert "+id)
	rows, err := s.web.Query(ctx, `SELECT `+alertColumns+` FROM alerts
		WHERE id = $1 OR former_ids @> ARRAY[$1]
		ORDER BY id = $1 DESC, updated_seq DESC LIMIT 1`, id)
	if err != nil {
		return lab.Alert{}, err
	}
	a, err := pgx.CollectExactlyOneRow(rows, scanAlert)
	return a.Alert, err
}

// AlertEvents gives the history of an alert, oldest first.
func (s *Store) AlertEvents(ctx context.Context, id string) (_ []lab.AlertEvent, err error) {
	defer s.wrap(&err, s.web, "read the history of alert "+id)
	rows, err := s.web.Query(ctx, `
		SELECT alert_id, occurrence, at, what, by, note FROM alert_events WHERE alert_id = $1 ORDER BY id`, id)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (e lab.AlertEvent, err error) {
		err = row.Scan(&e.AlertID, &e.Occurrence, &e.At, &e.What, &e.By, &e.Note)
		e.At = e.At.UTC()
		return e, err
	})
}

func addAlertEvents(ctx context.Context, tx pgx.Tx, events []lab.AlertEvent) error {
	if len(events) == 0 {
		return nil
	}
	var trip pgx.Batch
	for _, e := range events {
		trip.Queue(`INSERT INTO alert_events (alert_id, occurrence, at, what, by, note) VALUES ($1, $2, $3, $4, $5, $6)`,
			e.AlertID, e.Occurrence, e.At.UTC(), e.What, storable(e.By), storable(e.Note))
	}
	return tx.SendBatch(ctx, &trip).Close()
}

func addPages(ctx context.Context, tx pgx.Tx, pages []lab.Page) error {
	if len(pages) == 0 {
		return nil
	}
	var trip pgx.Batch
	for _, p := range pages {
		trip.Queue(`
			INSERT INTO outbox (alert_id, occurrence, step, priority, created_at) VALUES ($1, $2, $3, $4, $5)
			ON CONFLICT ON CONSTRAINT outbox_pages_once DO NOTHING`,
			p.AlertID, p.Occurrence, p.Step, p.Priority, p.CreatedAt.UTC())
	}
	return tx.SendBatch(ctx, &trip).Close()
}

// WaitingPages gives the pages that were not delivered yet, oldest first.
func (s *Store) WaitingPages(ctx context.Context, limit int) (_ []lab.Page, err error) {
	defer s.wrap(&err, s.control, "read waiting pages")
	rows, err := s.control.Query(ctx, `
		SELECT alert_id, occurrence, step, priority, created_at FROM outbox
		WHERE delivered_at IS NULL ORDER BY id LIMIT $1`, capped(limit))
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (p lab.Page, err error) {
		err = row.Scan(&p.AlertID, &p.Occurrence, &p.Step, &p.Priority, &p.CreatedAt)
		p.CreatedAt = p.CreatedAt.UTC()
		return p, err
	})
}

// PageDelivered marks a page as gone out.
func (s *Store) PageDelivered(ctx context.Context, p lab.Page, at time.Time) (err error) {
	defer s.wrap(&err, s.control, "mark a page delivered")
	_, err = s.control.Exec(ctx, `
		UPDATE outbox SET delivered_at = $4
		WHERE alert_id = $1 AND occurrence = $2 AND step = $3 AND delivered_at IS NULL`,
		p.AlertID, p.Occurrence, p.Step, at.UTC())
	return err
}

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
