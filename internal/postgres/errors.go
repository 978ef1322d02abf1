package postgres

import (
	"context"
	"errors"
	"io"
	"net"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"wetside/internal/lab"
)

// wrap is deferred at the head of an operation: it says what was being done,
// gives the error its kind, and empties the pool where its connections lead
// to a server that is gone or no longer the primary.
func (s *Store) wrap(err *error, pool *pgxpool.Pool, doing string) {
	if *err == nil {
		return
	}
	if serverGone(*err) && pool != nil {
		pool.Reset()
	}
	var known *lab.Error
	if errors.As(*err, &known) {
		return
	}
	switch {
	case errors.Is(*err, context.Canceled), errors.Is(*err, context.DeadlineExceeded), unreachable(*err):
		*err = lab.Errorf(lab.KindUnavailable, "%s: %w", doing, *err)
	case errors.Is(*err, pgx.ErrNoRows):
		*err = lab.Errorf(lab.KindNotFound, "%s: there is no such thing", doing)
	case badRow(*err):
		*err = lab.Errorf(lab.KindInternal, "%s: %w", doing, unstorable{*err})
	default:
		*err = lab.Errorf(lab.KindInternal, "%s: %w", doing, *err)
	}
}

// unstorable marks an error that the data caused.
type unstorable struct{ error }

func (unstorable) Is(target error) bool { return target == lab.ErrUnstorable }
func (u unstorable) Unwrap() error      { return u.error }

func sqlState(err error) string {
	var pe *pgconn.PgError
	if errors.As(err, &pe) {
		return pe.Code
	}
	return ""
}

// serverGone: 25006 a read-only server (a failover made it a standby), 57P0x
// it is shut down or starts, 08xxx the connection broke.
func serverGone(err error) bool {
	code := sqlState(err)
	return code == "25006" || strings.HasPrefix(code, "57P0") || strings.HasPrefix(code, "08")
}

// unreachable tells errors after which the same call may be made again: the
// server is gone, full (class 53: a disk, its memory, its connections), asks to
// try again (class 40), has trouble with its own files (58, XX), or a bound of
// time was passed (a lock, a statement, a transaction left idle).
func unreachable(err error) bool {
	if code := sqlState(err); code != "" {
		switch code {
		case "55P03", "57014", "25P03", "25P04":
			return true
		}
		return serverGone(err) || slices.Contains([]string{"40", "53", "58", "XX"}, code[:2])
	}
	var ne net.Error
	var ce *pgconn.ConnectError
	return errors.As(err, &ne) || errors.As(err, &ce) || pgconn.SafeToRetry(err) ||
		errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) || errors.Is(err, net.ErrClosed)
}

// badRow tells errors that one row of a batch causes: class 22, data that
// PostgreSQL cannot hold, and class 23, a broken constraint.
func badRow(err error) bool {
	code := sqlState(err)
	return strings.HasPrefix(code, "22") || strings.HasPrefix(code, "23")
}

// violatesUnique tells whether err is a broken unique constraint.
func violatesUnique(err error) bool { return sqlState(err) == "23505" }
