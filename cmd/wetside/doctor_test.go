package main

import (
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"wetside/internal/monitor/monitortest"
	"wetside/internal/monitor/sealkey"
	"wetside/internal/postgres/pgtest"
	"wetside/web/access"
)

// Each thing that is wrong is a line, for real where it can be; a lab in order
// has none. The bounds of each: internal/monitor/health.
func TestDoctor(t *testing.T) {
	t.Parallel()
	database, data := pgtest.New(t), t.TempDir()
	doctor := func(args ...string) (int, string) {
		t.Helper()
		code, out, errOut := run1(t, "", append([]string{"doctor", "--database", database, "--data", data}, args...)...)
		return code, out + errOut
	}
	conn, err := pgx.Connect(t.Context(), database)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(t.Context()) })
	do := func(sql string) {
		t.Helper()
		if _, err := conn.Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	notPEM := filepath.Join("testdata", "no-such.pem")
	code, out := doctor("--backups", t.TempDir(), "--tls-cert", notPEM)
	for _, want := range []string{"No wetside has ever watched this lab. Start wetside serve\n", "Nobody has set a password", "There is no sealing key", "There is no whole backup", "does not read"} {
		if code != exitFailed || !strings.Contains(out, want) {
			t.Errorf("of a lab that nobody watches: status %d, no %q in\n%s", code, want, out)
		}
	}

	// a lab in order: held, backed up, with a password and a key
	store := pgtest.Store(t, monitortest.StoreConfig(database))
	pgtest.Lease(t, store)
	if err := access.CreateUser(t.Context(), store, "Wren", "lead", "a password of some length"); err != nil {
		t.Fatal(err)
	}
	if _, err := sealkey.Ready(data); err != nil {
		t.Fatal(err)
	}
	monitortest.PassThrough(t, data)
	backups := t.TempDir()
	if code, _, errOut := run1(t, "", "backup", backups, "--database", database, "--data", data); code != exitDone {
		t.Fatalf("backup: %s", errOut)
	}
	if code, out := doctor("--backups", backups); code != exitDone || !strings.HasPrefix(out, "Nothing wrong was found. Certificates were not looked at") {
		t.Errorf("of a lab in order: status %d\n%s", code, out)
	}

	for sql, want := range map[string]string{
		`INSERT INTO lease_terms SELECT '', 100 + n, 'x', 'plover', clock_timestamp(), 'expired' FROM generate_series(1, 3) n`:                                    "The lab changed hands 3 times in the last hour",
		`INSERT INTO record_queue (run, ended_at, noticed_at, changed_at, open_gap) SELECT 'r', x, x, x, true FROM (SELECT now() - interval '26 hours') AS t (x)`: "1 run is not sealed a day after the end",
		`INSERT INTO quarantine (arrival, received_at, last_at, topic, unit, reason, payload, content)
			SELECT 1000000 + n, now() - n * interval '1 second', now(), 'x' || n, 'tern-street/plover', 'bounds', n::text::bytea, decode(lpad(n::text, 64, '0'), 'hex') FROM generate_series(1, 120) n`: "120 messages were refused in the last 24 hours, most of them from tern-street/plover",
		`DO $$ DECLARE r text; BEGIN FOR r IN SELECT relname::text FROM pg_class WHERE relkind = 'r' AND relispartition AND relname ~ '^telemetry_2' LOOP EXECUTE 'DROP TABLE ' || r; END LOOP; END $$`: "The tables for telemetry are made up to",
		`INSERT INTO goose_db_version (version_id, is_applied) VALUES (99999, true)`: "by a newer wetside",
	} {
		do(sql)
		if code, out := doctor(); code != exitFailed || !strings.Contains(out, want) {
			t.Errorf("status %d, no %q in\n%s", code, want, out)
		}
		do(`DELETE FROM goose_db_version WHERE version_id = 99999`)
	}
	database = "postgres://nobody@127.0.0.1:1/none"
	if code, out := doctor(); code != exitFailed || !strings.Contains(out, "The database cannot be asked") {
		t.Errorf("of a database that is away: status %d\n%s", code, out)
	}
	if out, err := exec.Command(binary(t), "doctor", "--database", "nonsense").CombinedOutput(); err == nil {
		t.Errorf("of no address: %s", out)
	}
}
