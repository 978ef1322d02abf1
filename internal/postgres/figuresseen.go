package postgres

import (
	"context"
	"encoding/json"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// FiguresSeen gives which changes of the program's figures the lab was told
// of; lot 0 where none.
func (s *Store) FiguresSeen(ctx context.Context) (v lab.FiguresSeen, err error) {
	value, err := s.Setting(ctx, lab.FiguresSeenKey)
	if err != nil && lab.KindOf(err) == lab.KindNotFound {
		return v, nil
	}
	if err != nil {
		return v, err
	}
	if err := json.Unmarshal(value, &v); err != nil {
		return v, lab.Errorf(lab.KindInternal, "setting %s does not read: %w", lab.FiguresSeenKey, err)
	}
	return v, nil
}

// SetFiguresSeen keeps that the changes were read, and by whom. One that was
// read already stays as it is.
func (s *Store) SetFiguresSeen(ctx context.Context, v lab.FiguresSeen) (err error) {
	defer s.wrap(&err, s.web, "keep that changed figures were read")
	value, err := json.Marshal(v)
	if err != nil {
		return lab.Errorf(lab.KindInternal, "setting %s: %w", lab.FiguresSeenKey, err)
	}
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `
			INSERT INTO settings AS had (key, value, changed_at) VALUES ($1, $2, $3)
			ON CONFLICT (key) DO UPDATE SET value = excluded.value, changed_at = excluded.changed_at
			WHERE (convert_from(had.value, 'UTF8')::jsonb ->> 'lot')::int < $4`, lab.FiguresSeenKey, value, s.clock.Now(), v.Lot)
		if err != nil || tag.RowsAffected() == 0 {
			return err
		}
		return s.settingChanged(ctx, tx, lab.FiguresSeenKey, v, v.By)
	})
}
