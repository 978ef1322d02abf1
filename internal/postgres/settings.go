package postgres

import "context"

// Setting gives a setting of the lab; KindNotFound where it was never set.
func (s *Store) Setting(ctx context.Context, key string) (value []byte, err error) {
	defer s.wrap(&err, s.web, "setting "+key)
	err = s.web.QueryRow(ctx, `SELECT value FROM settings WHERE key = $1`, key).Scan(&value)
	return value, err
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
