package postgres

import (
	"context"
	"encoding/json"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// StripSettings gives what control strips are judged by; nothing where nothing
// was set.
func (s *Store) StripSettings(ctx context.Context) (v lab.StripSettings, err error) {
	value, err := s.Setting(ctx, lab.StripsKey)
	if lab.KindOf(err) == lab.KindNotFound && err != nil {
		return v, nil
	}
	if err != nil {
		return v, err
	}
	if err := json.Unmarshal(value, &v); err != nil {
		return v, lab.Errorf(lab.KindInternal, "setting %s does not read: %w", lab.StripsKey, err)
	}
	return v, nil
}

// SetStripSettings stores what control strips are judged by, and who changed
// it.
func (s *Store) SetStripSettings(ctx context.Context, v lab.StripSettings, by string) (err error) {
	defer s.wrap(&err, s.web, "set what control strips are judged by")
	if err := v.Check(); err != nil {
		return err
	}
	value, err := json.Marshal(v)
	if err != nil {
		return lab.Errorf(lab.KindInternal, "setting %s: %w", lab.StripsKey, err)
	}
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, setSetting, lab.StripsKey, value, s.clock.Now()); err != nil {
			return err
		}
		return s.settingChanged(ctx, tx, lab.StripsKey, v, by)
	})
}
