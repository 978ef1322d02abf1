package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

const lineColumns = `book, id, version, at, entered, by, why, body::text`

func scanLine(row pgx.CollectableRow) (l lab.BookLine, err error) {
	var body string
	err = row.Scan(&l.Book, &l.ID, &l.Version, &l.At.Time, &l.Entered.Time, &l.By, &l.Why, &body)
	l.At, l.Entered, l.Body = lab.At(l.At.Time), lab.At(l.Entered.Time), []byte(body)
	return l, err
}

// WriteLine writes a line of a book. Its version must be the next one: who
// corrects what another person corrected meanwhile is told so. The same said
// again of a version changes nothing.
func (s *Store) WriteLine(ctx context.Context, l lab.BookLine) (_ lab.BookLine, err error) {
	defer s.wrap(&err, s.web, "write in the book of "+l.Book)
	l.Entered = lab.At(s.clock.Now())
	if l.At.IsZero() {
		l.At = l.Entered
	}
	if err := l.Check(); err != nil {
		return l, err
	}
	err = pgx.BeginFunc(ctx, s.web, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock(hashtext('wetside books'))`); err != nil {
			return err
		}
		last, err := linesOf(ctx, tx, l.Book, l.ID)
		if err != nil {
			return err
		}
		for _, old := range last {
			if old.Version == l.Version && lab.SamePayload(old.Body, l.Body) && old.By == l.By {
				l = old
				return nil
			}
		}
		if len(last) != l.Version-1 {
			return lab.Errorf(lab.KindConflict, "%s was changed meanwhile: it stands at version %d; read it again", l.ID, len(last))
		}
		_, err = tx.Exec(ctx, `INSERT INTO book_lines (book, id, version, at, entered, by, why, body) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
			l.Book, l.ID, l.Version, l.At.UTC(), l.Entered.UTC(), l.By, l.Why, string(l.Body))
		return err
	})
	return l, err
}

func linesOf(ctx context.Context, tx pgx.Tx, book, id string) ([]lab.BookLine, error) {
	rows, err := tx.Query(ctx, `SELECT `+lineColumns+` FROM book_lines WHERE book = $1 AND id = $2 ORDER BY version`, book, storable(id))
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanLine)
}

// Lines gives the lines of a book, each with all its versions, by the order in
// which they were first written.
func (s *Store) Lines(ctx context.Context, book string) (_ [][]lab.BookLine, err error) {
	defer s.wrap(&err, s.web, "read the book of "+book)
	rows, err := s.web.Query(ctx, `SELECT `+lineColumns+` FROM book_lines WHERE book = $1 ORDER BY n`, book)
	if err != nil {
		return nil, err
	}
	all, err := pgx.CollectRows(rows, scanLine)
	var out [][]lab.BookLine
	at := map[string]int{}
	for _, l := range all {
		i, known := at[l.ID]
		if !known {
			i = len(out)
			at[l.ID], out = i, append(out, nil)
		}
		out[i] = append(out[i], l)
	}
	return out, err
}
