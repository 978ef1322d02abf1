package postgres

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// SetRole changes what a person may do. The last lead stays one.
func (s *Store) SetRole(ctx context.Context, name, role, by string) (err error) {
	defer s.wrap(&err, s.web, "change the role of "+name)
	if err := checkPerson("user", name, role); err != nil {
		return err
	}
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		if err := keepALead(ctx, tx, name, role); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `UPDATE users SET role = $2 WHERE name = $1`, name, role); err != nil {
			return err
		}
		return s.logDuty(ctx, tx, by, "role", name, map[string]any{"role": role})
	})
}

// keepALead locks the people, finds the one in question, and refuses what
// would leave nobody to set the lab up.
func keepALead(ctx context.Context, tx pgx.Tx, name, role string) error {
	// one order for all who lock several
	rows, err := tx.Query(ctx, `SELECT name, role FROM users ORDER BY name FOR UPDATE`)
	if err != nil {
		return err
	}
	found, leads := false, 0
	var n, r string
	if _, err := pgx.ForEachRow(rows, []any{&n, &r}, func() error {
		if n == name {
			found, r = true, role
		}
		if r == lab.RoleLead {
			leads++
		}
		return nil
	}); err != nil {
		return err
	}
	switch {
	case !found:
		return lab.Errorf(lab.KindNotFound, "there is nobody called %q", name)
	case leads == 0:
		return lab.Errorf(lab.KindConflict, "%s is the last lead; make somebody else a lead first", name)
	}
	return nil
}

// DeleteUser takes a person out: they cannot sign in, nothing is sent to them
// and their links end. What they did stays in the books under their name.
func (s *Store) DeleteUser(ctx context.Context, name, by string) (err error) {
	defer s.wrap(&err, s.web, "take out "+name)
	if !isStorable(name) {
		return pgx.ErrNoRows
	}
	now := s.clock.Now().UTC()
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		if err := keepALead(ctx, tx, name, ""); err != nil {
			return err
		}
		var trip pgx.Batch
		for _, table := range []string{"contacts", "push_subscriptions", "preferences", "way_health", "duty_dark"} {
			trip.Queue(`DELETE FROM `+pgx.Identifier{table}.Sanitize()+` WHERE person = $1`, name)
		}
		const why = "the person was taken out"
		trip.Queue(`UPDATE page_messages SET dropped_at = $2, why = $3 WHERE person = $1 AND sent_at IS NULL AND dropped_at IS NULL`, name, now, why)
		trip.Queue(`UPDATE pages SET dropped_at = $2, why = $3 WHERE person = $1 AND message_id IS NULL AND dropped_at IS NULL`, name, now, why)
		trip.Queue(withdrawLinks, name, "", by, now)
		trip.Queue(`DELETE FROM users WHERE name = $1`, name)
		if err := tx.SendBatch(ctx, &trip).Close(); err != nil {
			return err
		}
		return s.logDuty(ctx, tx, by, "person-removed", name, nil)
	})
}

const withdrawLinks = `INSERT INTO links_withdrawn (person, alert_id, by, at) VALUES ($1, $2, $3, $4)
	ON CONFLICT (person, alert_id) DO UPDATE SET by = excluded.by, at = excluded.at`

// WithdrawLinks ends the links in pages that were made until now: those to a
// person, or those about an alert.
func (s *Store) WithdrawLinks(ctx context.Context, person, alertID, by string) (err error) {
	defer s.wrap(&err, s.web, "withdraw links")
	if !isStorable(person) || !isStorable(alertID) {
		return pgx.ErrNoRows
	}
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		var there bool
		if err := tx.QueryRow(ctx, `SELECT CASE WHEN $1 <> '' THEN EXISTS (SELECT 1 FROM users WHERE name = $1)
			ELSE EXISTS (SELECT 1 FROM alerts WHERE id = $2) END`, person, alertID).Scan(&there); err != nil {
			return err
		}
		if !there && person != "" {
			return lab.Errorf(lab.KindNotFound, "there is nobody called %q", person)
		}
		if !there {
			return lab.Errorf(lab.KindNotFound, "there is no alert %q", alertID)
		}
		if _, err := tx.Exec(ctx, withdrawLinks, person, alertID, by, s.clock.Now().UTC()); err != nil {
			return err
		}
		return s.logDuty(ctx, tx, by, "links-withdrawn", person, map[string]any{"alert": alertID})
	})
}

// LinkHolder tells what the person of a link may do now, "" where there is no
// such person any more, and since when links are withdrawn: theirs, and those
// about each of the alerts.
func (s *Store) LinkHolder(ctx context.Context, person string, alertIDs []string) (h lab.LinkHolder, err error) {
	defer s.wrap(&err, s.web, "look at whose link it is")
	h.Alerts = map[string]time.Time{}
	err = s.web.QueryRow(ctx, `SELECT role FROM users WHERE name = $1`, storable(person)).Scan(&h.Role)
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		return h, err
	}
	rows, err := s.web.Query(ctx, `SELECT person, alert_id, at FROM links_withdrawn
		WHERE (person = $1 AND alert_id = '') OR (person = '' AND alert_id = ANY($2))`, storable(person), alertIDs)
	if err != nil {
		return h, err
	}
	var of, alert string
	var at time.Time
	_, err = pgx.ForEachRow(rows, []any{&of, &alert, &at}, func() error {
		if alert == "" {
			h.Withdrawn = at.UTC()
		} else {
			h.Alerts[alert] = at.UTC()
		}
		return nil
	})
	return h, err
}

// UnitKeyList gives the units that have a key for the broker, and since when.
func (s *Store) UnitKeyList(ctx context.Context) (_ []lab.UnitKeyInfo, err error) {
	defer s.wrap(&err, s.web, "read unit keys")
	rows, err := s.web.Query(ctx, `SELECT unit, created_at FROM unit_keys ORDER BY unit`)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (k lab.UnitKeyInfo, err error) {
		err = row.Scan(&k.Unit, &k.CreatedAt.Time)
		k.CreatedAt = lab.At(k.CreatedAt.Time)
		return k, err
	})
}

// DeleteUnitKey withdraws a unit's key.
func (s *Store) DeleteUnitKey(ctx context.Context, unit lab.UnitID) (err error) {
	defer s.wrap(&err, s.web, "withdraw the key of "+unit.String())
	tag, err := s.web.Exec(ctx, `DELETE FROM unit_keys WHERE unit = $1`, unit.String())
	if err == nil && tag.RowsAffected() == 0 {
		return lab.Errorf(lab.KindNotFound, "unit %s has no key", unit)
	}
	return err
}
