package postgres

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// Sessions keeps the sessions of the pages. It has the methods of a session
// store of the session library, with and without a context. Safe for
// concurrent use.
type Sessions struct{ s *Store }

// Sessions gives the session store.
func (s *Store) Sessions() *Sessions { return &Sessions{s} }

// FindCtx gives a session that has not expired.
func (x *Sessions) FindCtx(ctx context.Context, token string) (data []byte, found bool, err error) {
	defer x.s.wrap(&err, x.s.web, "find the session")
	if !isStorable(token) {
		return nil, false, nil
	}
	err = x.s.web.QueryRow(ctx, `SELECT data FROM sessions WHERE token = $1 AND expiry > $2`,
		token, x.s.clock.Now()).Scan(&data)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, false, nil
	}
	return data, err == nil, err
}

// CommitCtx stores a session, and clears away expired ones.
func (x *Sessions) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) (err error) {
	defer x.s.wrap(&err, x.s.web, "store the session")
	if !isStorable(token) {
		return lab.Errorf(lab.KindInvalid, "a session token must be text")
	}
	var trip pgx.Batch
	trip.Queue(`
		INSERT INTO sessions (token, data, expiry) VALUES ($1, $2, $3)
		ON CONFLICT (token) DO UPDATE SET data = excluded.data, expiry = excluded.expiry`,
		token, notNil(data), expiry.UTC())
	trip.Queue(`DELETE FROM sessions WHERE expiry <= $1 AND token <> $2`, x.s.clock.Now(), token)
	return x.s.web.SendBatch(ctx, &trip).Close()
}

// DeleteCtx ends a session; one that is not there is no error.
func (x *Sessions) DeleteCtx(ctx context.Context, token string) (err error) {
	defer x.s.wrap(&err, x.s.web, "end the session")
	if !isStorable(token) {
		return nil
	}
	_, err = x.s.web.Exec(ctx, `DELETE FROM sessions WHERE token = $1`, token)
	return err
}

// AllCtx gives every session that has not expired.
func (x *Sessions) AllCtx(ctx context.Context) (_ map[string][]byte, err error) {
	defer x.s.wrap(&err, x.s.web, "read sessions")
	rows, err := x.s.web.Query(ctx, `SELECT token, data FROM sessions WHERE expiry > $1`, x.s.clock.Now())
	if err != nil {
		return nil, err
	}
	all := map[string][]byte{}
	var token string
	var data []byte
	_, err = pgx.ForEachRow(rows, []any{&token, &data}, func() error {
		all[token] = append([]byte(nil), data...)
		return nil
	})
	return all, err
}

// sessionTimeout bounds the calls that bring no context.
const sessionTimeout = 10 * time.Second

// Find is FindCtx with a timeout.
func (x *Sessions) Find(token string) ([]byte, bool, error) {
	ctx, cancel := context.WithTimeout(context.Background(), sessionTimeout)
	defer cancel()
	return x.FindCtx(ctx, token)
}

// Commit is CommitCtx with a timeout.
func (x *Sessions) Commit(token string, data []byte, expiry time.Time) error {
	ctx, cancel := context.WithTimeout(context.Background(), sessionTimeout)
	defer cancel()
	return x.CommitCtx(ctx, token, data, expiry)
}

// Delete is DeleteCtx with a timeout.
func (x *Sessions) Delete(token string) error {
	ctx, cancel := context.WithTimeout(context.Background(), sessionTimeout)
	defer cancel()
	return x.DeleteCtx(ctx, token)
}

// All is AllCtx with a timeout.
func (x *Sessions) All() (map[string][]byte, error) {
	ctx, cancel := context.WithTimeout(context.Background(), sessionTimeout)
	defer cancel()
	return x.AllCtx(ctx)
}
