package main

import (
	"encoding/json"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/monitor/sealkey"
	"wetside/internal/postgres/pgtest"
	"wetside/internal/records"
)

// sealedHistory is a database with imported runs that are sealed, the folder
// of the sealing key, and one of its runs.
func sealedHistory(t *testing.T) (database, data string, run lab.Run) {
	t.Helper()
	return sealedHistoryOf(t, monitortest.FaultyDay(t))
}

func sealedHistoryOf(t *testing.T, raws []lab.Raw) (database, data string, run lab.Run) {
	t.Helper()
	database, data = pgtest.New(t), t.TempDir()
	if code, _, errOut := run1(t, "", "import", "--database", database, monitortest.WriteCapture(t, "day.jsonl", raws)); code != exitDone {
		t.Fatalf("import: status %d: %s", code, errOut)
	}
	store := pgtest.Store(t, monitortest.StoreConfig(database))
	key, err := sealkey.Ready(data)
	if err != nil {
		t.Fatal(err)
	}
	lease, err := store.AcquireLease(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer lease.Release()
	w, err := records.NewWorker(records.Config{
		Making: records.Making{Decode: ingest.Decode, Program: programName(), Log: slog.New(slog.DiscardHandler)},
		Store:  store, Term: lease.Term(), Key: key, Witness: sealkey.WitnessOf(data),
		Waits: lab.RecordWaits{Settled: time.Millisecond, Whole: time.Millisecond, Gap: time.Millisecond}, Poll: time.Millisecond,
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	defer w.Stop()
	tick, deadline := time.NewTicker(20*time.Millisecond), time.After(time.Minute)
	defer tick.Stop()
	for {
		runs, err := store.Runs(t.Context(), lab.RunFilter{})
		if err != nil {
			t.Fatal(err)
		}
		all := len(runs) > 0
		for _, r := range runs {
			if r.Outcome == lab.OutcomeRunning {
				continue
			}
			if all = all && r.Seal != nil; r.Seal != nil {
				run = r
			}
		}
		if all {
			return database, data, run
		}
		select {
		case <-tick.C:
		case <-deadline:
			why, _ := w.Trouble()
			t.Fatalf("the runs are not sealed within a minute: %s", why)
		}
	}
}

func TestVerifyAndReport(t *testing.T) {
	t.Parallel()
	database, data, r := sealedHistory(t)
	verify := func(args ...string) (int, string, string) {
		return run1(t, "", append([]string{"verify", "--database", database, "--data", data}, args...)...)
	}
	code, out, errOut := verify("--again")
	if code != exitDone || !strings.Contains(out, "All as sealed") || !strings.Contains(out, "sealing key under --data") {
		t.Fatalf("status %d: %s%s", code, out, errOut)
	}
	_, key, _ := run1(t, "", "verify", "--show-key", "--data", data)
	if st, err := os.Stat(sealkey.KeyFile(data)); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("the sealing key: %v, %v; want it for its owner only", st, err)
	}
	kept := filepath.Join(t.TempDir(), "checkpoint")
	code, out, _ = verify("--print-checkpoint")
	if err := os.WriteFile(kept, []byte(out), 0o600); err != nil || code != exitDone {
		t.Fatal(code, err)
	}
	for _, c := range []struct {
		name string
		args []string
		code int
		says string
	}{
		{"with the key and a checkpoint kept", []string{"--key", strings.TrimSpace(key), "--checkpoint", kept}, exitDone, "All as sealed"},
		{"with the key in a file", []string{"--key", sealkey.VerifierFile(data)}, exitDone, "All as sealed"},
		{"with another key", []string{"--key", otherKey(t)}, exitFailed, "not signed with the key given"},
		{"with what is no key", []string{"--key", "nonsense"}, exitUsage, "--key"},
		{"with a checkpoint that is not there", []string{"--checkpoint", kept + "-none"}, exitFailed, "--checkpoint"},
		{"with no key at all", []string{"--data", t.TempDir()}, exitDone, "Name the lab's key"},
	} {
		code, out, errOut := verify(c.args...)
		if code != c.code || !strings.Contains(out+errOut, c.says) {
			t.Errorf("%s: status %d, want %d and %q: %s%s", c.name, code, c.code, c.says, out, errOut)
		}
	}
	t.Run("report", func(t *testing.T) { reportForms(t, database, r) })
	conn, err := pgx.Connect(t.Context(), database)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	if _, err := conn.Exec(t.Context(), `UPDATE runs SET process = 'bw', body = jsonb_set(body, '{process}', '"bw"') WHERE id = $1`, r.ID); err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Exec(t.Context(), `DELETE FROM record_queue`); err != nil {
		t.Fatal(err)
	}
	code, out, _ = verify()
	if code != exitFailed || !strings.Contains(out, r.ID) || !strings.Contains(out, r.Unit) || !strings.Contains(out, "process") {
		t.Errorf("after a change: status %d: %s", code, out)
	}
}

func otherKey(t *testing.T) string {
	t.Helper()
	key, err := sealkey.Ready(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	return key.Verifier()
}

func reportForms(t *testing.T, database string, r lab.Run) {
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{r.ID}, exitDone, r.Run},
		{[]string{r.Run}, exitDone, r.Run},
		{[]string{r.ID[:14], "--as", "text"}, exitDone, r.Run},
		{[]string{r.ID, "--as", "csv"}, exitDone, ","},
		{[]string{r.ID, "--as", "pdf"}, exitDone, "%PDF-"},
		{[]string{"none-such"}, exitFailed, "there is no run"},
		{[]string{"--roll", "0"}, exitFailed, "with roll 0"},
		{[]string{}, exitUsage, "name one run"},
		{[]string{r.ID, "--as", "html"}, exitUsage, "--as"},
	} {
		code, out, errOut := run1(t, "", append([]string{"report", "--database", database}, c.args...)...)
		if code != c.code || !strings.Contains(out+errOut, c.says) {
			t.Errorf("%q: status %d, want %d and %q: %.300s%s", c.args, code, c.code, c.says, out, errOut)
		}
	}
	file := filepath.Join(t.TempDir(), "report.json")
	if code, out, errOut := run1(t, "", "report", "--database", database, r.ID, "--as", "json", "-o", file); code != exitDone || out != "" {
		t.Errorf("status %d: %s%s", code, out, errOut)
	}
	b, err := os.ReadFile(file)
	var rep lab.Report
	if err == nil {
		err = json.Unmarshal(b, &rep)
	}
	if err != nil || rep.Run.ID != r.ID || rep.Run.Seal == nil {
		t.Errorf("report as JSON: %v, run %q, seal %v", err, rep.Run.ID, rep.Run.Seal)
	}
}
