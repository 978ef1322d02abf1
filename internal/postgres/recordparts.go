package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

const partColumns = `run, n, coalesce(leaf, -1), messages, size, packed_hash, packed`

func scanPart(row pgx.CollectableRow) (p lab.StoredPart, err error) {
	err = row.Scan(&p.RunID, &p.N, &p.Leaf, &p.Messages, &p.Size, &p.PackedHash, &p.Packed)
	return p, err
}

// DraftPart keeps a part of a record that is being made. The first part takes
// the place of all that an earlier try left behind.
func (s *Store) DraftPart(ctx context.Context, term int64, p lab.StoredPart) (err error) {
	defer s.wrap(&err, s.control, "keep a part of the record of run "+p.RunID)
	return pgx.BeginFunc(ctx, s.control, func(tx pgx.Tx) error {
		if err := fence(ctx, tx, term); err != nil {
			return err
		}
		if p.N == 1 {
			if _, err := tx.Exec(ctx, `DELETE FROM record_parts WHERE run = $1 AND leaf IS NULL`, p.RunID); err != nil {
				return err
			}
		}
		_, err := tx.Exec(ctx, `INSERT INTO record_parts (run, n, messages, size, packed_hash, packed) VALUES ($1, $2, $3, $4, $5, $6)`,
			p.RunID, p.N, p.Messages, p.Size, p.PackedHash, p.Packed)
		return err
	})
}

// DropDraftParts lets go of the parts of a record that is not to be.
func (s *Store) DropDraftParts(ctx context.Context, term int64, run string) (err error) {
	defer s.wrap(&err, s.control, "let go of parts of the record of run "+run)
	return pgx.BeginFunc(ctx, s.control, func(tx pgx.Tx) error {
		if err := fence(ctx, tx, term); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `DELETE FROM record_parts WHERE run = $1 AND leaf IS NULL`, run)
		return err
	})
}

// RecordPart gives the n-th part of a record, counted from 1; with leaf -1 of
// the one that is being made of the run. KindNotFound where it is not there.
func (s *Store) RecordPart(ctx context.Context, run string, leaf int64, n int) (_ lab.StoredPart, err error) {
	defer s.wrap(&err, s.web, "read a part of the record of run "+run)
	rows, err := s.web.Query(ctx, `SELECT `+partColumns+` FROM record_parts
		WHERE run = $1 AND n = $3 AND (leaf = $2 OR $2 < 0 AND leaf IS NULL)`, storable(run), leaf, n)
	if err != nil {
		return lab.StoredPart{}, err
	}
	return pgx.CollectExactlyOneRow(rows, scanPart)
}

// Parts goes through the parts of records in order.
func (v *LogView) Parts(ctx context.Context, each func(lab.StoredPart) error) error {
	return through(ctx, v.tx, scanPart, each, `SELECT `+partColumns+` FROM record_parts WHERE leaf IS NOT NULL ORDER BY leaf, n`)
}

// RecordAt gives the record under a leaf, as Records does.
func (v *LogView) RecordAt(ctx context.Context, leaf int64) (lab.StoredRecord, error) {
	rows, err := v.tx.Query(ctx, `SELECT `+recordColumns+` FROM records WHERE leaf = $1`, leaf)
	if err != nil {
		return lab.StoredRecord{}, err
	}
	return pgx.CollectExactlyOneRow(rows, scanRecord)
}

// PartAt gives the n-th part of the record under a leaf.
func (v *LogView) PartAt(ctx context.Context, leaf int64, n int) (lab.StoredPart, error) {
	rows, err := v.tx.Query(ctx, `SELECT `+partColumns+` FROM record_parts WHERE leaf = $1 AND n = $2`, leaf, n)
	if err != nil {
		return lab.StoredPart{}, err
	}
	return pgx.CollectExactlyOneRow(rows, scanPart)
}
