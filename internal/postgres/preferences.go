package postgres

import (
	"context"
	"encoding/json"
	"errors"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// Preferences gives how a person wants the pages; the defaults where they
// never chose.
func (s *Store) Preferences(ctx context.Context, person string) (p lab.Preferences, err error) {
	defer s.wrap(&err, s.web, "preferences of "+person)
	p = lab.DefaultPreferences
	var body []byte
	err = s.web.QueryRow(ctx, `SELECT body FROM preferences WHERE person = $1`, person).Scan(&body)
	if errors.Is(err, pgx.ErrNoRows) {
		settings, err := s.LabSettings(ctx) // who never chose reads what the lab reads
		if err != nil {
			return p, err
		}
		u := settings.ReadIn()
		p.Temperature, p.Volume = u.Temperature, u.Volume
		return p, nil
	}
	if err != nil {
		return p, err
	}
	return p, json.Unmarshal(body, &p)
}

// SetPreferences stores how a person wants the pages.
func (s *Store) SetPreferences(ctx context.Context, person string, p lab.Preferences) (err error) {
	defer s.wrap(&err, s.web, "preferences of "+person)
	if err := p.Check(); err != nil {
		return err
	}
	body, err := json.Marshal(p)
	if err != nil {
		return lab.Errorf(lab.KindInternal, "preferences: %w", err)
	}
	_, err = s.web.Exec(ctx, `
		INSERT INTO preferences (person, body) VALUES ($1, $2)
		ON CONFLICT (person) DO UPDATE SET body = excluded.body`, person, body)
	return err
}
