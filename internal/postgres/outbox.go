package postgres

import (
	"cmp"
	"context"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// takeAtOnce bounds how much of the outbox one transaction takes.
const takeAtOnce = 1000

// TakePages takes what is new in the outbox into cases, in one transaction:
// decide sees it with its alerts, and all open cases, as they stand, and gives
// the cases as they shall stand. It gives the people who got pages, and
// whether more of the outbox waits.
func (s *Store) TakePages(ctx context.Context, term int64, decide func(news []lab.NewPage, open []lab.PageCase) []lab.CaseChange) (people []string, more bool, err error) {
	defer s.wrap(&err, s.paging, "take pages out of the outbox")
	err = pgx.BeginFunc(ctx, s.paging, func(tx pgx.Tx) error {
		if err := fence(ctx, tx, term); err != nil {
			return err
		}
		news, err := newPages(ctx, tx)
		if err != nil {
			return err
		}
		open, err := readCases(ctx, tx, `WHERE ended_at IS NULL`)
		if err != nil {
			return err
		}
		people, more = nil, len(news) == takeAtOnce
		for _, c := range decide(news, open) {
			if err := writeCase(ctx, tx, c); err != nil {
				return err
			}
			for _, p := range c.Pages {
				if !slices.Contains(people, p.Person) {
					people = append(people, p.Person)
				}
			}
		}
		taken := make([]int64, len(news))
		for i, n := range news {
			taken[i] = n.OutboxID
		}
		if len(taken) == 0 {
			return nil
		}
		_, err = tx.Exec(ctx, `UPDATE outbox SET taken_at = $2 WHERE id = ANY($1)`, taken, s.clock.Now().UTC())
		return err
	})
	return people, more, err
}

func newPages(ctx context.Context, tx pgx.Tx) ([]lab.NewPage, error) {
	rows, err := tx.Query(ctx, `
		SELECT id, alert_id, occurrence, step, priority, created_at FROM outbox
		WHERE taken_at IS NULL ORDER BY id LIMIT $1`, takeAtOnce)
	if err != nil {
		return nil, err
	}
	news, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (n lab.NewPage, err error) {
		err = row.Scan(&n.OutboxID, &n.AlertID, &n.Occurrence, &n.Step, &n.Priority, &n.CreatedAt)
		n.CreatedAt = n.CreatedAt.UTC()
		return n, err
	})
	if err != nil || len(news) == 0 {
		return nil, err
	}
	ids := make([]string, len(news))
	for i, n := range news {
		ids[i] = n.AlertID
	}
	alerts, err := alertsByID(ctx, tx, ids)
	if err != nil {
		return nil, err
	}
	for i := range news {
		news[i].Alert = alerts[news[i].AlertID]
	}
	return news, nil
}

func alertsByID(ctx context.Context, tx pgx.Tx, ids []string) (map[string]lab.Alert, error) {
	out := map[string]lab.Alert{}
	if len(ids) == 0 {
		return out, nil
	}
	rows, err := tx.Query(ctx, `SELECT `+alertColumns+` FROM alerts WHERE id = ANY($1)`, ids)
	if err != nil {
		return nil, err
	}
	all, err := pgx.CollectRows(rows, scanAlert)
	for _, a := range all {
		out[a.ID] = a.Alert
	}
	return out, err
}

// readCases gives cases with their members and these members' alerts.
func readCases(ctx context.Context, tx pgx.Tx, where string, args ...any) ([]lab.PageCase, error) {
	rows, err := tx.Query(ctx, `
		SELECT id, grouped, priority, opened_at, step, base, due_at, ended_at, why FROM page_cases `+where+` ORDER BY id`, args...)
	if err != nil {
		return nil, err
	}
	cases, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (c lab.PageCase, err error) {
		var ended *time.Time
		err = row.Scan(&c.ID, &c.Group, &c.Priority, &c.OpenedAt, &c.Step, &c.Base, &c.DueAt, &ended, &c.Why)
		c.OpenedAt, c.DueAt = c.OpenedAt.UTC(), c.DueAt.UTC()
		if ended != nil {
			c.EndedAt = ended.UTC()
		}
		return c, err
	})
	if err != nil || len(cases) == 0 {
		return nil, err
	}
	return cases, readMembers(ctx, tx, cases)
}

func readMembers(ctx context.Context, tx pgx.Tx, cases []lab.PageCase) error {
	at := map[int64]int{}
	ids := make([]int64, len(cases))
	for i, c := range cases {
		at[c.ID], ids[i] = i, c.ID
	}
	rows, err := tx.Query(ctx, `
		SELECT case_id, alert_id, occurrence, priority, since, answered_at, answered_by FROM page_members
		WHERE case_id = ANY($1) ORDER BY case_id, since, alert_id`, ids)
	if err != nil {
		return err
	}
	var alertIDs []string
	var of int64
	var m lab.PageMember
	var answered *time.Time
	_, err = pgx.ForEachRow(rows, []any{&of, &m.AlertID, &m.Occurrence, &m.Priority, &m.Since, &answered, &m.AnsweredBy}, func() error {
		m.Since, m.Answered = m.Since.UTC(), time.Time{}
		if answered != nil {
			m.Answered = answered.UTC()
		}
		cases[at[of]].Members = append(cases[at[of]].Members, m)
		alertIDs = append(alertIDs, m.AlertID)
		return nil
	})
	if err != nil {
		return err
	}
	alerts, err := alertsByID(ctx, tx, alertIDs)
	if err != nil {
		return err
	}
	for i := range cases {
		for j := range cases[i].Members {
			cases[i].Members[j].Alert = alerts[cases[i].Members[j].AlertID]
		}
	}
	return nil
}

// writeCase writes a case, who joins it, and the pages of its new steps.
func writeCase(ctx context.Context, tx pgx.Tx, change lab.CaseChange) error {
	c := change.Case
	if c.ID == 0 {
		err := tx.QueryRow(ctx, `
			INSERT INTO page_cases (grouped, priority, opened_at, step, base, due_at, ended_at, why)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8) RETURNING id`,
			c.Group, c.Priority, c.OpenedAt.UTC(), c.Step, c.Base, c.DueAt.UTC(), orNull(c.EndedAt), c.Why).Scan(&c.ID)
		if err != nil {
			return err
		}
	} else if _, err := tx.Exec(ctx, `
		UPDATE page_cases SET priority = $2, step = $3, base = $4, due_at = $5, ended_at = $6, why = $7 WHERE id = $1`,
		c.ID, c.Priority, c.Step, c.Base, c.DueAt.UTC(), orNull(c.EndedAt), c.Why); err != nil {
		return err
	}
	var trip pgx.Batch
	// in the order in which the worker locks alerts
	join := slices.SortedFunc(slices.Values(change.Join), func(a, b lab.PageMember) int { return cmp.Compare(a.AlertID, b.AlertID) })
	for _, m := range join {
		trip.Queue(`
			INSERT INTO page_members (case_id, alert_id, occurrence, priority, since) VALUES ($1, $2, $3, $4, $5)
			ON CONFLICT ON CONSTRAINT page_members_key DO UPDATE SET
				priority = excluded.priority, since = excluded.since, answered_at = NULL, answered_by = ''`,
			c.ID, m.AlertID, m.Occurrence, m.Priority, m.Since.UTC())
	}
	for _, p := range change.Pages {
		trip.Queue(`
			INSERT INTO pages (case_id, step, person, priority, not_before, created_at) VALUES ($1, $2, $3, $4, $5, $6)
			ON CONFLICT ON CONSTRAINT pages_once DO NOTHING`,
			c.ID, p.Step, p.Person, p.Priority, p.NotBefore.UTC(), p.CreatedAt.UTC())
	}
	if trip.Len() == 0 {
		return nil
	}
	return tx.SendBatch(ctx, &trip).Close()
}

// NextStep gives when the next step of any open case is due; zero where none is.
func (s *Store) NextStep(ctx context.Context) (at time.Time, err error) {
	defer s.wrap(&err, s.paging, "look for the next step")
	var next *time.Time
	err = s.paging.QueryRow(ctx, `SELECT min(due_at) FROM page_cases WHERE ended_at IS NULL`).Scan(&next)
	if next != nil {
		at = next.UTC()
	}
	return at, err
}

// AnswerPages notes that a person answered an alert's occurrence, and all that
// had been paged of it before at.
func (s *Store) AnswerPages(ctx context.Context, alertID string, occurrence int, by string, at time.Time) (err error) {
	defer s.wrap(&err, s.paging, "note the answer to alert "+alertID)
	_, err = s.paging.Exec(ctx, `
		UPDATE page_members m SET answered_at = $4, answered_by = $3
		FROM page_cases c
		WHERE c.id = m.case_id AND c.ended_at IS NULL AND m.answered_at IS NULL AND m.since <= $4 AND m.occurrence <= $2
		  AND m.alert_id = (SELECT id FROM alerts WHERE id = $1 OR former_ids @> ARRAY[$1] ORDER BY id = $1 DESC LIMIT 1)`,
		alertID, occurrence, by, at.UTC())
	return err
}

// PageCases gives cases by their ids.
func (s *Store) PageCases(ctx context.Context, ids []int64) (cases []lab.PageCase, err error) {
	defer s.wrap(&err, s.paging, "read cases")
	err = pgx.BeginFunc(ctx, s.paging, func(tx pgx.Tx) error {
		cases, err = readCases(ctx, tx, `WHERE id = ANY($1)`, ids)
		return err
	})
	return cases, err
}

// HurryCases makes the next step of cases due at once.
func (s *Store) HurryCases(ctx context.Context, ids []int64) (err error) {
	defer s.wrap(&err, s.paging, "call the next")
	_, err = s.paging.Exec(ctx, `UPDATE page_cases SET due_at = least(due_at, $2) WHERE id = ANY($1) AND ended_at IS NULL`, ids, s.clock.Now().UTC())
	return err
}
