package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

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
