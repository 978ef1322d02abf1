package postgres

import (
	"context"
	"encoding/json"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

const alertColumns = `id, key, rule, unit, run, step, subject, priority, state, occurrence, raised_at, noticed_at,
	found_afterwards, cleared_at, acknowledged_at, acknowledged_by, shelved_until, shelved_by, shelved_reason,
	withdrawn, latched, message, consequence, response, facts, first_id, last_occ_id, former_ids, episodes, updated_seq, held`

func scanAlert(row pgx.CollectableRow) (a lab.StoredAlert, err error) {
	var cleared, acked, shelved *time.Time
	var facts, episodes []byte
	err = row.Scan(&a.ID, &a.Key, &a.Rule, &a.Unit, &a.Run, &a.Step, &a.Subject, &a.Priority, &a.State, &a.Occurrence,
		&a.RaisedAt.Time, &a.NoticedAt.Time, &a.FoundAfterwards, &cleared, &acked, &a.AcknowledgedBy, &shelved,
		&a.ShelvedBy, &a.ShelvedReason, &a.Withdrawn, &a.Latched, &a.Message, &a.Consequence, &a.Response, &facts,
		&a.FirstID, &a.LastOccID, &a.FormerIDs, &episodes, &a.UpdatedSeq, &a.Held)
	if err != nil {
		return a, err
	}
	a.RaisedAt, a.NoticedAt = lab.At(a.RaisedAt.Time), lab.At(a.NoticedAt.Time)
	a.ClearedAt, a.AcknowledgedAt, a.ShelvedUntil = timeOrNil(cleared), timeOrNil(acked), timeOrNil(shelved)
	if err := json.Unmarshal(episodes, &a.Episodes); err != nil {
		return a, err
	}
	return a, json.Unmarshal(facts, &a.Facts)
}

func timeOrNil(t *time.Time) *lab.Time {
	if t == nil {
		return nil
	}
	return lab.AtPtr(*t)
}

func timeOrNull(t *lab.Time) *time.Time {
	if t == nil {
		return nil
	}
	return orNull(t.Time)
}

// lockAlerts gives, locked, the alert that stands for each key (the open one,
// else the latest) and those that have or had one of the occurrence ids. In
// the order of ids, so that two transactions never wait for each other.
func lockAlerts(ctx context.Context, tx pgx.Tx, keys, ids []string) ([]lab.StoredAlert, error) {
	if len(keys)+len(ids) == 0 {
		return nil, nil
	}
	rows, err := tx.Query(ctx, `
		SELECT `+alertColumns+` FROM alerts WHERE id IN (
			(SELECT DISTINCT ON (key) id FROM alerts WHERE key = ANY($1)
			 ORDER BY key, (state <> 'closed') DESC, raised_at DESC, updated_seq DESC)
			UNION
			SELECT id FROM alerts WHERE id = ANY($2) OR last_occ_id = ANY($2) OR first_id = ANY($2) OR former_ids && $2)
		ORDER BY id FOR UPDATE`, orEmpty(keys), orEmpty(ids))
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanAlert)
}

func orEmpty(list []string) []string {
	if list == nil {
		return []string{}
	}
	return list
}

// renameAlerts gives a new id to alerts whose first occurrence was moved by
// late evidence: one that bears an unknown id and was, before, one of current.
func renameAlerts(ctx context.Context, tx pgx.Tx, current, alerts []lab.StoredAlert) error {
	known := map[string]bool{}
	for _, a := range current {
		known[a.ID] = true
	}
	taken := map[string]bool{}
	for _, a := range alerts {
		taken[a.ID] = true
	}
	for _, a := range alerts {
		if known[a.ID] {
			continue
		}
		for _, old := range a.FormerIDs {
			if !known[old] || taken[old] {
				continue
			}
			if _, err := tx.Exec(ctx, `UPDATE alerts SET id = $2 WHERE id = $1`, old, a.ID); err != nil {
				return err
			}
			taken[old] = true
			break
		}
	}
	return nil
}

// writeAlerts writes alerts as they shall stand, closed ones first: a new
// alert of a condition may open in the transaction that closes the one before.
func writeAlerts(ctx context.Context, tx pgx.Tx, alerts []lab.StoredAlert) error {
	if len(alerts) == 0 {
		return nil
	}
	ordered := slices.Clone(alerts)
	slices.SortStableFunc(ordered, func(a, b lab.StoredAlert) int { return openRank(a) - openRank(b) })
	var trip pgx.Batch
	for i := range ordered {
		if err := queueAlert(&trip, &ordered[i]); err != nil {
			return err
		}
	}
	return tx.SendBatch(ctx, &trip).Close()
}

func openRank(a lab.StoredAlert) int {
	if a.State == lab.Closed {
		return 0
	}
	return 1
}

// queueAlert queues the upsert of a. When it is sent it sets a.UpdatedSeq.
func queueAlert(trip *pgx.Batch, a *lab.StoredAlert) error {
	facts := []byte("{}")
	if a.Facts != nil {
		var err error
		if facts, err = json.Marshal(a.Facts); err != nil {
			return lab.Errorf(lab.KindInternal, "facts of alert %s: %w", a.ID, err)
		}
	}
	episodes := []byte("[]")
	if a.Episodes != nil {
		var err error
		if episodes, err = json.Marshal(a.Episodes); err != nil {
			return lab.Errorf(lab.KindInternal, "episodes of alert %s: %w", a.ID, err)
		}
	}
	trip.Queue(`
		INSERT INTO alerts AS a (`+alertColumns+`)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20,
		        $21, $22, $23, $24, $25, $26, $27, $28, $29, nextval('alert_updates'), $30)
		ON CONFLICT (id) DO UPDATE SET
			key = excluded.key, rule = excluded.rule, unit = excluded.unit, run = excluded.run, step = excluded.step,
			subject = excluded.subject, priority = excluded.priority, state = excluded.state,
			occurrence = excluded.occurrence, raised_at = excluded.raised_at, noticed_at = excluded.noticed_at,
			found_afterwards = excluded.found_afterwards, cleared_at = excluded.cleared_at,
			acknowledged_at = excluded.acknowledged_at, acknowledged_by = excluded.acknowledged_by,
			shelved_until = excluded.shelved_until, shelved_by = excluded.shelved_by,
			shelved_reason = excluded.shelved_reason, withdrawn = excluded.withdrawn, latched = excluded.latched,
			message = excluded.message, consequence = excluded.consequence, response = excluded.response,
			facts = excluded.facts, first_id = excluded.first_id, last_occ_id = excluded.last_occ_id,
			former_ids = excluded.former_ids, episodes = excluded.episodes, updated_seq = excluded.updated_seq,
			held = excluded.held
		RETURNING updated_seq`,
		a.ID, a.Key, a.Rule, a.Unit, a.Run, a.Step, a.Subject, a.Priority, a.State, a.Occurrence,
		a.RaisedAt.UTC(), a.NoticedAt.UTC(), a.FoundAfterwards, timeOrNull(a.ClearedAt), timeOrNull(a.AcknowledgedAt),
		a.AcknowledgedBy, timeOrNull(a.ShelvedUntil), a.ShelvedBy, a.ShelvedReason, a.Withdrawn, a.Latched,
		a.Message, a.Consequence, a.Response, facts, a.FirstID, a.LastOccID, orEmpty(a.FormerIDs), episodes, a.Held,
	).QueryRow(func(row pgx.Row) error { return row.Scan(&a.UpdatedSeq) })
	return nil
}

// UpdateAlert changes one alert in a transaction of its own, with the row
// locked: change sees it as it stands and gives the history entries of what
// it changed. An error of change leaves it as it was and is returned as it is.
func (s *Store) UpdateAlert(ctx context.Context, id string, change func(*lab.StoredAlert) ([]lab.AlertEvent, error)) (_ lab.StoredAlert, err error) {
	var a lab.StoredAlert
	var refused error
	err = pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, `SELECT `+alertColumns+` FROM alerts
			WHERE id = $1 OR former_ids @> ARRAY[$1]
			ORDER BY id = $1 DESC, updated_seq DESC LIMIT 1 FOR UPDATE`, id)
		if err != nil {
			return err
		}
		if a, err = pgx.CollectExactlyOneRow(rows, scanAlert); err != nil {
			return err
		}
		events, err := change(&a)
		if err != nil {
			refused = err
			return err
		}
		var trip pgx.Batch
		if err := queueAlert(&trip, &a); err != nil {
			return err
		}
		if err := tx.SendBatch(ctx, &trip).Close(); err != nil {
			return err
		}
		return addAlertEvents(ctx, tx, events)
	})
	if refused != nil {
		return lab.StoredAlert{}, refused
	}
	if err != nil {
		s.wrap(&err, s.web, "alert "+id)
		return lab.StoredAlert{}, err
	}
	return a, nil
}
