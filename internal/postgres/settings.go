package postgres

import (
	"context"
	"encoding/json"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// Setting gives a setting of the lab; KindNotFound where it was never set.
func (s *Store) Setting(ctx context.Context, key string) (value []byte, err error) {
	defer s.wrap(&err, s.web, "setting "+key)
	err = s.web.QueryRow(ctx, `SELECT value FROM settings WHERE key = $1`, key).Scan(&value)
	return value, err
}

// LabSettings gives what holds for the whole lab; a zero one where nothing was set.
func (s *Store) LabSettings(ctx context.Context) (h lab.LabSettings, err error) {
	value, err := s.Setting(ctx, lab.LabSettingsKey)
	if lab.KindOf(err) == lab.KindNotFound && err != nil {
		return h, nil
	}
	if err != nil {
		return h, err
	}
	if err := json.Unmarshal(value, &h); err != nil {
		return h, lab.Errorf(lab.KindInternal, "setting %s does not read: %w", lab.LabSettingsKey, err)
	}
	return h, nil
}

// RulesInUse gives since when each lab has had each of some rules. What it did
// not have before it has from now on.
func (s *Store) RulesInUse(ctx context.Context, labs, rules []string) (u lab.RulesInUse, err error) {
	defer s.wrap(&err, s.web, "rules in use")
	err = pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		// The row is there before it is locked: two who ask at once see one beginning.
		if _, err := tx.Exec(ctx, `INSERT INTO settings (key, value, changed_at) VALUES ($1, '{}', $2) ON CONFLICT (key) DO NOTHING`,
			lab.RulesKey, s.clock.Now()); err != nil {
			return err
		}
		var value []byte
		if err := tx.QueryRow(ctx, `SELECT value FROM settings WHERE key = $1 FOR UPDATE`, lab.RulesKey).Scan(&value); err != nil {
			return err
		}
		u = lab.RulesInUse{}
		if err := json.Unmarshal(value, &u); err != nil {
			return lab.Errorf(lab.KindInternal, "setting %s does not read: %w", lab.RulesKey, err)
		}
		if !u.Lacks(labs, rules) {
			return nil
		}
		u.Begin(labs, rules, lab.At(s.clock.Now()))
		if value, err = json.Marshal(u); err != nil {
			return lab.Errorf(lab.KindInternal, "setting %s: %w", lab.RulesKey, err)
		}
		_, err := tx.Exec(ctx, setSetting, lab.RulesKey, value, s.clock.Now())
		return err
	})
	return u, err
}

// SetLabSettings stores what holds for the whole lab, and who changed it.
func (s *Store) SetLabSettings(ctx context.Context, h lab.LabSettings, by string) (err error) {
	defer s.wrap(&err, s.web, "set up the lab")
	if err := h.Check(); err != nil {
		return err
	}
	value, err := json.Marshal(h)
	if err != nil {
		return lab.Errorf(lab.KindInternal, "setting %s: %w", lab.LabSettingsKey, err)
	}
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, setSetting, lab.LabSettingsKey, value, s.clock.Now()); err != nil {
			return err
		}
		return s.settingChanged(ctx, tx, lab.LabSettingsKey, h, by)
	})
}

// settingChanged adds to the record of who changed what.
func (s *Store) settingChanged(ctx context.Context, tx pgx.Tx, key string, value any, by string) error {
	body, err := json.Marshal(value)
	if err != nil {
		return lab.Errorf(lab.KindInternal, "setting %s: %w", key, err)
	}
	_, err = tx.Exec(ctx, `INSERT INTO setting_changes (key, value, by, at) VALUES ($1, $2, $3, $4)`, key, body, by, s.clock.Now())
	return err
}

// SettingChanges gives the changes of a setting, "" for all, newest first.
func (s *Store) SettingChanges(ctx context.Context, key string, limit int) (_ []lab.SettingChange, err error) {
	defer s.wrap(&err, s.web, "read the changes of settings")
	rows, err := s.web.Query(ctx, `
		SELECT at, by, key, value FROM setting_changes WHERE $1 = '' OR key = $1 ORDER BY id DESC LIMIT $2`, key, capped(limit))
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (c lab.SettingChange, err error) {
		var value []byte
		err = row.Scan(&c.At.Time, &c.By, &c.Key, &value)
		c.At, c.Value = lab.At(c.At.Time), value
		return c, err
	})
}

const setSetting = `
	INSERT INTO settings (key, value, changed_at) VALUES ($1, $2, $3)
	ON CONFLICT (key) DO UPDATE SET value = excluded.value, changed_at = excluded.changed_at`

// SetSetting stores a setting of the lab.
func (s *Store) SetSetting(ctx context.Context, key string, value []byte) (err error) {
	defer s.wrap(&err, s.web, "set setting "+key)
	_, err = s.web.Exec(ctx, setSetting, key, notNil(value), s.clock.Now())
	return err
}

// StripSettings gives what control strips are judged by; nothing where nothing
// was set.
func (s *Store) StripSettings(ctx context.Context) (lab.StripSettings, error) {
	return settingOf[lab.StripSettings](ctx, s, lab.StripsKey)
}

// SetStripSettings stores what control strips are judged by, and who changed
// it.
func (s *Store) SetStripSettings(ctx context.Context, v lab.StripSettings, by string) (err error) {
	defer s.wrap(&err, s.web, "set what control strips are judged by")
	return setSettingOf(ctx, s, lab.StripsKey, v, by)
}

// ChemistrySettings gives the lab's limits for mixes and its recipes; nothing
// where nothing was set.
func (s *Store) ChemistrySettings(ctx context.Context) (lab.ChemistrySettings, error) {
	return settingOf[lab.ChemistrySettings](ctx, s, lab.ChemistryKey)
}

// SetChemistrySettings stores the limits for mixes and the recipes, and who
// changed them.
func (s *Store) SetChemistrySettings(ctx context.Context, v lab.ChemistrySettings, by string) (err error) {
	defer s.wrap(&err, s.web, "set the limits for mixes")
	return setSettingOf(ctx, s, lab.ChemistryKey, v, by)
}

// WasteSettings gives what the waste log is written by; nothing where none is.
func (s *Store) WasteSettings(ctx context.Context) (lab.WasteSettings, error) {
	return settingOf[lab.WasteSettings](ctx, s, lab.WasteKey)
}

// SetWasteSettings stores what the waste log is written by, and who changed it.
func (s *Store) SetWasteSettings(ctx context.Context, v lab.WasteSettings, by string) (err error) {
	defer s.wrap(&err, s.web, "set what the waste log is written by")
	return setSettingOf(ctx, s, lab.WasteKey, v, by)
}

// settingOf reads a setting; a zero one where it was never set.
func settingOf[T any](ctx context.Context, s *Store, key string) (v T, err error) {
	value, err := s.Setting(ctx, key)
	if lab.KindOf(err) == lab.KindNotFound && err != nil {
		return v, nil
	}
	if err != nil {
		return v, err
	}
	if err := json.Unmarshal(value, &v); err != nil {
		return v, lab.Errorf(lab.KindInternal, "setting %s does not read: %w", key, err)
	}
	return v, nil
}

// setSettingOf stores a setting that can be stored, and who changed it.
func setSettingOf[T interface{ Check() error }](ctx context.Context, s *Store, key string, v T, by string) error {
	if err := v.Check(); err != nil {
		return err
	}
	value, err := json.Marshal(v)
	if err != nil {
		return lab.Errorf(lab.KindInternal, "setting %s: %w", key, err)
	}
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, setSetting, key, value, s.clock.Now()); err != nil {
			return err
		}
		return s.settingChanged(ctx, tx, key, v, by)
	})
}

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

// SheetChanges gives the changes of the lab's process sheets, oldest first.
func (s *Store) SheetChanges(ctx context.Context) (_ []lab.SheetChange, err error) {
	defer s.wrap(&err, s.web, "read the changes of process sheets")
	rows, err := s.web.Query(ctx, `SELECT process, body, by, at FROM sheet_changes ORDER BY at, id`)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (c lab.SheetChange, err error) {
		err = row.Scan(&c.Process, &c.Text, &c.By, &c.At.Time)
		c.At = lab.At(c.At.Time)
		return c, err
	})
}

// AddSheetChange stores a change of a process sheet. Whether it makes a sheet
// is for who calls it.
func (s *Store) AddSheetChange(ctx context.Context, c lab.SheetChange) (err error) {
	defer s.wrap(&err, s.web, "change the sheet of "+c.Process)
	if !isStorable(c.Text) {
		return lab.Errorf(lab.KindInvalid, "a sheet must be UTF-8 without NUL")
	}
	_, err = s.web.Exec(ctx, `INSERT INTO sheet_changes (process, body, by, at) VALUES ($1, $2, $3, $4)`, c.Process, c.Text, c.By, c.At.UTC())
	return err
}
