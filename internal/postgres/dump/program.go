package dump

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"regexp"
	"strings"

	"wetside/internal/lab"
	"wetside/internal/postgres/private"
)

// Write writes the moment's database into a file that is not there yet, and
// gives the number of tables that hold rows, for the progress of a restore.
func (m *Moment) Write(ctx context.Context, file string, progress Progress) (tables int, err error) {
	path, err := private.Tool(ctx, "pg_dump", m.major)
	if err != nil {
		return 0, err
	}
	if tables, err = m.parts(ctx); err != nil {
		return 0, err
	}
	return tables, run(ctx, path, m.url, dumping, tables, progress,
		"--format=custom", "--no-owner", "--no-privileges", "--snapshot="+m.snapshot, "--verbose", "--file="+file)
}

// parts counts the tables that hold rows: what pg_dump goes through.
func (m *Moment) parts(ctx context.Context) (n int, err error) {
	err = m.tx.QueryRow(ctx, `SELECT count(*) FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'r'`).Scan(&n)
	return n, err
}

// Restore fills an empty database from a file, all or nothing.
func Restore(ctx context.Context, url, file string, tables int, progress Progress) error {
	major, err := mustBeEmpty(ctx, url)
	if err != nil {
		return err
	}
	path, err := private.Tool(ctx, "pg_restore", major)
	if err != nil {
		return err
	}
	return run(ctx, path, url, restoring, tables, progress,
		"--no-owner", "--no-privileges", "--exit-on-error", "--single-transaction", "--verbose", file)
}

// mustBeEmpty refuses a database that holds anything: a backup never goes over
// what is there.
func mustBeEmpty(ctx context.Context, url string) (major int, err error) {
	conn, err := connect(ctx, url)
	if err != nil {
		return 0, err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var num, there int
	err = conn.QueryRow(ctx, `
		SELECT current_setting('server_version_num')::int,
		       (SELECT count(*) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
		        WHERE n.nspname NOT LIKE 'pg\_%' AND n.nspname <> 'information_schema' AND c.relkind IN ('r', 'p', 'v', 'm', 'S', 'f'))`).
		Scan(&num, &there)
	switch {
	case err != nil:
		return 0, fmt.Errorf("look whether the database is empty: %w", err)
	case there > 0:
		return 0, lab.Errorf(lab.KindConflict, "the database is not empty (%d tables and the like are in it); a backup is restored into an empty one only: make a new one with createdb", there)
	}
	return num / 10000, nil
}

// What the programs say of their progress, by table.
var (
	dumping   = regexp.MustCompile(`dumping contents of table "?(?:public\.)?([^"]+)"?`)
	restoring = regexp.MustCompile(`processing data for table "?(?:public\.)?([^"]+)"?`)
)

// run runs one of the programs and tells of its progress; what it says is the
// error where it fails.
func run(ctx context.Context, path, database string, table *regexp.Regexp, tables int, progress Progress, args ...string) error {
	address, password := withoutPassword(database)
	cmd := exec.CommandContext(ctx, path, append(args, "--dbname="+address)...)
	cmd.Env = append(os.Environ(), "LC_ALL=C")
	if password != "" {
		cmd.Env = append(cmd.Env, "PGPASSWORD="+password) // not on the command line, which everybody can read
	}
	said, err := cmd.StderrPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	trouble := follow(said, table, tables, progress)
	if err := cmd.Wait(); err != nil {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		return fmt.Errorf("%s: %w: %s", path, err, strings.Join(trouble, "; "))
	}
	return nil
}

// follow reads what a program says to its end, and gives its complaints.
func follow(said io.Reader, table *regexp.Regexp, tables int, progress Progress) (trouble []string) {
	lines := bufio.NewScanner(said)
	lines.Buffer(nil, 1<<20)
	n := 0
	for lines.Scan() {
		line := lines.Text()
		if m := table.FindStringSubmatch(line); m != nil {
			n++
			progress.tell(m[1], n, max(n, tables))
		}
		if strings.Contains(line, "error:") || strings.Contains(line, "FATAL") || strings.Contains(line, "detail:") || strings.Contains(line, "hint:") {
			trouble = append(trouble, line)
		}
	}
	_, _ = io.Copy(io.Discard, said) // a line too long to read must not block it
	return trouble
}

// withoutPassword takes the password out of an address.
func withoutPassword(address string) (without, password string) {
	u, err := url.Parse(address)
	if err != nil || u.User == nil {
		return address, ""
	}
	password, _ = u.User.Password()
	u.User = url.User(u.User.Username())
	return u.String(), password
}
