package bench

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres"
	"wetside/internal/postgres/private"
	"wetside/web/access"
)

// cluster is a PostgreSQL as the program starts it: what is committed is on
// disk. Every site has a database of its own in it.
var cluster struct {
	sync.Mutex
	*private.Cluster
	dir  string
	made int
}

// freshDatabase gives the address of a new, empty database.
func freshDatabase(t testing.TB) string {
	t.Helper()
	cluster.Lock()
	defer cluster.Unlock()
	if cluster.Cluster == nil {
		dir, err := os.MkdirTemp("", "wb")
		if err != nil {
			t.Fatal(err)
		}
		cluster.dir = dir
		if err := os.Chmod(dir, 0o755); err != nil { // the server's user passes through
			t.Fatal(err)
		}
		cluster.Cluster, err = private.Start(context.Background(), private.Config{Dir: filepath.Join(dir, "pg"), Log: slog.New(slog.DiscardHandler), EndWithProcess: true})
		if err != nil {
			t.Fatal(err)
		}
	}
	cluster.made++
	name := fmt.Sprint("bench", cluster.made)
	conn := connect(t, cluster.URL())
	if _, err := conn.Exec(t.Context(), "CREATE DATABASE "+name); err != nil {
		t.Fatal(err)
	}
	u, err := url.Parse(cluster.URL())
	if err != nil {
		t.Fatal(err)
	}
	u.Path = "/" + name
	return u.String()
}

func endCluster() {
	if cluster.Cluster != nil {
		cluster.Stop()
	}
	if cluster.dir != "" {
		os.RemoveAll(cluster.dir)
	}
}

func connect(t testing.TB, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	return conn
}

// site is one lab: the program, its database and its broker.
type site struct {
	t        testing.TB
	database string
	broker   string
	port     int
	data     string
	listen   string
	token    string
	store    *postgres.Store
	wetside  *monitortest.Process
}

// newSite brings a lab up as far as its database and its broker.
func newSite(t testing.TB, embedded bool) *site {
	t.Helper()
	s := &site{t: t, database: freshDatabase(t), data: t.TempDir(), listen: fmt.Sprintf("127.0.0.1:%d", monitortest.FreePort(t))}
	cfg := monitortest.StoreConfig(s.database)
	cfg.Log = slog.New(slog.DiscardHandler)
	store, err := postgres.Open(t.Context(), cfg)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	s.store = store
	if s.token, err = access.CreateToken(t.Context(), store, "bench", lab.RoleLead, time.Time{}); err != nil {
		t.Fatal(err)
	}
	if embedded {
		s.port = monitortest.FreePort(t)
		s.broker = fmt.Sprintf("mqtt://127.0.0.1:%d", s.port)
	} else {
		s.port, s.broker = monitortest.Mosquitto(t)
	}
	return s
}

// serve starts the program.
func (s *site) serve(embedded bool) {
	s.t.Helper()
	args := []string{"serve", "--listen", s.listen, "--data", s.data, "--database", s.database}
	if embedded {
		args = append(args, "--broker", "embedded", "--mqtt-listen", strings.TrimPrefix(s.broker, "mqtt://"))
	} else {
		args = append(args, "--broker", s.broker)
	}
	s.wetside = monitortest.StartProcess(s.t, exec.Command(wetside(s.t), args...))
}

// subscribed waits until the program hears the broker.
func (s *site) subscribed() {
	s.t.Helper()
	poll(s.t, "wetside has subscribed", 2*time.Millisecond, func() bool { return strings.Contains(s.wetside.Log.Tail(20_000), "ingest: subscribed") })
}

// ready waits until the program says that it watches.
func (s *site) ready() {
	s.t.Helper()
	poll(s.t, "wetside is ready", 20*time.Millisecond, func() bool {
		if monitortest.Ended(s.wetside) {
			s.t.Fatal("wetside ended")
		}
		resp, err := monitortest.Client.Get("http://" + s.listen + "/readyz")
		if err != nil {
			return false
		}
		defer resp.Body.Close()
		return resp.StatusCode == http.StatusOK
	})
}

// stop ends the program as a service manager does.
func (s *site) stop() { s.wetside.End(s.t, syscall.SIGTERM) }

func (s *site) api() *monitortest.API {
	return &monitortest.API{T: s.t, Base: "http://" + s.listen, Token: s.token}
}

// cpu is what the program has used, and what PostgreSQL has.
func (s *site) cpu() (wetside, postgres time.Duration) {
	return cpuOf(s.wetside.Cmd.Process.Pid), cpuOf(family(cluster.PID())...)
}

// query gives one value out of the database.
func query[T any](t testing.TB, database, sql string, args ...any) (v T) {
	t.Helper()
	if err := connect(t, database).QueryRow(t.Context(), sql, args...).Scan(&v); err != nil {
		t.Fatal(err)
	}
	return v
}
