package postgres

import (
	"context"
	"encoding/json"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

const pageMessageColumns = `id, person, priority, created_at, body, only_way, tries, next_try, sent_at, sent_by, dropped_at, why`

func scanMessage(row pgx.CollectableRow) (m lab.PageMessage, err error) {
	var body []byte
	var sent, dropped *time.Time
	err = row.Scan(&m.ID, &m.Person, &m.Priority, &m.CreatedAt, &body, &m.OnlyMethod, &m.Tries, &m.NextTry, &sent, &m.SentBy, &dropped, &m.Why)
	if err != nil {
		return m, err
	}
	m.CreatedAt, m.NextTry = m.CreatedAt.UTC(), m.NextTry.UTC()
	if sent != nil {
		m.SentAt = sent.UTC()
	}
	if dropped != nil {
		m.DroppedAt = dropped.UTC()
	}
	return m, json.Unmarshal(body, &m.Body)
}

const pageColumns = `id, case_id, step, person, priority, not_before, created_at, coalesce(message_id, '')`

func scanPage(row pgx.CollectableRow) (p lab.CasePage, err error) {
	err = row.Scan(&p.ID, &p.CaseID, &p.Step, &p.Person, &p.Priority, &p.NotBefore, &p.CreatedAt, &p.MessageID)
	p.NotBefore, p.CreatedAt = p.NotBefore.UTC(), p.CreatedAt.UTC()
	return p, err
}

// ClaimMessage decides, in one transaction, what goes out to a person next,
// and writes the try down before it is made: a process that dies in it leaves
// a message that is tried again under the same id. It gives the message to
// try now, nil where there is none, and then when to look again (zero: when
// something new comes).
func (s *Store) ClaimMessage(ctx context.Context, term int64, person string, recent time.Time, decide func(lab.PersonQueue) lab.QueueDecision) (m *lab.PageMessage, wait time.Time, err error) {
	defer s.wrap(&err, s.paging, "claim a message to "+person)
	err = pgx.BeginFunc(ctx, s.paging, func(tx pgx.Tx) error {
		if err := fence(ctx, tx, term); err != nil {
			return err
		}
		q, err := readQueue(ctx, tx, person, recent)
		if err != nil {
			return err
		}
		d := decide(q)
		m, wait = nil, d.Wait
		if err := s.drop(ctx, tx, d); err != nil {
			return err
		}
		if err := s.holdPages(ctx, tx, d.HoldPages); err != nil {
			return err
		}
		switch {
		case d.New != nil:
			m = d.New
			return claimNew(ctx, tx, m)
		case d.Again != "":
			again, err := claimAgain(ctx, tx, d)
			m = &again
			return err
		}
		return nil
	})
	if err != nil {
		return nil, time.Time{}, err
	}
	return m, wait, nil
}

func readQueue(ctx context.Context, tx pgx.Tx, person string, recent time.Time) (q lab.PersonQueue, err error) {
	rows, err := tx.Query(ctx, `SELECT `+pageColumns+` FROM pages
		WHERE person = $1 AND message_id IS NULL AND dropped_at IS NULL ORDER BY id FOR UPDATE`, person)
	if err != nil {
		return q, err
	}
	if q.Pages, err = pgx.CollectRows(rows, scanPage); err != nil {
		return q, err
	}
	rows, err = tx.Query(ctx, `SELECT `+pageMessageColumns+` FROM page_messages
		WHERE person = $1 AND sent_at IS NULL AND dropped_at IS NULL ORDER BY created_at FOR UPDATE`, person)
	if err != nil {
		return q, err
	}
	if q.Messages, err = pgx.CollectRows(rows, scanMessage); err != nil {
		return q, err
	}
	rows, err = tx.Query(ctx, `SELECT created_at, priority FROM page_messages
		WHERE person = $1 AND created_at >= $2 AND only_way = '' ORDER BY created_at`, person, recent.UTC())
	if err != nil {
		return q, err
	}
	if q.Recent, err = pgx.CollectRows(rows, pgx.RowToStructByPos[lab.RecentPage]); err != nil {
		return q, err
	}
	return q, readQueueCases(ctx, tx, &q)
}

// readQueueCases reads the cases that the pages and messages of q are of.
func readQueueCases(ctx context.Context, tx pgx.Tx, q *lab.PersonQueue) error {
	if len(q.Pages)+len(q.Messages) == 0 {
		return nil
	}
	var ids []int64
	for _, p := range q.Pages {
		ids = append(ids, p.CaseID)
	}
	if err := readMessagePages(ctx, tx, q.Messages); err != nil {
		return err
	}
	for _, m := range q.Messages {
		ids = append(ids, m.Cases...)
	}
	cases, err := readCases(ctx, tx, `WHERE id = ANY($1)`, ids)
	q.Cases = map[int64]lab.PageCase{}
	for _, c := range cases {
		q.Cases[c.ID] = c
	}
	return err
}

// readMessagePages fills in the pages and cases of messages.
func readMessagePages(ctx context.Context, tx pgx.Tx, messages []lab.PageMessage) error {
	at := map[string]int{}
	ids := make([]string, len(messages))
	for i, m := range messages {
		at[m.ID], ids[i] = i, m.ID
	}
	rows, err := tx.Query(ctx, `SELECT message_id, id, case_id FROM pages WHERE message_id = ANY($1) ORDER BY id`, ids)
	if err != nil {
		return err
	}
	var message string
	var page, of int64
	_, err = pgx.ForEachRow(rows, []any{&message, &page, &of}, func() error {
		m := &messages[at[message]]
		m.PageIDs, m.Cases = append(m.PageIDs, page), append(m.Cases, of)
		return nil
	})
	return err
}

// holdPages lets pages wait for a phone in the dark. What is urgent and now
// rings with nobody of its step goes on to the next step at once.
func (s *Store) holdPages(ctx context.Context, tx pgx.Tx, held map[int64]time.Time) error {
	if len(held) == 0 {
		return nil
	}
	var ids []int64
	var trip pgx.Batch
	for id, until := range held {
		ids = append(ids, id)
		trip.Queue(`UPDATE pages SET not_before = $2 WHERE id = $1 AND message_id IS NULL`, id, until.UTC())
	}
	trip.Queue(`
		UPDATE page_cases c SET due_at = least(due_at, $2) FROM pages h
		WHERE h.id = ANY($1) AND h.case_id = c.id AND c.ended_at IS NULL AND c.priority = 'urgent' AND h.step = c.step - 1
		  AND NOT EXISTS (SELECT FROM pages p WHERE p.case_id = c.id AND p.step = h.step AND p.dropped_at IS NULL AND p.not_before <= $2)`,
		ids, s.clock.Now().UTC())
	return tx.SendBatch(ctx, &trip).Close()
}

func (s *Store) drop(ctx context.Context, tx pgx.Tx, d lab.QueueDecision) error {
	var trip pgx.Batch
	now := s.clock.Now().UTC()
	for id, why := range d.DropPages {
		trip.Queue(`UPDATE pages SET dropped_at = $2, why = $3 WHERE id = $1 AND message_id IS NULL`, id, now, storable(why))
	}
	for id, why := range d.DropMessages {
		trip.Queue(`UPDATE page_messages SET dropped_at = $2, why = $3 WHERE id = $1 AND sent_at IS NULL AND dropped_at IS NULL`, id, now, storable(why))
	}
	if trip.Len() == 0 {
		return nil
	}
	return tx.SendBatch(ctx, &trip).Close()
}

func claimNew(ctx context.Context, tx pgx.Tx, m *lab.PageMessage) error {
	m.Tries = 1
	if err := insertMessage(ctx, tx, *m); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, `UPDATE pages SET message_id = $1 WHERE id = ANY($2)`, m.ID, m.PageIDs)
	return err
}

func insertMessage(ctx context.Context, tx pgx.Tx, m lab.PageMessage) error {
	body, err := json.Marshal(m.Body)
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `
		INSERT INTO page_messages (id, person, priority, created_at, body, only_way, tries, next_try) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
		m.ID, m.Person, m.Priority, m.CreatedAt.UTC(), body, m.OnlyMethod, m.Tries, m.NextTry.UTC())
	return err
}

func claimAgain(ctx context.Context, tx pgx.Tx, d lab.QueueDecision) (lab.PageMessage, error) {
	var body []byte // NULL: as it is
	if d.Body != nil {
		var err error
		if body, err = json.Marshal(d.Body); err != nil {
			return lab.PageMessage{}, err
		}
	}
	rows, err := tx.Query(ctx, `UPDATE page_messages SET tries = tries + 1, next_try = $2, body = coalesce($3, body) WHERE id = $1 RETURNING `+pageMessageColumns,
		d.Again, d.NextTry.UTC(), body)
	if err != nil {
		return lab.PageMessage{}, err
	}
	return pgx.CollectExactlyOneRow(rows, scanMessage)
}

// TestMessages makes messages that try one contact method each.
func (s *Store) TestMessages(ctx context.Context, messages []lab.PageMessage, by, what string) (err error) {
	defer s.wrap(&err, s.web, "make test pages")
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		people := map[string][]string{}
		for _, m := range messages {
			if err := insertMessage(ctx, tx, m); err != nil {
				return err
			}
			people[m.Person] = append(people[m.Person], m.OnlyMethod)
		}
		if len(messages) == 0 { // it was due all the same
			return s.logDuty(ctx, tx, by, what, "", nil)
		}
		for person, methods := range people {
			if err := s.logDuty(ctx, tx, by, what, person, map[string]any{"ways": methods}); err != nil {
				return err
			}
		}
		return nil
	})
}

// WaitingPeople lists those for whom something waits, and makes what was
// under way when a process ended due again.
func (s *Store) WaitingPeople(ctx context.Context, term int64) (people []string, err error) {
	defer s.wrap(&err, s.paging, "look for whom something waits")
	err = pgx.BeginFunc(ctx, s.paging, func(tx pgx.Tx) error {
		if err := fence(ctx, tx, term); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `UPDATE page_messages m SET next_try = $1
			WHERE sent_at IS NULL AND dropped_at IS NULL AND next_try > $1
			  AND NOT EXISTS (SELECT FROM page_deliveries d WHERE d.message_id = m.id AND d.try = m.tries)`, s.clock.Now().UTC()); err != nil {
			return err
		}
		people, err = whoWaits(ctx, tx)
		return err
	})
	return people, err
}

func whoWaits(ctx context.Context, tx pgx.Tx) ([]string, error) {
	rows, err := tx.Query(ctx, `
		SELECT person FROM pages WHERE message_id IS NULL AND dropped_at IS NULL
		UNION SELECT person FROM page_messages WHERE sent_at IS NULL AND dropped_at IS NULL`)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}

// PeopleWithWork lists those for whom something waits.
func (s *Store) PeopleWithWork(ctx context.Context) (people []string, err error) {
	defer s.wrap(&err, s.paging, "look for whom something waits")
	err = pgx.BeginFunc(ctx, s.paging, func(tx pgx.Tx) (err error) {
		people, err = whoWaits(ctx, tx)
		return err
	})
	return people, err
}
