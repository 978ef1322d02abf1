package postgres

import (
	"context"
	"io/fs"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/pressly/goose/v3"

	"wetside/internal/lab"
)

// Condition is how a database stands, looked at from outside.
type Condition struct {
	Asked   time.Time // by the clock of this machine, in the middle of asking
	Clock   time.Time // by the clock of the database
	Server  string    // version of PostgreSQL
	Old     bool      // older than wetside needs
	Schema  int64     // last migration; 0: there is no lab in it
	Program int64     // last migration that this program knows

	// only where the two are the same:
	Holder     string // machine; empty: nobody ever held the lab
	Expired    bool   // nobody holds it now
	Terms      []LeaseTerm
	Partitions time.Time // the last day that telemetry has a partition for; zero: none
	Overdue    int       // runs that ended over a day and an hour ago and are not sealed
	OverdueBy  time.Time // when the first of them ended
	Refused    int64     // messages in the last day
	RefusedOf  string    // the unit with most of them
	Password   bool      // somebody can sign in
}

// Look asks a database how it stands. It changes nothing in it, and migrates
// nothing.
func Look(ctx context.Context, url string) (c Condition, err error) {
	ctx, cancel := context.WithTimeout(ctx, connectTimeout)
	defer cancel()
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return c, lab.Errorf(lab.KindUnavailable, "the database does not answer: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	asked := time.Now()
	var num int
	var there bool
	err = conn.QueryRow(ctx, `SELECT clock_timestamp(), current_setting('server_version'), current_setting('server_version_num')::int, to_regclass('goose_db_version') IS NOT NULL`).
		Scan(&c.Clock, &c.Server, &num, &there)
	if err != nil {
		return c, err
	}
	c.Asked = asked.Add(time.Since(asked) / 2)
	c.Old = num < oldestServer
	if c.Program, err = lastMigration(); err != nil || !there {
		return c, err
	}
	if err = conn.QueryRow(ctx, `SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied`).Scan(&c.Schema); err != nil || c.Schema != c.Program {
		return c, err
	}
	return c, c.look(ctx, conn)
}

func (c *Condition) look(ctx context.Context, conn *pgx.Conn) error {
	var day *string
	var first *time.Time
	err := conn.QueryRow(ctx, `
		SELECT h.machine, coalesce(h.expires_at <= clock_timestamp(), true),
			(SELECT max(right(relname, 10)) FROM pg_class WHERE relispartition AND relname ~ '^telemetry_[0-9]{4}_[0-9]{2}_[0-9]{2}$'),
			q.n, q.first, r.n, coalesce((SELECT unit FROM quarantine WHERE last_at > clock_timestamp() - interval '1 day' AND unit IS NOT NULL
				GROUP BY unit ORDER BY count(*) DESC, unit LIMIT 1), ''),
			EXISTS (SELECT FROM users WHERE password_hash <> '')
		FROM holder h,
			(SELECT count(*) AS n, min(ended_at) AS first FROM record_queue WHERE noticed_at < clock_timestamp() - interval '25 hours') q,
			(SELECT count(*) AS n FROM quarantine WHERE last_at > clock_timestamp() - interval '1 day' AND NOT imported) r
		WHERE h.lab = $1`, wholeDatabase).Scan(&c.Holder, &c.Expired, &day, &c.Overdue, &first, &c.Refused, &c.RefusedOf, &c.Password)
	if err != nil {
		return err
	}
	if first != nil {
		c.OverdueBy = *first
	}
	if day != nil {
		if c.Partitions, err = time.Parse("2006_01_02", *day); err != nil {
			return err
		}
	}
	rows, err := conn.Query(ctx, `SELECT term, machine, since, how FROM lease_terms WHERE lab = $1 AND since > clock_timestamp() - interval '1 hour' ORDER BY term DESC`, wholeDatabase)
	if err != nil {
		return err
	}
	c.Terms, err = pgx.CollectRows(rows, pgx.RowToStructByPos[LeaseTerm])
	return err
}

// lastMigration is the number of the last migration in this program.
func lastMigration() (last int64, err error) {
	names, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil {
		return 0, err
	}
	for _, name := range names {
		n, err := goose.NumericComponent(name)
		if err != nil {
			return 0, err
		}
		last = max(last, n)
	}
	return last, nil
}
