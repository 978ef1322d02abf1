package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor/sealkey"
)

// keep writes the folder.
func (f *filledLab) keep() {
	t := f.t
	conn, err := pgx.Connect(t.Context(), f.database)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.WithoutCancel(t.Context()))
	f.said.Leaves = leavesOf(t, conn)
	f.said.Waiting = countOf(t, conn, `SELECT count(*) FROM record_queue WHERE ended_at < 'infinity'`)
	if f.said.Waiting == 0 {
		t.Fatal("no run waits for its seal; curlew's should")
	}
	var superseded, pages int
	if err := conn.QueryRow(t.Context(), `SELECT (SELECT count(*) FROM records WHERE supersedes IS NOT NULL), (SELECT count(*) FROM page_messages)`).Scan(&superseded, &pages); err != nil || superseded == 0 || pages == 0 {
		t.Fatalf("%d records superseded, %d pages: %v", superseded, pages, err)
	}
	dir := filepath.Join(databasesDir, fmt.Sprintf("%05d", countOf(t, conn, `SELECT max(version_id) FROM goose_db_version`)))
	if _, err := os.Stat(dir); err == nil {
		t.Fatalf("%s is there: what an older program wrote is never written again", dir)
	}
	if err := os.MkdirAll(filepath.Join(dir, "seal"), 0o755); err != nil {
		t.Fatal(err)
	}
	said, err := json.MarshalIndent(f.said, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{
		databaseDump: packed(t, f.dump()), databaseSaidFile: packed(t, append(said, '\n')), databaseNext: f.next(),
	}
	for _, name := range []string{"key", "verifier", "checkpoint"} {
		b, err := os.ReadFile(filepath.Join(sealkey.Dir(f.data), name))
		if err != nil {
			t.Fatal(err)
		}
		files[filepath.Join("seal", name)] = b
	}
	for name, b := range files {
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o644); err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %d bytes", filepath.Join(dir, name), len(b))
	}
}

// dump gives the database as SQL that any client can run.
func (f *filledLab) dump() []byte {
	f.t.Helper()
	cmd := exec.Command(labtest.Need(f.t, "pg_dump", "postgresql-client"), "--dbname", f.database, "--inserts", "--rows-per-insert=200", "--no-owner", "--no-privileges")
	var errOut bytes.Buffer
	cmd.Stderr = &errOut
	out, err := cmd.Output()
	if err != nil {
		f.t.Fatalf("pg_dump: %v: %s", err, errOut.String())
	}
	var b bytes.Buffer
	for line := range bytes.Lines(out) {
		// commands of psql, and a setting that older servers do not know
		if bytes.HasPrefix(line, []byte(`\`)) || bytes.HasPrefix(line, []byte("SET transaction_timeout")) {
			continue
		}
		b.Write(line)
	}
	return b.Bytes()
}

// next is what the units would have said next, as a capture.
func (f *filledLab) next() []byte {
	var all []lab.Raw
	for _, l := range f.labs {
		all = append(all, l.Advance(f.began.Add(fixtureLives+fixtureNext))...)
	}
	slices.SortStableFunc(all, func(a, b lab.Raw) int { return a.Received.Compare(b.Received) })
	var b bytes.Buffer
	w := lab.NewCaptureWriter(&b)
	for _, raw := range all {
		if err := w.Write(raw); err != nil {
			f.t.Fatal(err)
		}
	}
	return b.Bytes()
}
