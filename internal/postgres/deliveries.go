package postgres

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// MessageTried writes down how a try went: each contact method that was tried,
// and that the message was taken (by which contact method) or when to try
// again.
func (s *Store) MessageTried(ctx context.Context, id string, tries []lab.Delivery, sentBy string, next time.Time) (err error) {
	defer s.wrap(&err, s.paging, "note how a message went")
	return pgx.BeginFunc(ctx, s.paging, func(tx pgx.Tx) error {
		now := s.clock.Now().UTC()
		var trip pgx.Batch
		for _, d := range tries {
			trip.Queue(`
				INSERT INTO page_deliveries (message_id, person, try, at, took_ms, way, outcome, detail) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
				id, d.Person, d.Try, d.At.UTC(), d.Took.Milliseconds(), d.Method, d.Outcome, storable(d.Detail))
			queueHealth(&trip, d)
		}
		if sentBy != "" {
			trip.Queue(`UPDATE page_messages SET sent_at = $2, sent_by = $3 WHERE id = $1 AND sent_at IS NULL AND dropped_at IS NULL`, id, now, sentBy)
			trip.Queue(`
				UPDATE outbox o SET delivered_at = $2
				FROM pages p JOIN page_members m ON m.case_id = p.case_id
				WHERE p.message_id = $1 AND o.alert_id = m.alert_id AND o.occurrence = m.occurrence
				  AND o.delivered_at IS NULL AND o.taken_at IS NOT NULL AND o.created_at <= p.created_at`, id, now)
		} else {
			trip.Queue(`UPDATE page_messages SET next_try = $2 WHERE id = $1`, id, next.UTC())
		}
		return tx.SendBatch(ctx, &trip).Close()
	})
}

// queueHealth keeps count of how a contact method goes. What is not available
// is not failing.
func queueHealth(trip *pgx.Batch, d lab.Delivery) {
	switch d.Outcome {
	case lab.OutcomeSent:
		trip.Queue(`
			INSERT INTO way_health AS h (person, way, failures, failing_since, last_try, last_ok, detail) VALUES ($1, $2, 0, NULL, $3, $3, $4)
			ON CONFLICT (person, way) DO UPDATE SET failures = 0, failing_since = NULL, last_try = excluded.last_try,
				last_ok = excluded.last_ok, detail = excluded.detail`,
			d.Person, d.Method, d.At.UTC(), storable(d.Detail))
	case lab.OutcomeFailed, lab.OutcomeGone:
		trip.Queue(`
			INSERT INTO way_health AS h (person, way, failures, failing_since, last_try, detail) VALUES ($1, $2, 1, $3, $3, $4)
			ON CONFLICT (person, way) DO UPDATE SET failures = h.failures + 1, failing_since = coalesce(h.failing_since, excluded.failing_since),
				last_try = excluded.last_try, detail = excluded.detail`,
			d.Person, d.Method, d.At.UTC(), storable(d.Detail))
	}
}

// MethodHealth gives how the contact methods of people have gone lately.
func (s *Store) MethodHealth(ctx context.Context) (_ []lab.MethodHealth, err error) {
	defer s.wrap(&err, s.paging, "read how the ways to people go")
	rows, err := s.paging.Query(ctx, `SELECT person, way, failures, failing_since, last_try, last_ok, detail FROM way_health ORDER BY person, way`)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (h lab.MethodHealth, err error) {
		var since, ok *time.Time
		err = row.Scan(&h.Person, &h.Method, &h.Failures, &since, &h.LastTry, &ok, &h.Detail)
		h.LastTry = h.LastTry.UTC()
		if since != nil {
			h.FailingSince = since.UTC()
		}
		if ok != nil {
			h.LastOK = ok.UTC()
		}
		return h, err
	})
}

// PagesOverdue counts what should have gone out before now and did not, and
// tells since when the oldest waits; zero where nothing does. What is held
// for a phone in the dark does not count.
func (s *Store) PagesOverdue(ctx context.Context, now time.Time) (n int, oldest time.Time, err error) {
	defer s.wrap(&err, s.paging, "count pages that wait")
	var at *time.Time
	err = s.paging.QueryRow(ctx, `
		SELECT count(*), min(at) FROM (
			SELECT created_at AS at FROM page_messages WHERE sent_at IS NULL AND dropped_at IS NULL AND only_way = ''
			  AND person NOT IN (SELECT person FROM duty_dark WHERE until > $1)
			UNION ALL SELECT greatest(created_at, not_before) FROM pages WHERE message_id IS NULL AND dropped_at IS NULL AND not_before <= $1
			  AND person NOT IN (SELECT person FROM duty_dark WHERE until > $1)
			UNION ALL SELECT created_at FROM outbox WHERE taken_at IS NULL) waiting`, now.UTC()).Scan(&n, &at)
	if at != nil {
		oldest = at.UTC()
	}
	return n, oldest, err
}

// PageMessage gives one message, with its pages.
func (s *Store) PageMessage(ctx context.Context, id string) (m lab.PageMessage, err error) {
	defer s.wrap(&err, s.web, "find the message")
	if !isStorable(id) {
		return m, pgx.ErrNoRows
	}
	err = pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, `SELECT `+pageMessageColumns+` FROM page_messages WHERE id = $1`, id)
		if err != nil {
			return err
		}
		if m, err = pgx.CollectExactlyOneRow(rows, scanMessage); err != nil {
			return err
		}
		one := []lab.PageMessage{m}
		err = readMessagePages(ctx, tx, one)
		m = one[0]
		return err
	})
	return m, err
}

// LogPage writes down what was done by way of a message's link.
func (s *Store) LogPage(ctx context.Context, l lab.PageLog) (err error) {
	defer s.wrap(&err, s.web, "log the use of a page's link")
	_, err = s.web.Exec(ctx, `INSERT INTO page_log (message_id, at, person, what, alert_id, detail) VALUES ($1, $2, $3, $4, $5, $6)`,
		l.MessageID, l.At.UTC(), l.Person, l.What, l.AlertID, storable(l.Detail))
	return err
}

// AlertPages gives what became of the pages about an alert, oldest first, and
// the cases that they are of.
func (s *Store) AlertPages(ctx context.Context, alertID string) (pages []lab.PageRecord, cases []lab.PageCase, err error) {
	defer s.wrap(&err, s.web, "read the pages of alert "+alertID)
	err = pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		var id string
		err := tx.QueryRow(ctx, `SELECT id FROM alerts WHERE id = $1 OR former_ids @> ARRAY[$1] ORDER BY id = $1 DESC LIMIT 1`, storable(alertID)).Scan(&id)
		if errors.Is(err, pgx.ErrNoRows) {
			return lab.Errorf(lab.KindNotFound, "there is no alert %q", alertID)
		}
		if err != nil {
			return err
		}
		if cases, err = readCases(ctx, tx, `WHERE id IN (SELECT case_id FROM page_members WHERE alert_id = $1)`, id); err != nil {
			return err
		}
		ids := make([]int64, len(cases))
		for i, c := range cases {
			ids[i] = c.ID
		}
		pages, err = readRecords(ctx, tx, ids)
		return err
	})
	return pages, cases, err
}

func readRecords(ctx context.Context, tx pgx.Tx, cases []int64) ([]lab.PageRecord, error) {
	rows, err := tx.Query(ctx, `SELECT `+pageColumns+`, dropped_at, why FROM pages WHERE case_id = ANY($1) ORDER BY id LIMIT $2`, cases, maxLimit)
	if err != nil {
		return nil, err
	}
	var dropped []*time.Time
	var whys, ids []string
	records, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (r lab.PageRecord, err error) {
		var at *time.Time
		var why string
		p := &r.CasePage
		err = row.Scan(&p.ID, &p.CaseID, &p.Step, &p.Person, &p.Priority, &p.NotBefore, &p.CreatedAt, &p.MessageID, &at, &why)
		p.NotBefore, p.CreatedAt = p.NotBefore.UTC(), p.CreatedAt.UTC()
		dropped, whys, ids = append(dropped, at), append(whys, why), append(ids, p.MessageID)
		return r, err
	})
	if err != nil {
		return nil, err
	}
	messages, err := readMessages(ctx, tx, ids)
	if err != nil {
		return nil, err
	}
	for i := range records {
		r := &records[i]
		if m, ok := messages[r.MessageID]; ok {
			r.Message, r.Deliveries, r.OpenedAt = &m.PageMessage, m.Deliveries, m.OpenedAt
		} else if dropped[i] != nil {
			r.Message = &lab.PageMessage{DroppedAt: dropped[i].UTC(), Why: whys[i]}
		}
	}
	return records, nil
}

// MessageRecord is a message with its tries.
type messageRecord struct {
	lab.PageMessage
	Deliveries []lab.Delivery
	OpenedAt   time.Time
}

func readMessages(ctx context.Context, tx pgx.Tx, ids []string) (map[string]messageRecord, error) {
	out := map[string]messageRecord{}
	rows, err := tx.Query(ctx, `SELECT `+pageMessageColumns+` FROM page_messages WHERE id = ANY($1)`, orEmpty(ids))
	if err != nil {
		return nil, err
	}
	messages, err := pgx.CollectRows(rows, scanMessage)
	if err != nil {
		return nil, err
	}
	for _, m := range messages {
		out[m.ID] = messageRecord{PageMessage: m}
	}
	rows, err = tx.Query(ctx, `SELECT message_id, person, try, at, took_ms, way, outcome, detail FROM page_deliveries
		WHERE message_id = ANY($1) ORDER BY id`, orEmpty(ids))
	if err != nil {
		return nil, err
	}
	var d lab.Delivery
	var took int
	_, err = pgx.ForEachRow(rows, []any{&d.MessageID, &d.Person, &d.Try, &d.At, &took, &d.Method, &d.Outcome, &d.Detail}, func() error {
		m := out[d.MessageID]
		d.At, d.Took = d.At.UTC(), time.Duration(took)*time.Millisecond
		m.Deliveries = append(m.Deliveries, d)
		out[d.MessageID] = m
		return nil
	})
	if err != nil {
		return nil, err
	}
	rows, err = tx.Query(ctx, `SELECT message_id, min(at) FROM page_log WHERE message_id = ANY($1) AND what = 'opened' GROUP BY 1`, orEmpty(ids))
	if err != nil {
		return nil, err
	}
	var id string
	var at time.Time
	_, err = pgx.ForEachRow(rows, []any{&id, &at}, func() error {
		m := out[id]
		m.OpenedAt = at.UTC()
		out[id] = m
		return nil
	})
	return out, err
}

// Tests gives a person's latest tests, newest first, as records of no case.
func (s *Store) Tests(ctx context.Context, person string, limit int) (out []lab.PageRecord, err error) {
	defer s.wrap(&err, s.web, "read the tests of "+person)
	err = pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, `SELECT id FROM page_messages WHERE person = $1 AND only_way <> '' ORDER BY created_at DESC, id LIMIT $2`, storable(person), capped(limit))
		if err != nil {
			return err
		}
		ids, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil {
			return err
		}
		messages, err := readMessages(ctx, tx, ids)
		if err != nil {
			return err
		}
		for _, id := range ids {
			m := messages[id]
			out = append(out, lab.PageRecord{
				CasePage: lab.CasePage{Person: m.Person, Priority: m.Priority, CreatedAt: m.CreatedAt, MessageID: id},
				Message:  &m.PageMessage, Deliveries: m.Deliveries, OpenedAt: m.OpenedAt,
			})
		}
		return nil
	})
	return out, err
}
