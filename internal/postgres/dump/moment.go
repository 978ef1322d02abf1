package dump

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
)

// Moment is one moment of a database, held for as long as it is read.
type Moment struct {
	url      string
	conn     *pgx.Conn
	tx       pgx.Tx
	snapshot string
	major    int
}

// Facts are what was so at a moment, to compare a restored database with.
type Facts struct {
	Server     string           `json:"server"`     // version of PostgreSQL
	Schema     int64            `json:"schema"`     // the last migration
	Bytes      int64            `json:"bytes"`      // of the database on disk
	Rows       map[string]int64 `json:"rows"`       // by table; partitions count with their table
	Leaves     int64            `json:"leaves"`     // of the record log
	Checkpoint string           `json:"checkpoint"` // the last signed one; "": nothing is sealed
	Keys       []string         `json:"keys"`       // verifier keys that signed
}

const closeWithin = 5 * time.Second

// Open takes hold of the present moment of a database that runs. It changes
// nothing and blocks nobody.
func Open(ctx context.Context, url string) (_ *Moment, err error) {
	m := &Moment{url: url}
	if m.conn, err = connect(ctx, url); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			m.Close()
		}
	}()
	if m.tx, err = m.conn.BeginTx(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}); err != nil {
		return nil, fmt.Errorf("read the database: %w", err)
	}
	var num int
	err = m.tx.QueryRow(ctx, `SELECT pg_export_snapshot(), current_setting('server_version_num')::int`).Scan(&m.snapshot, &num)
	m.major = num / 10000
	if err != nil {
		return nil, fmt.Errorf("hold a moment of the database: %w", err)
	}
	return m, nil
}

func connect(ctx context.Context, url string) (*pgx.Conn, error) {
	cfg, err := pgx.ParseConfig(url)
	if err != nil {
		return nil, lab.Errorf(lab.KindInvalid, "the database URL cannot be read: %w; give postgres://user@host/wetside", err)
	}
	cfg.RuntimeParams["application_name"] = "wetside backup"
	cfg.RuntimeParams["idle_in_transaction_session_timeout"] = "0" // it waits for pg_dump
	conn, err := pgx.ConnectConfig(ctx, cfg)
	if err != nil {
		return nil, lab.Errorf(lab.KindUnavailable, "the database does not answer: %w", err)
	}
	return conn, nil
}

// Close lets the moment go. It may be called twice.
func (m *Moment) Close() {
	ctx, cancel := context.WithTimeout(context.Background(), closeWithin)
	defer cancel()
	_ = m.conn.Close(ctx) // the transaction only read
}

// Facts reads what is so at the moment. progress is told which table is
// counted.
func (m *Moment) Facts(ctx context.Context, progress Progress) (Facts, error) {
	return factsOf(ctx, m.tx, progress)
}

// FactsOf reads what is so in a database now.
func FactsOf(ctx context.Context, url string, progress Progress) (Facts, error) {
	m, err := Open(ctx, url)
	if err != nil {
		return Facts{}, err
	}
	defer m.Close()
	return m.Facts(ctx, progress)
}

func factsOf(ctx context.Context, tx pgx.Tx, progress Progress) (f Facts, err error) {
	f.Rows = map[string]int64{}
	err = tx.QueryRow(ctx, `
		SELECT current_setting('server_version'), pg_database_size(current_database()),
		       (SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied),
		       (SELECT coalesce(max(leaf) + 1, 0) FROM log_leaves),
		       coalesce((SELECT note FROM log_checkpoints ORDER BY size DESC LIMIT 1), ''),
		       ARRAY(SELECT verifier FROM log_keys ORDER BY verifier)`).
		Scan(&f.Server, &f.Bytes, &f.Schema, &f.Leaves, &f.Checkpoint, &f.Keys)
	if err != nil {
		return f, fmt.Errorf("this is no database of wetside: %w", err)
	}
	tables, err := tablesOf(ctx, tx)
	if err != nil {
		return f, err
	}
	for i, name := range tables {
		progress.tell("counting "+name, i, len(tables))
		var n int64
		if err := tx.QueryRow(ctx, `SELECT count(*) FROM `+pgx.Identifier{"public", name}.Sanitize()).Scan(&n); err != nil {
			return f, fmt.Errorf("count the rows of %s: %w", name, err)
		}
		f.Rows[name] = n
	}
	return f, nil
}

// tablesOf lists the tables; a partition is part of its own.
func tablesOf(ctx context.Context, tx pgx.Tx) ([]string, error) {
	rows, err := tx.Query(ctx, `
		SELECT relname FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p') AND NOT relispartition
		ORDER BY relname`)
	if err != nil {
		return nil, fmt.Errorf("list the tables: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}

// Progress is told what is done, which part of how many it is.
type Progress func(what string, n, of int)

func (p Progress) tell(what string, n, of int) {
	if p != nil {
		p(what, n, of)
	}
}
