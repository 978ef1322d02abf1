package postgres

import (
	"context"
	"encoding/json"

	"wetside/internal/lab"
)

// Setting gives a setting of the lab; KindNotFound where it was never set.
func (s *Store) Setting(ctx context.Context, key string) (value []byte, err error) {
	defer s.wrap(&err, s.web, "setting "+key)
	err = s.web.QueryRow(ctx, `SELECT value FROM settings WHERE key = $1`, key).Scan(&value)
	return value, err
}

// House gives what holds for the whole lab; a zero one where nothing was set.
func (s *Store) House(ctx context.Context) (h lab.House, err error) {
	value, err := s.Setting(ctx, lab.HouseKey)
	if lab.KindOf(err) == lab.KindNotFound && err != nil {
		return h, nil
	}
	if err != nil {
		return h, err
	}
	if err := json.Unmarshal(value, &h); err != nil {
		return h, lab.Errorf(lab.KindInternal, "setting %s does not read: %w", lab.HouseKey, err)
	}
	return h, nil
}

// SetSetting stores a setting of the lab.
func (s *Store) SetSetting(ctx context.Context, key string, value []byte) (err error) {
	defer s.wrap(&err, s.web, "set setting "+key)
	_, err = s.web.Exec(ctx, `
		INSERT INTO settings (key, value, changed_at) VALUES ($1, $2, $3)
		ON CONFLICT (key) DO UPDATE SET value = excluded.value, changed_at = excluded.changed_at`,
		key, notNil(value), s.clock.Now())
	return err
}
