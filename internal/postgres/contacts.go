package postgres

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// readContacts gives how everybody who signs in is reached, by name; or one
// person.
func readContacts(ctx context.Context, tx pgx.Tx, person string) ([]lab.Contacts, error) {
	rows, err := tx.Query(ctx, `
		SELECT u.name, u.role, coalesce(c.ways, '{}'), coalesce(c.mail, ''), coalesce(c.webhook, ''), coalesce(c.secret, ''), c.webhook_off
		FROM users u LEFT JOIN contacts c ON c.person = u.name
		WHERE $1 = '' OR u.name = $1 ORDER BY u.name`, person)
	if err != nil {
		return nil, err
	}
	all, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (c lab.Contacts, err error) {
		var off *time.Time
		err = row.Scan(&c.Person, &c.Role, &c.Methods, &c.Mail, &c.Webhook, &c.Secret, &off)
		c.WebhookOff = timeOrNil(off)
		return c, err
	})
	if err != nil {
		return nil, err
	}
	rows, err = tx.Query(ctx, `SELECT `+subscriptionColumns+` FROM push_subscriptions WHERE $1 = '' OR person = $1 ORDER BY id`, person)
	if err != nil {
		return nil, err
	}
	subs, err := pgx.CollectRows(rows, scanSubscription)
	if err != nil {
		return nil, err
	}
	for i := range all {
		for _, sub := range subs {
			if sub.Person == all[i].Person {
				all[i].Push = append(all[i].Push, sub)
			}
		}
	}
	return all, nil
}

const subscriptionColumns = `id, person, device, endpoint, p256dh, auth, at`

func scanSubscription(row pgx.CollectableRow) (p lab.PushSubscription, err error) {
	err = row.Scan(&p.ID, &p.Person, &p.Device, &p.Endpoint, &p.P256dh, &p.Auth, &p.At.Time)
	p.At = lab.At(p.At.Time)
	return p, err
}

// Contacts gives how one person is reached.
func (s *Store) Contacts(ctx context.Context, person string) (c lab.Contacts, err error) {
	defer s.wrap(&err, s.web, "read how "+person+" is reached")
	err = pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		all, err := readContacts(ctx, tx, storable(person))
		if err == nil && (len(all) == 0 || person == "") {
			return lab.Errorf(lab.KindNotFound, "there is nobody called %q", person)
		}
		if err == nil {
			c = all[0]
		}
		return err
	})
	return c, err
}

// SetContacts stores how a person is reached; subscriptions are apart. A
// webhook that was switched off is tried again.
func (s *Store) SetContacts(ctx context.Context, c lab.Contacts, by string) (err error) {
	defer s.wrap(&err, s.web, "set how "+c.Person+" is reached")
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `
			INSERT INTO contacts (person, ways, mail, webhook, secret, webhook_off, changed_by, changed_at)
			SELECT name, $2, $3, $4, $5, NULL, $6, $7 FROM users WHERE name = $1
			ON CONFLICT (person) DO UPDATE SET ways = excluded.ways, mail = excluded.mail, webhook = excluded.webhook,
				secret = excluded.secret, webhook_off = NULL, changed_by = excluded.changed_by, changed_at = excluded.changed_at`,
			c.Person, orEmpty(c.Methods), c.Mail, c.Webhook, c.Secret, by, s.clock.Now().UTC())
		if err == nil && tag.RowsAffected() == 0 {
			return lab.Errorf(lab.KindNotFound, "there is nobody called %q", c.Person)
		}
		if err != nil {
			return err
		}
		// what is new has not failed yet
		if _, err := tx.Exec(ctx, `DELETE FROM way_health WHERE person = $1 AND way IN ('mail', 'webhook')`, c.Person); err != nil {
			return err
		}
		return s.logDuty(ctx, tx, by, "contacts", c.Person, map[string]any{"ways": orEmpty(c.Methods), "mail": c.Mail, "webhook": c.Webhook, "signed": c.Secret != ""})
	})
}

// SwitchWebhookOff notes that the other end of a person's webhook is gone.
func (s *Store) SwitchWebhookOff(ctx context.Context, person, why string) (err error) {
	defer s.wrap(&err, s.paging, "switch the webhook of "+person+" off")
	return pgx.BeginFunc(ctx, s.paging, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `UPDATE contacts SET webhook_off = $2 WHERE person = $1 AND webhook_off IS NULL`, person, s.clock.Now().UTC())
		if err != nil || tag.RowsAffected() == 0 {
			return err
		}
		return s.logDuty(ctx, tx, "wetside", "switched-off", person, map[string]any{"way": lab.MethodWebhook, "why": why})
	})
}

// AddSubscription stores a browser that takes pages; the same browser again
// takes the place of what it was.
func (s *Store) AddSubscription(ctx context.Context, p lab.PushSubscription, by string) (_ lab.PushSubscription, err error) {
	defer s.wrap(&err, s.web, "subscribe a browser")
	err = pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, `
			INSERT INTO push_subscriptions (person, device, endpoint, p256dh, auth, at)
			SELECT name, $2, $3, $4, $5, $6 FROM users WHERE name = $1
			ON CONFLICT (endpoint) DO UPDATE SET person = excluded.person, device = excluded.device,
				p256dh = excluded.p256dh, auth = excluded.auth, at = excluded.at
			RETURNING `+subscriptionColumns, p.Person, storable(p.Device), p.Endpoint, p.P256dh, p.Auth, s.clock.Now().UTC())
		if err != nil {
			return err
		}
		person := p.Person
		if p, err = pgx.CollectExactlyOneRow(rows, scanSubscription); errors.Is(err, pgx.ErrNoRows) {
			return lab.Errorf(lab.KindNotFound, "there is nobody called %q; a token has no phone", person)
		}
		if err != nil {
			return err
		}
		// somebody who has a phone now wants pages on it, before other contact methods
		if _, err := tx.Exec(ctx, `
			INSERT INTO contacts (person, ways, mail, webhook, secret, changed_by, changed_at) VALUES ($1, '{push}', '', '', '', $2, $3)
			ON CONFLICT (person) DO UPDATE SET ways = '{push}' || contacts.ways WHERE NOT 'push' = ANY(contacts.ways)`,
			p.Person, by, s.clock.Now().UTC()); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `DELETE FROM way_health WHERE person = $1 AND way = 'push'`, p.Person); err != nil {
			return err
		}
		return s.logDuty(ctx, tx, by, "subscribed", p.Person, map[string]any{"id": p.ID, "device": p.Device})
	})
	return p, err
}

// RemoveSubscription forgets a browser of a person ("" for anybody's).
func (s *Store) RemoveSubscription(ctx context.Context, id int64, person, by, why string) (err error) {
	defer s.wrap(&err, s.web, "unsubscribe a browser")
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		var of, device string
		err := tx.QueryRow(ctx, `DELETE FROM push_subscriptions WHERE id = $1 AND ($2 = '' OR person = $2) RETURNING person, device`, id, person).Scan(&of, &device)
		if errors.Is(err, pgx.ErrNoRows) {
			return lab.Errorf(lab.KindNotFound, "there is no such subscription")
		}
		if err != nil {
			return err
		}
		return s.logDuty(ctx, tx, by, "unsubscribed", of, map[string]any{"id": id, "device": device, "why": why})
	})
}
