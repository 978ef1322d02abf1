package postgres

import (
	"context"
	"encoding/json"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// CreateUser adds a person; KindConflict where the name is taken.
func (s *Store) CreateUser(ctx context.Context, u lab.User) (err error) {
	defer s.wrap(&err, s.web, "create user "+u.Name)
	if err := checkPerson("user", u.Name, u.Role); err != nil {
		return err
	}
	if u.CreatedAt.IsZero() {
		u.CreatedAt = s.clock.Now()
	}
	_, err = s.web.Exec(ctx, `INSERT INTO users (name, role, password_hash, created_at) VALUES ($1, $2, $3, $4)`,
		u.Name, u.Role, u.PasswordHash, u.CreatedAt.UTC())
	if violatesUnique(err) {
		return lab.Errorf(lab.KindConflict, "there is already a user %q", u.Name)
	}
	return err
}

func checkPerson(what, name, role string) error {
	if name == "" || !isStorable(name) {
		return lab.Errorf(lab.KindInvalid, "a %s must have a name, in UTF-8 without NUL", what)
	}
	switch role {
	case lab.RoleViewer, lab.RoleOperator, lab.RoleLead:
		return nil
	}
	return lab.Errorf(lab.KindInvalid, "role %q is not one of viewer, operator, lead", role)
}

func scanUser(row pgx.CollectableRow) (u lab.User, err error) {
	err = row.Scan(&u.Name, &u.Role, &u.PasswordHash, &u.CreatedAt)
	u.CreatedAt = u.CreatedAt.UTC()
	return u, err
}

// UserByName finds a person.
func (s *Store) UserByName(ctx context.Context, name string) (_ lab.User, err error) {
	defer s.wrap(&err, s.web, "find the user")
	if !isStorable(name) {
		return lab.User{}, pgx.ErrNoRows // typed by anybody: no such name can be
	}
	rows, err := s.web.Query(ctx, `SELECT name, role, password_hash, created_at FROM users WHERE name = $1`, name)
	if err != nil {
		return lab.User{}, err
	}
	return pgx.CollectExactlyOneRow(rows, scanUser)
}

// Users gives all people, by name.
func (s *Store) Users(ctx context.Context) (_ []lab.User, err error) {
	defer s.wrap(&err, s.web, "read users")
	rows, err := s.web.Query(ctx, `SELECT name, role, password_hash, created_at FROM users ORDER BY name`)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanUser)
}

// SetPassword stores a person's new password hash.
func (s *Store) SetPassword(ctx context.Context, name, passwordHash string) (err error) {
	defer s.wrap(&err, s.web, "set the password of "+name)
	tag, err := s.web.Exec(ctx, `UPDATE users SET password_hash = $2 WHERE name = $1`, name, passwordHash)
	if err == nil && tag.RowsAffected() == 0 {
		return pgx.ErrNoRows
	}
	return err
}

// CreateToken stores an API token by the SHA-256 of it; KindConflict where
// the name is taken. With no end it holds until it is withdrawn.
func (s *Store) CreateToken(ctx context.Context, t lab.Token) (err error) {
	defer s.wrap(&err, s.web, "create token "+t.Name)
	if err := checkPerson("token", t.Name, t.Role); err != nil {
		return err
	}
	_, err = s.web.Exec(ctx, `INSERT INTO tokens (name, role, hash, created_at, expires_at) VALUES ($1, $2, $3, $4, $5)`,
		t.Name, t.Role, notNil(t.Hash), s.clock.Now(), orNull(t.ExpiresAt))
	if violatesUnique(err) {
		return lab.Errorf(lab.KindConflict, "there is already a token %q; withdraw it first, or choose another name", t.Name)
	}
	return err
}

func scanToken(row pgx.CollectableRow) (t lab.Token, err error) {
	var ends, used *time.Time
	err = row.Scan(&t.Name, &t.Role, &t.Hash, &t.CreatedAt, &ends, &used)
	t.CreatedAt = t.CreatedAt.UTC()
	if ends != nil {
		t.ExpiresAt = ends.UTC()
	}
	if used != nil {
		t.LastUsed = used.UTC()
	}
	return t, err
}

// TokenByHash finds an API token.
func (s *Store) TokenByHash(ctx context.Context, hash []byte) (_ lab.Token, err error) {
	defer s.wrap(&err, s.web, "find the token")
	rows, err := s.web.Query(ctx, `SELECT name, role, hash, created_at, expires_at, last_used_at FROM tokens WHERE hash = $1`, notNil(hash))
	if err != nil {
		return lab.Token{}, err
	}
	return pgx.CollectExactlyOneRow(rows, scanToken)
}

// TokenUsed notes when a token was last shown.
func (s *Store) TokenUsed(ctx context.Context, name string, at time.Time) (err error) {
	defer s.wrap(&err, s.web, "note the use of token "+name)
	_, err = s.web.Exec(ctx, `UPDATE tokens SET last_used_at = $2 WHERE name = $1 AND (last_used_at IS NULL OR last_used_at < $2)`, name, at.UTC())
	return err
}

// Tokens gives all API tokens, by name.
func (s *Store) Tokens(ctx context.Context) (_ []lab.Token, err error) {
	defer s.wrap(&err, s.web, "read tokens")
	rows, err := s.web.Query(ctx, `SELECT name, role, hash, created_at, expires_at, last_used_at FROM tokens ORDER BY name`)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanToken)
}

// DeleteToken takes an API token back.
func (s *Store) DeleteToken(ctx context.Context, name string) (err error) {
	defer s.wrap(&err, s.web, "delete token "+name)
	if !isStorable(name) {
		return pgx.ErrNoRows
	}
	tag, err := s.web.Exec(ctx, `DELETE FROM tokens WHERE name = $1`, name)
	if err == nil && tag.RowsAffected() == 0 {
		return lab.Errorf(lab.KindNotFound, "there is no token %q", name)
	}
	return err
}

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
