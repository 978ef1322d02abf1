package private

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"go.uber.org/goleak"

	"wetside/internal/lab"
)

// asChild makes the test binary start a cluster and wait to be killed.
const asChild = "WETSIDE_PRIVATE_TEST_CHILD"

func TestMain(m *testing.M) {
	if dir := os.Getenv(asChild); dir != "" {
		child(dir)
	}
	goleak.VerifyTestMain(m)
}

// child starts the cluster, says so on stdout, and stays until it is killed.
func child(dir string) {
	c, err := Start(context.Background(), Config{Dir: dir, Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		os.Stdout.WriteString(err.Error() + "\n")
		os.Exit(1)
	}
	os.Stdout.WriteString("up " + strconv.Itoa(c.PID()) + "\n")
	select {}
}

// reachable is a folder that the server's user can walk to.
func reachable(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "wetside-private-")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}

func start(t *testing.T, dir string) *Cluster {
	t.Helper()
	c, err := Start(t.Context(), Config{Dir: dir, Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.Stop)
	return c
}

func query(t *testing.T, url, sql string) (v string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	if err := conn.QueryRow(t.Context(), sql).Scan(&v); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return v
}

func TestStartStopStart(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(reachable(t), "pg")
	if _, err := Find(dir); lab.KindOf(err) != lab.KindNotFound {
		t.Errorf("Find where there is nothing: %v; want not found", err)
	}
	c := start(t, dir)
	if got := query(t, c.URL(), `SELECT current_database()`); got != "wetside" {
		t.Errorf("database %q; want wetside", got)
	}
	for setting, want := range map[string]string{"fsync": "on", "synchronous_commit": "on", "full_page_writes": "on",
		"listen_addresses": "", "data_checksums": "on"} {
		if got := query(t, c.URL(), `SHOW `+setting); got != want {
			t.Errorf("%s is %q; want %q", setting, got, want)
		}
	}
	for _, sub := range []string{"data", "run"} {
		st, err := os.Stat(filepath.Join(c.l.dir, sub))
		if err != nil || st.Mode().Perm() != 0o700 {
			t.Errorf("%s: %v, %v; want a folder of mode 0700", sub, st.Mode(), err)
		}
	}
	if url, err := Find(dir); err != nil || url != c.URL() {
		t.Errorf("Find: %q, %v; want %q", url, err, c.URL())
	}
	pid := c.PID()
	c.Stop()
	c.Stop()
	if isServer(pid, c.l.data) {
		t.Error("the server goes on after Stop")
	}
	if _, err := Find(dir); lab.KindOf(err) != lab.KindUnavailable {
		t.Errorf("Find after Stop: %v; want unavailable", err)
	}
	start(t, dir)
}

// Two programs on one folder share the server; the last one ends it.
func TestSharedByTwo(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(reachable(t), "pg")
	a := start(t, dir)
	b := start(t, dir)
	if a.PID() != b.PID() {
		t.Fatalf("two servers, %d and %d", a.PID(), b.PID())
	}
	a.Stop()
	if got := query(t, b.URL(), `SELECT 'there'`); got != "there" {
		t.Errorf("after the first left: %q", got)
	}
	b.Stop()
	if isServer(b.PID(), b.l.data) {
		t.Error("the server goes on after the last left")
	}
}

// kill -9 of wetside: the next one adopts the server. kill -9 of the server
// as well: the next one starts it again and what was committed is there.
func TestKilled(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(reachable(t), "pg")
	pid := killedChild(t, dir)
	if !isServer(pid, resolved(t, dir, "data")) {
		t.Fatal("the server did not outlive its wetside")
	}
	c := start(t, dir)
	if c.PID() != pid {
		t.Errorf("server %d; want the one that was left, %d", c.PID(), pid)
	}
	conn, err := pgx.Connect(t.Context(), c.URL())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Exec(t.Context(), `CREATE TABLE kept AS SELECT 'developer' AS what`); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	wait, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	if _, err := conn.WaitForNotification(wait); err == nil || wait.Err() != nil {
		t.Fatalf("the connection to a killed server lives: %v", err)
	}
	conn.Close(t.Context())
	again := start(t, dir)
	if again.PID() == pid {
		t.Error("the killed server was adopted")
	}
	if got := query(t, again.URL(), `SELECT what FROM kept`); got != "developer" {
		t.Errorf("kept %q; want developer", got)
	}
	c.share.Close() // this process stands for two; the first is gone
	c.share = nil
}

// killedChild starts the cluster in another process and kills that one.
func killedChild(t *testing.T, dir string) (server int) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), asChild+"="+dir)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	line := make([]byte, 4096)
	n, err := out.Read(line) // ends with the child; go test bounds it
	_ = cmd.Process.Kill()
	_ = cmd.Wait() // killed: that is its error
	if err != nil {
		t.Fatal(err)
	}
	text, ok := strings.CutPrefix(strings.TrimSpace(string(line[:n])), "up ")
	if server, err = strconv.Atoi(text); !ok || err != nil {
		t.Fatalf("the child says: %s", line[:n])
	}
	return server
}

func resolved(t *testing.T, parts ...string) string {
	t.Helper()
	p, err := filepath.EvalSymlinks(filepath.Join(parts...))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// A pid file whose number is another process by now is no server.
func TestStalePidFile(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(reachable(t), "pg")
	c := start(t, dir)
	c.Stop()
	other := strconv.Itoa(os.Getpid())
	if err := os.WriteFile(c.l.pidFile(), []byte(other+"\n"+c.l.data+"\n0\n5432\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	start(t, dir)
}

// Killed in the middle of initdb: the next start begins anew.
func TestUnfinishedInitdb(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(reachable(t), "pg")
	if err := os.MkdirAll(filepath.Join(dir, "data.unfinished", "base"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	start(t, dir)
}

func TestLongPath(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(reachable(t), strings.Repeat("a-long-name", 9))
	c := start(t, dir)
	if len(c.l.socket) > 90 || strings.HasPrefix(c.l.socket, dir) {
		t.Errorf("the socket lies in %s", c.l.socket)
	}
	query(t, c.URL(), `SELECT 'there'`)
	c.Stop()
	os.Remove(c.l.socket)
}

func TestMissingBinaries(t *testing.T) {
	t.Parallel()
	_, err := Start(t.Context(), Config{Dir: filepath.Join(reachable(t), "pg"), search: []string{t.TempDir()}})
	if lab.KindOf(err) != lab.KindUnavailable || !strings.Contains(err.Error(), "sudo apt-get install postgresql") {
		t.Errorf("got %v; want the command that installs it", err)
	}
}

func TestUnreachableFolder(t *testing.T) {
	t.Parallel()
	if os.Geteuid() != 0 {
		t.Skip("the server runs as ourselves: whatever we can make, it can reach")
	}
	closed := filepath.Join(reachable(t), "closed")
	if err := os.Mkdir(closed, 0o700); err != nil {
		t.Fatal(err)
	}
	_, err := Start(t.Context(), Config{Dir: filepath.Join(closed, "pg")})
	if lab.KindOf(err) != lab.KindInvalid || !strings.Contains(err.Error(), "chmod o+x "+closed) {
		t.Errorf("got %v; want what to do about %s", err, closed)
	}
}

func TestSomeoneElsesSocketFolder(t *testing.T) {
	t.Parallel()
	if os.Geteuid() != 0 {
		t.Skip("only root can make a folder of someone else's")
	}
	dir := reachable(t)
	run := filepath.Join(dir, "run")
	if err := errors.Join(os.Mkdir(run, 0o777), os.Chown(run, 12345, 12345)); err != nil {
		t.Fatal(err)
	}
	if _, err := Start(t.Context(), Config{Dir: dir}); err == nil || !strings.Contains(err.Error(), "belongs to someone else") {
		t.Errorf("got %v; want it refused", err)
	}
}
