package main

import (
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/backup"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/monitor/sealkey"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
	"wetside/internal/records/seal"
)

// sealingLab is a lab that goes on sealing while a test looks at it: notes are
// entered one after the other, each of which is sealed within seconds.
type sealingLab struct {
	database, data string
	store          *postgres.Store
	api            *monitortest.API
	stop           func()
}

func newSealingLab(t *testing.T) *sealingLab {
	t.Helper()
	b := &sealingLab{database: pgtest.New(t), data: t.TempDir()}
	_, broker := monitortest.Mosquitto(t)
	if code, _, errOut := run1(t, "", "import", "--database", b.database, monitortest.WriteCapture(t, "day.jsonl", monitortest.FaultyDay(t))); code != exitDone {
		t.Fatalf("import: status %d: %s", code, errOut)
	}
	ctx, cancel := context.WithCancel(t.Context())
	p := monitor.New(monitor.Config{Broker: broker, Database: b.database, Data: b.data, Listen: "127.0.0.1:0", Log: slog.New(slog.DiscardHandler)})
	ran := make(chan error, 1)
	go func() { ran <- p.Run(ctx) }()
	labtest.Closed(t, p.Up(), "the lab is up")
	b.store = pgtest.Store(t, monitortest.StoreConfig(b.database))
	b.api = monitortest.NewAPI(t, p.URL(), b.store)
	stopped := false
	b.stop = func() {
		if !stopped {
			stopped = true
			cancel()
			if err := labtest.Receive(t, ran, "the end of the lab"); err != nil {
				t.Error(err)
			}
		}
	}
	t.Cleanup(b.stop)
	return b
}

// note enters one more note of a unit.
func note(t *testing.T, store *postgres.Store, text string) {
	t.Helper()
	body, _ := json.Marshal(lab.Note{Text: text})
	unit := lab.UnitID{Lab: "tern-street", Unit: "plover"}
	if _, err := store.AppendEntry(t.Context(), lab.Entry{Unit: unit, What: lab.EntryNote, By: "Wren", Body: body}); err != nil {
		t.Error(err)
	}
}

// sealedBeyond waits until the record log has more leaves than n.
func sealedBeyond(t *testing.T, store *postgres.Store, n int64) (size int64) {
	t.Helper()
	labtest.Poll(t, fmt.Sprintf("more than %d leaves are sealed", n), func() bool {
		var err error
		size, _, err = store.LogHead(t.Context())
		return err == nil && size > n
	})
	return size
}

// A lab is backed up while it seals, three times; then it is lost. Each backup
// comes back as what it was, verifies, and goes on sealing.
func TestBackupDrill(t *testing.T) {
	t.Parallel()
	b := newSealingLab(t)
	folder := t.TempDir()
	var made []string
	for i := range 3 {
		done, writing := make(chan struct{}), make(chan struct{})
		go func() {
			defer close(writing)
			for n := 0; ; n++ {
				select {
				case <-done:
					return
				default:
					note(t, b.store, fmt.Sprintf("%d: %d", i, n))
				}
			}
		}()
		size, _, err := b.store.LogHead(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		sealedBeyond(t, b.store, size) // it seals just now
		out := filepath.Join(folder, fmt.Sprint(i))
		code, said, errOut := run1(t, "", "backup", "--database", b.database, "--data", b.data, out)
		close(done)
		labtest.Closed(t, writing, "the end of the notes")
		if code != exitDone {
			t.Fatalf("backup %d: status %d: %s", i, code, errOut)
		}
		made = append(made, strings.TrimSpace(said))
		if files, _ := filepath.Glob(filepath.Join(made[i], "*key*")); len(files) > 0 {
			t.Errorf("the sealing key is in the backup: %v", files)
		}
	}
	key := filepath.Join(t.TempDir(), "key")
	private, err := os.ReadFile(sealkey.KeyFile(b.data))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(key, private, 0o600); err != nil {
		t.Fatal(err)
	}
	last := shownBy(t, b.api)
	b.stop()
	for i, from := range made {
		m, err := backup.Check(from)
		if err != nil {
			t.Fatal(err)
		}
		database, data := pgtest.Empty(t), t.TempDir()
		code, out, errOut := run1(t, "", "restore", "--database", database, "--data", data, "--seal-key", key, from)
		if code != exitDone || !strings.Contains(out, "All as sealed") {
			t.Fatalf("restore %d: status %d: %s%s", i, code, out, errOut)
		}
		_, broker := monitortest.Mosquitto(t)
		p := monitortest.Start(t, monitor.Config{Broker: broker, Database: database, Data: data})
		store := pgtest.Store(t, monitortest.StoreConfig(database))
		note(t, store, "after the restore")
		size := sealedBeyond(t, store, m.Lab.Leaves)
		if i == len(made)-1 { // nothing but notes was entered after it; tokens come back too
			if diff := cmp.Diff(last, shownBy(t, &monitortest.API{T: t, Base: p.URL(), Token: b.api.Token})); diff != "" {
				t.Errorf("the restored lab shows otherwise than the lost one (-lost +restored):\n%s", diff)
			}
		}
		code, out, errOut = run1(t, "", "verify", "--database", database, "--data", data)
		if code != exitDone || !strings.Contains(out, "All as sealed") {
			t.Errorf("verify after %d more leaves: status %d: %s%s", size-m.Lab.Leaves, code, out, errOut)
		}
	}
}

// shownBy is what the API shows of runs and alerts.
func shownBy(t *testing.T, a *monitortest.API) map[string]any {
	t.Helper()
	out := map[string]any{}
	for _, path := range []string{"/api/v1/runs?limit=500", "/api/v1/alerts?limit=1000", "/api/v1/rolls?limit=500"} {
		var v any
		if !a.Get(path, &v) {
			t.Fatalf("GET %s cannot be read", path)
		}
		out[path] = v
	}
	return out
}

// What is there is never written over, and what is not whole is not restored.
func TestRestoreRefuses(t *testing.T) {
	t.Parallel()
	database, data, _ := sealedHistory(t)
	folder := t.TempDir()
	code, out, errOut := run1(t, "", "backup", "--database", database, "--data", data, "--settings", "../../deploy/wetside.yaml", folder)
	if code != exitDone {
		t.Fatalf("backup: status %d: %s", code, errOut)
	}
	from := strings.TrimSpace(out)
	if _, err := os.Stat(filepath.Join(from, "settings", "wetside.yaml")); err != nil {
		t.Error(err)
	}
	damaged, cut := copyOf(t, from), copyOf(t, from)
	b, err := os.ReadFile(filepath.Join(damaged, "database.dump"))
	if err != nil {
		t.Fatal(err)
	}
	b[len(b)/2] ^= 1
	if err := os.WriteFile(filepath.Join(damaged, "database.dump"), b, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(cut, "manifest.json")); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"into a lab's database", []string{"--database", database, "--data", t.TempDir(), from}, "not empty"},
		{"into a lab's folder", []string{"--database", pgtest.Empty(t), "--data", data, from}, "sealed in"},
		{"a byte of it changed", []string{"--database", pgtest.Empty(t), "--data", t.TempDir(), damaged}, "damaged"},
		{"not whole", []string{"--database", pgtest.Empty(t), "--data", t.TempDir(), cut}, "no whole backup"},
		{"no backup at all", []string{"--database", pgtest.Empty(t), "--data", t.TempDir(), t.TempDir()}, "no whole backup"},
		{"a key that is none", []string{"--database", pgtest.Empty(t), "--data", t.TempDir(), "--seal-key", "backup_test.go", from}, "--seal-key"},
	} {
		if code, out, errOut := run1(t, "", append([]string{"restore"}, c.args...)...); code == exitDone || !strings.Contains(errOut, c.want) {
			t.Errorf("%s: status %d: %s%s; want %q", c.name, code, out, errOut, c.want)
		}
	}
}

func copyOf(t *testing.T, folder string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "copy")
	if err := os.CopyFS(to, os.DirFS(folder)); err != nil {
		t.Fatal(err)
	}
	return to
}

// What could not be checked is said, and nothing is never all.
func TestVerifySaysWhatItCouldNotCheck(t *testing.T) {
	t.Parallel()
	verify := func(args ...string) (int, string) {
		code, out, errOut := run1(t, "", append([]string{"verify"}, args...)...)
		return code, out + errOut
	}
	if code, out := verify("--database", pgtest.New(t), "--data", t.TempDir()); code != exitDone || !strings.Contains(out, "Nothing is sealed") || strings.Contains(out, "All") {
		t.Errorf("of an empty database: status %d: %s", code, out)
	}
	database, data, _ := sealedHistory(t)
	if _, out := verify("--database", database, "--data", t.TempDir()); !strings.Contains(out, "Not checked: whether the log is the lab's own") || !strings.Contains(out, "Not checked: whether the end of the log") {
		t.Errorf("without the folder of the key: %s", out)
	}
	if _, out := verify("--database", database, "--data", data); strings.Contains(out, "lab's own") || strings.Contains(out, "the end of the log") {
		t.Errorf("with it: %s", out)
	}
	if err := sealkey.WitnessOf(data).Keep(aheadOf(t, data)); err != nil {
		t.Fatal(err)
	}
	if code, out := verify("--database", database, "--data", data); code != exitFailed || !strings.Contains(out, "the folder of the sealing key") {
		t.Errorf("the checkpoint beside the key is ahead of the log: status %d: %s", code, out)
	}
}

// aheadOf is a checkpoint, signed by the key under data, of a log that is
// longer than the one it signed.
func aheadOf(t *testing.T, data string) string {
	t.Helper()
	key, err := sealkey.Kept(data)
	if err != nil {
		t.Fatal(err)
	}
	note, err := seal.Checkpoint{Size: 1 << 20, Root: [32]byte{1}}.Sign(key)
	if err != nil {
		t.Fatal(err)
	}
	return note
}
