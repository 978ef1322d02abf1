package postgres

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"wetside/internal/lab"
)

// LogHead gives the number of leaves of the record log and its last signed
// checkpoint; 0 and "" for an empty one.
func (s *Store) LogHead(ctx context.Context) (size int64, checkpoint string, err error) {
	defer s.wrap(&err, s.web, "read the head of the record log")
	err = s.web.QueryRow(ctx, `
		SELECT (SELECT coalesce(max(leaf) + 1, 0) FROM log_leaves),
		       (SELECT coalesce((SELECT note FROM log_checkpoints ORDER BY size DESC LIMIT 1), ''))`).Scan(&size, &checkpoint)
	return size, checkpoint, err
}

// LogHashes gives stored hashes of the record log by index, in that order;
// KindNotFound where one is missing.
func (s *Store) LogHashes(ctx context.Context, indexes []int64) (_ [][]byte, err error) {
	defer s.wrap(&err, s.web, "read hashes of the record log")
	rows, err := s.web.Query(ctx, `
		SELECT h.hash FROM unnest($1::bigint[]) WITH ORDINALITY AS x (index, n)
		JOIN log_hashes h ON h.index = x.index ORDER BY x.n`, indexes)
	if err != nil {
		return nil, err
	}
	hashes, err := pgx.CollectRows(rows, pgx.RowTo[[]byte])
	if err == nil && len(hashes) != len(indexes) {
		err = lab.Errorf(lab.KindNotFound, "%d of %d hashes are missing", len(indexes)-len(hashes), len(indexes))
	}
	return hashes, err
}

// LogKeys gives the verifier keys that signed checkpoints.
func (s *Store) LogKeys(ctx context.Context) (_ []string, err error) {
	defer s.wrap(&err, s.web, "read the keys of the record log")
	rows, err := s.web.Query(ctx, `SELECT verifier FROM log_keys ORDER BY verifier`)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}

// AppendLog adds to the record log: leaves, hashes, records, checkpoint and
// what runs show of it, all or nothing. KindConflict says that another term
// has begun, or that the log has no longer the size that a is for.
func (s *Store) AppendLog(ctx context.Context, term int64, a lab.LogAppend) (err error) {
	defer s.wrap(&err, s.control, "add to the record log")
	err = pgx.BeginFunc(ctx, s.control, func(tx pgx.Tx) error {
		if err := fence(ctx, tx, term); err != nil {
			return err
		}
		return appendLog(ctx, tx, a)
	})
	return err
}

// ErrLogMoved says that the log has another size than it was thought to have.
var ErrLogMoved = errors.New("the record log has another size than it was thought to have")

func appendLog(ctx context.Context, tx pgx.Tx, a lab.LogAppend) error {
	var size int64
	if err := tx.QueryRow(ctx, `SELECT coalesce(max(leaf) + 1, 0) FROM log_leaves`).Scan(&size); err != nil {
		return err
	}
	if size != a.Size {
		return lab.Errorf(lab.KindUnavailable, "%w: it has %d leaves, not %d", ErrLogMoved, size, a.Size)
	}
	var trip pgx.Batch
	for _, l := range a.Leaves {
		trip.Queue(`INSERT INTO log_leaves (leaf, kind, subject, hash) VALUES ($1, $2, $3, $4)`, l.Leaf, l.Kind, l.Subject, l.Hash)
	}
	for _, h := range a.Hashes {
		trip.Queue(`INSERT INTO log_hashes (index, hash) VALUES ($1, $2)`, h.Index, h.Hash)
	}
	trip.Queue(`INSERT INTO log_checkpoints (size, note) VALUES ($1, $2)`, a.Size+int64(len(a.Leaves)), a.Checkpoint)
	trip.Queue(`INSERT INTO log_keys (verifier) VALUES ($1) ON CONFLICT DO NOTHING`, a.Verifier)
	for _, r := range a.Records {
		trip.Queue(`
			INSERT INTO records (leaf, run, unit, process, push, started_at, sealed_at, supersedes, good, features, size, packed_hash, packed)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)`,
			r.Leaf, r.RunID, r.Unit, r.Process, r.Push, r.StartedAt.UTC(), r.SealedAt.UTC(), r.Supersedes, r.Good,
			notNil(r.Features), r.Size, r.PackedHash, r.Packed)
	}
	for _, r := range a.Parted {
		bind := trip.Queue(`UPDATE record_parts SET leaf = $1 WHERE run = $2 AND leaf IS NULL`, r.Leaf, r.RunID)
		bind.Exec(func(tag pgconn.CommandTag) error {
			if tag.RowsAffected() != int64(r.Parts) {
				return fmt.Errorf("%d of the %d parts of the record of run %s are there", tag.RowsAffected(), r.Parts, r.RunID)
			}
			return nil
		})
	}
	for _, e := range a.Entries {
		trip.Queue(`INSERT INTO record_entries (leaf, entry, arrival, body) VALUES ($1, $2, $3, $4)`, e.Leaf, e.Entry, e.Arrival, e.Body)
	}
	for _, r := range a.Sealed {
		brief, err := json.Marshal(r.Seal)
		if err != nil {
			return err
		}
		trip.Queue(`UPDATE runs SET body = body || jsonb_build_object('seal', $2::jsonb) WHERE id = $1`, r.RunID, string(brief))
		trip.Queue(`DELETE FROM record_queue WHERE run = $1 AND changes = $2`, r.RunID, r.Changes)
	}
	return tx.SendBatch(ctx, &trip).Close()
}

const recordColumns = `leaf, run, unit, process, push, started_at, sealed_at, supersedes, good, features, size, packed_hash, packed`

func scanRecord(row pgx.CollectableRow) (r lab.StoredRecord, err error) {
	err = row.Scan(&r.Leaf, &r.RunID, &r.Unit, &r.Process, &r.Push, &r.StartedAt, &r.SealedAt, &r.Supersedes, &r.Good,
		&r.Features, &r.Size, &r.PackedHash, &r.Packed)
	r.StartedAt, r.SealedAt = r.StartedAt.UTC(), r.SealedAt.UTC()
	return r, err
}

// Record gives the present record of a run; KindNotFound where it has none.
func (s *Store) Record(ctx context.Context, run string) (_ lab.StoredRecord, err error) {
	defer s.wrap(&err, s.web, "record of run "+run)
	rows, err := s.web.Query(ctx, `SELECT `+recordColumns+` FROM records WHERE run = $1 ORDER BY leaf DESC LIMIT 1`, storable(run))
	if err != nil {
		return lab.StoredRecord{}, err
	}
	return pgx.CollectExactlyOneRow(rows, scanRecord)
}

// GoodRuns gives the features of good runs of a unit, process and
// push that began before a moment, of their present records, newest first.
func (s *Store) GoodRuns(ctx context.Context, r lab.Run, limit int) (_ [][]byte, err error) {
	defer s.wrap(&err, s.web, "read good runs")
	rows, err := s.web.Query(ctx, `
		SELECT features FROM records r
		WHERE good AND unit = $1 AND process = $2 AND push = $3 AND started_at < $4
		  AND NOT EXISTS (SELECT FROM records later WHERE later.supersedes = r.leaf)
		ORDER BY started_at DESC, leaf LIMIT $5`, r.Unit, r.Process, r.Push, r.StartedAt.UTC(), limit)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[[]byte])
}

// EntriesToSeal gives entries that are not in the log yet, in arrival order.
func (s *Store) EntriesToSeal(ctx context.Context, limit int) (_ []lab.Entry, err error) {
	defer s.wrap(&err, s.web, "read entries to seal")
	rows, err := s.web.Query(ctx, `
		SELECT `+entryColumns+` FROM entries e
		WHERE arrival > (SELECT coalesce(max(arrival), 0) FROM record_entries) ORDER BY arrival LIMIT $1`, limit)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanEntry)
}

// EntriesOfRun gives all that was entered of a run, in arrival order.
func (s *Store) EntriesOfRun(ctx context.Context, run string) (_ []lab.Entry, err error) {
	defer s.wrap(&err, s.web, "read what was entered of run "+run)
	rows, err := s.web.Query(ctx, `SELECT `+entryColumns+` FROM entries e WHERE run = $1 AND run <> '' ORDER BY arrival`, storable(run))
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, scanEntry)
}

// RunIDs gives the ids of runs that a text may mean: the id or its beginning,
// or the unit's own name of the run. At most limit.
func (s *Store) RunIDs(ctx context.Context, text string, limit int) (_ []string, err error) {
	defer s.wrap(&err, s.web, "find run "+text)
	rows, err := s.web.Query(ctx, `
		SELECT id FROM runs WHERE id = $1 OR run = $1 OR starts_with(id, $1)
		ORDER BY id = $1 DESC, run = $1 DESC, started_at DESC LIMIT $2`, storable(text), limit)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}
