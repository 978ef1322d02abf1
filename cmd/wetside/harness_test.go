package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
	"wetside/web/access"
)

func TestMain(m *testing.M) {
	pgtest.Main(m, func() {
		if built.path != "" {
			os.RemoveAll(filepath.Dir(built.path))
		}
	})
}

// run1 runs one command in this process.
func run1(t *testing.T, stdin string, args ...string) (code int, out, errOut string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	var o, e bytes.Buffer
	code = run(ctx, args, streams{in: strings.NewReader(stdin), out: &o, err: &e})
	return code, o.String(), e.String()
}

// need finds a program that the tests cannot do without.
func need(t testing.TB, name, debian string) string {
	t.Helper()
	for _, path := range []string{name, "/usr/sbin/" + name} {
		if found, err := exec.LookPath(path); err == nil {
			return found
		}
	}
	t.Fatalf("%s is not installed; make test installs it (Debian package %s)", name, debian)
	return ""
}

// built is the program as people get it, without the race detector: it must
// keep up with the load.
var built struct {
	sync.Once
	path string
	err  error
}

func binary(t testing.TB) string {
	t.Helper()
	built.Do(func() {
		dir, err := os.MkdirTemp("", "wetside-e2e-")
		if err != nil {
			built.err = err
			return
		}
		built.path = filepath.Join(dir, "wetside")
		if out, err := exec.Command("go", "build", "-o", built.path, ".").CombinedOutput(); err != nil {
			built.err = fmt.Errorf("go build: %w: %s", err, out)
		}
	})
	if built.err != nil {
		t.Fatal(built.err)
	}
	return built.path
}

// process is a program that runs beside the test.
type process struct {
	cmd  *exec.Cmd
	done chan struct{}
	log  *lockedBuffer
}

// startProcess starts a program; it is killed at the end of the test.
func startProcess(t testing.TB, cmd *exec.Cmd) *process {
	t.Helper()
	p := &process{cmd: cmd, done: make(chan struct{}), log: &lockedBuffer{}}
	cmd.Stderr = p.log
	if cmd.Stdout == nil {
		cmd.Stdout = p.log
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		_ = cmd.Wait() // how it ended is the test's to know
		close(p.done)
	}()
	t.Cleanup(func() {
		p.kill(t)
		if t.Failed() {
			t.Logf("%s said:\n%s", filepath.Base(cmd.Path), p.log.tail(4000))
		}
	})
	return p
}

func (p *process) kill(t testing.TB) { p.end(t, syscall.SIGKILL) }

func (p *process) end(t testing.TB, sig syscall.Signal) {
	t.Helper()
	_ = p.cmd.Process.Signal(sig) // it may have ended
	labtest.Closed(t, p.done, "the end of "+filepath.Base(p.cmd.Path))
}

type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) tail(n int) string {
	l.mu.Lock()
	defer l.mu.Unlock()
	s := l.b.String()
	return s[max(0, len(s)-n):]
}

// freePort gives a port that nobody listens on.
func freePort(t testing.TB) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}

// mosquitto runs a broker that isn't ours, with the settings for durability
// and throughput of deploy/mosquitto.conf.
func mosquitto(t testing.TB) (port int, url string) {
	t.Helper()
	path := need(t, "mosquitto", "mosquitto")
	dir := t.TempDir()
	port = freePort(t)
	conf := []string{
		fmt.Sprintf("listener %d 127.0.0.1", port), "allow_anonymous true", "user " + userName(),
		"persistence_location " + dir + "/", "log_dest stderr",
	}
	shared, err := os.ReadFile("../../deploy/mosquitto.conf")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(shared)) {
		for _, keep := range []string{"persistence ", "autosave_", "max_", "set_tcp_nodelay "} {
			if strings.HasPrefix(line, keep) {
				conf = append(conf, strings.TrimSpace(line))
			}
		}
	}
	file := filepath.Join(dir, "mosquitto.conf")
	if err := os.WriteFile(file, []byte(strings.Join(conf, "\n")+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	p := startProcess(t, exec.Command(path, "-c", file))
	addr := fmt.Sprintf("127.0.0.1:%d", port)
	labtest.Poll(t, "mosquitto listens", func() bool { return listens(addr) || ended(p) })
	if ended(p) {
		t.Fatalf("mosquitto ended: %s", p.log.tail(2000))
	}
	return port, "mqtt://" + addr
}

// passThrough lets the database's own user reach a folder of a test of root.
func passThrough(t *testing.T, path string) {
	t.Helper()
	for dir := filepath.Dir(path); strings.HasPrefix(dir, os.TempDir()+"/"); dir = filepath.Dir(dir) {
		if err := os.Chmod(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
}

func userName() string {
	if os.Geteuid() == 0 {
		return "root"
	}
	return "mosquitto" // only root's wish to become somebody else counts
}

func listens(addr string) bool {
	c, err := net.DialTimeout("tcp", addr, time.Second)
	if err != nil {
		return false
	}
	c.Close()
	return true
}

func ended(p *process) bool {
	select {
	case <-p.done:
		return true
	default:
		return false
	}
}

// startProgram runs the whole service in this process.
func startProgram(t testing.TB, cfg programConfig) *program {
	t.Helper()
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	if cfg.Listen == "" {
		cfg.Listen = "127.0.0.1:0"
	}
	if cfg.Data == "" {
		cfg.Data = t.TempDir()
	}
	p := newProgram(cfg)
	ctx, cancel := context.WithCancel(t.Context())
	ran := make(chan error, 1)
	go func() { ran <- p.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		if err := labtest.Receive(t, ran, "the end of the program"); err != nil {
			t.Errorf("the program ended with: %v", err)
		}
	})
	select {
	case <-p.Up():
	case err := <-ran:
		ran <- nil
		t.Fatalf("the program ended before it was up: %v", err)
	case <-time.After(labtest.Patience):
		t.Fatal("the program is not up")
	}
	return p
}

// api calls the service's API.
type api struct {
	t      testing.TB
	base   string
	token  string
	cookie string // of a session, in place of a token
}

func newAPI(t testing.TB, base string, store *postgres.Store) *api {
	t.Helper()
	token, err := access.CreateToken(t.Context(), store, "test", lab.RoleLead, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	return &api{t: t, base: base, token: token}
}

// signInAs signs somebody in and gives the answer's status and the session.
func signInAs(t testing.TB, base, name, password string) (code int, session string) {
	t.Helper()
	body, _ := json.Marshal(map[string]string{"name": name, "password": password})
	resp, err := client.Post(base+"/api/v1/session", "application/json", bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	for _, c := range resp.Cookies() {
		if strings.HasPrefix(c.Name, "wetside_session_") {
			session = c.Value
		}
	}
	return resp.StatusCode, session
}

var client = &http.Client{Timeout: time.Minute, Transport: &http.Transport{DisableKeepAlives: true}}

func (a *api) do(method, path, body string) (int, []byte, error) {
	req, err := http.NewRequest(method, a.base+path, strings.NewReader(body))
	if err != nil {
		return 0, nil, err
	}
	if a.cookie != "" {
		req.AddCookie(&http.Cookie{Name: "wetside_session_" + req.URL.Port(), Value: a.cookie})
	} else {
		req.Header.Set("Authorization", "Bearer "+a.token)
	}
	if body != "" {
		req.Header.Set("Content-Type", "application/json")
	}
	resp, err := client.Do(req)
	if err != nil {
		return 0, nil, err
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	return resp.StatusCode, b, err
}

// get reads a path into v and tells whether it was there.
func (a *api) get(path string, v any) bool {
	code, b, err := a.do("GET", path, "")
	return err == nil && code == http.StatusOK && json.Unmarshal(b, v) == nil
}

func (a *api) alerts(query string) []lab.Alert {
	a.t.Helper()
	var got struct{ Alerts []lab.Alert }
	if !a.get("/api/v1/alerts?limit=10000"+query, &got) {
		a.t.Fatal("the alerts cannot be read")
	}
	return got.Alerts
}

// ready waits until the service says that it watches.
func ready(t testing.TB, base string) {
	t.Helper()
	labtest.Poll(t, "wetside is ready at "+base, func() bool {
		resp, err := client.Get(base + "/readyz")
		if err != nil {
			return false
		}
		defer resp.Body.Close()
		return resp.StatusCode == http.StatusOK
	})
}

func storeConfig(url string) postgres.Config {
	return postgres.Config{URL: url, Decode: ingest.Decode, App: "wetside test"}
}
