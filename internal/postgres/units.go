package postgres

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// UnitStates gives the stored fold state of every unit.
func (s *Store) UnitStates(ctx context.Context) (_ []lab.UnitState, err error) {
	defer s.wrap(&err, s.control, "read unit states")
	rows, err := s.control.Query(ctx, `SELECT unit, arrival, version, blob, aside_at, aside_why, aside_by FROM unit_states ORDER BY unit`)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (st lab.UnitState, err error) {
		var unit string
		var at *time.Time
		var why, by *string
		if err = row.Scan(&unit, &st.Arrival, &st.Version, &st.Blob, &at, &why, &by); err != nil {
			return st, err
		}
		if at != nil {
			st.Aside = &lab.AsideMark{At: at.UTC(), Why: *why, Program: *by}
		}
		st.Unit, err = lab.ParseUnitID(unit)
		return st, err
	})
}

func upsertStates(ctx context.Context, tx pgx.Tx, states []lab.UnitState, now time.Time) error {
	if len(states) == 0 {
		return nil
	}
	var trip pgx.Batch
	for _, st := range states {
		trip.Queue(`
			INSERT INTO unit_states (unit, arrival, version, blob, updated_at) VALUES ($1, $2, $3, $4, $5)
			ON CONFLICT (unit) DO UPDATE SET arrival = excluded.arrival, version = excluded.version,
				blob = excluded.blob, updated_at = excluded.updated_at,
				aside_at = NULL, aside_why = NULL, aside_by = NULL`,
			st.Unit.String(), st.Arrival, st.Version, notNil(st.Blob), now.UTC())
	}
	return tx.SendBatch(ctx, &trip).Close()
}

// setAside marks units that are not judged. Their last good state stays.
func setAside(ctx context.Context, tx pgx.Tx, list []lab.SetAside, now time.Time) error {
	var trip pgx.Batch
	for _, a := range list {
		trip.Queue(`
			INSERT INTO unit_states (unit, arrival, version, blob, updated_at, aside_at, aside_why, aside_by) VALUES ($1, $2, 0, '', $3, $4, $5, $6)
			ON CONFLICT (unit) DO UPDATE SET updated_at = excluded.updated_at,
				aside_at = excluded.aside_at, aside_why = excluded.aside_why, aside_by = excluded.aside_by`,
			a.Unit.String(), a.From, now.UTC(), a.At.UTC(), storable(a.Why), storable(a.Program))
	}
	if trip.Len() == 0 {
		return nil
	}
	return tx.SendBatch(ctx, &trip).Close()
}

// UnitSettings gives what people decided, by unit. A unit that is not in it
// is new.
func (s *Store) UnitSettings(ctx context.Context) (_ map[string]lab.UnitSetting, err error) {
	defer s.wrap(&err, s.web, "read unit settings")
	rows, err := s.web.Query(ctx, `SELECT unit, name, standing FROM unit_settings`)
	if err != nil {
		return nil, err
	}
	list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[lab.UnitSetting])
	byUnit := make(map[string]lab.UnitSetting, len(list))
	for _, u := range list {
		byUnit[u.Unit] = u
	}
	return byUnit, err
}

// SetUnit stores what a person decided about a unit.
func (s *Store) SetUnit(ctx context.Context, u lab.UnitSetting, by string) (err error) {
	defer s.wrap(&err, s.web, "set up unit "+u.Unit)
	if _, err := lab.ParseUnitID(u.Unit); err != nil {
		return err
	}
	if !isStorable(u.Name) {
		return lab.Errorf(lab.KindInvalid, "the name of a unit must be UTF-8 without NUL")
	}
	switch u.Standing {
	case lab.UnitNew, lab.UnitAccepted, lab.UnitOutOfService, lab.UnitRetired:
	default:
		return lab.Errorf(lab.KindInvalid, "standing %q is not one of new, accepted, out-of-service, retired", u.Standing)
	}
	return pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `
			INSERT INTO unit_settings (unit, name, standing, changed_by, changed_at) VALUES ($1, $2, $3, $4, $5)
			ON CONFLICT (unit) DO UPDATE SET name = excluded.name, standing = excluded.standing,
				changed_by = excluded.changed_by, changed_at = excluded.changed_at`,
			u.Unit, u.Name, u.Standing, by, s.clock.Now())
		if err != nil {
			return err
		}
		return s.settingChanged(ctx, tx, lab.UnitKey(u.Unit), u, by)
	})
}

// CreateUnitKey stores the hash of a unit's broker key; a new key replaces
// the one before.
func (s *Store) CreateUnitKey(ctx context.Context, unit lab.UnitID, hash []byte) (err error) {
	defer s.wrap(&err, s.web, "store the key of "+unit.String())
	_, err = s.web.Exec(ctx, `
		INSERT INTO unit_keys (unit, hash, created_at) VALUES ($1, $2, $3)
		ON CONFLICT (unit) DO UPDATE SET hash = excluded.hash, created_at = excluded.created_at`,
		unit.String(), notNil(hash), s.clock.Now())
	return err
}

// UnitKeys gives the hash of each unit's broker key, by unit.
func (s *Store) UnitKeys(ctx context.Context) (_ map[lab.UnitID][]byte, err error) {
	defer s.wrap(&err, s.web, "read unit keys")
	rows, err := s.web.Query(ctx, `SELECT unit, hash FROM unit_keys`)
	if err != nil {
		return nil, err
	}
	keys := map[lab.UnitID][]byte{}
	var name string
	var hash []byte
	_, err = pgx.ForEachRow(rows, []any{&name, &hash}, func() error {
		unit, err := lab.ParseUnitID(name)
		keys[unit] = append([]byte(nil), hash...)
		return err
	})
	return keys, err
}
