package torture

import (
	"cmp"
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
	"syscall"
	"testing"
	"time"

	"wetside/alerts/notify"
	"wetside/alerts/oncall"
	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres"
	"wetside/internal/postgres/private"
	"wetside/web/access"
)

// process is a program that runs beside the test.
type process struct {
	cmd  *exec.Cmd
	done chan struct{}
	said *monitortest.Output
}

func startProcess(t testing.TB, path string, args ...string) *process {
	t.Helper()
	p := &process{cmd: exec.Command(path, args...), done: make(chan struct{}), said: &monitortest.Output{}}
	p.cmd.Stdout, p.cmd.Stderr = p.said, p.said
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		_ = p.cmd.Wait() // how it ended does not matter
		close(p.done)
	}()
	t.Cleanup(func() {
		p.kill()
		if t.Failed() {
			t.Logf("%s said at the end:\n%s", filepath.Base(path), p.said.Tail(3000))
		}
	})
	return p
}

func (p *process) kill() {
	_ = p.cmd.Process.Signal(syscall.SIGCONT)
	_ = p.cmd.Process.Kill() // it may have ended
	<-p.done
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

// parts says what a site is made of.
type parts struct {
	embedded bool   // broker and database are those inside the program
	data     string // the folder it keeps things in, where it is a special one
	pair     bool   // another program will stand by: who is asked changes
	volatile bool   // the broker is not to be killed, and need not write each message to its disk
}

// site is one lab: a wetside with its database and its broker, a lead who is
// paged, and a watcher who notes what is told.
type site struct {
	t        *testing.T
	dir      string
	data     string // the program's folder
	listen   string
	args     []string
	wetside  *process
	broker   string // where units publish
	mosq     *process
	mosqConf string
	volatile bool
	cluster  *private.Cluster
	toDB     *proxy // between wetside and its database
	toBroker *proxy // between wetside and its broker
	store    *postgres.Store
	token    string
	hook     *receiver
	told     *told

	brokerKilled []time.Time
	lines        []*line // that sent what is to be proved
}

var client = &http.Client{Timeout: 5 * time.Second, Transport: &http.Transport{DisableKeepAlives: true}}

func newSite(t *testing.T, p parts) *site {
	t.Helper()
	s := &site{t: t, dir: shortDir(t), listen: fmt.Sprintf("127.0.0.1:%d", freePort(t)), told: &told{said: map[string]bool{}}}
	s.data = cmp.Or(p.data, filepath.Join(s.dir, "data"))
	s.args = []string{"serve", "--listen", s.listen, "--data", s.data}
	if p.embedded {
		mqttListen := fmt.Sprintf("127.0.0.1:%d", freePort(t))
		s.broker = "mqtt://" + mqttListen
		s.args = append(s.args, "--mqtt-listen", mqttListen)
		t.Cleanup(s.endEmbedded) // after the program
	} else {
		s.startCluster()
		s.volatile = p.volatile
		s.startMosquitto()
		s.args = append(s.args, "--database", s.toDB.database(), "--broker", "mqtt://"+s.toBroker.addr())
	}
	s.serve()
	s.ready()
	s.openStore()
	s.somebodyOnDuty()
	if !p.pair {
		s.watch()
	}
	return s
}

// shortDir is a folder with a path short enough for a socket, that the
// database's own user can reach.
func shortDir(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "wt")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}

func (s *site) startCluster() {
	s.t.Helper()
	c, err := private.Start(s.t.Context(), private.Config{Dir: filepath.Join(s.dir, "pg"), Log: slog.New(slog.DiscardHandler), EndWithProcess: true})
	if err != nil {
		s.t.Fatal(err)
	}
	if s.cluster == nil {
		s.t.Cleanup(func() { s.cluster.Stop() })
		s.toDB = newProxy(s.t, "unix", filepath.Join(socketOf(s.t, c.URL()), ".s.PGSQL.5432"))
	}
	s.cluster = c
}

func (s *site) startMosquitto() {
	s.t.Helper()
	if s.mosqConf == "" {
		port := freePort(s.t)
		s.broker = fmt.Sprintf("mqtt://127.0.0.1:%d", port)
		conf := fmt.Sprintf("listener %d 127.0.0.1\nallow_anonymous true\nuser root\npersistence_location %s/\nlog_dest stderr\n"+
			"persistence true\nautosave_on_changes true\nautosave_interval 1\nmax_queued_messages 1000000\nmax_inflight_messages 1000\nset_tcp_nodelay true\n", port, s.dir)
		if s.volatile {
			conf = strings.Replace(conf, "persistence true\n", "persistence false\n", 1)
		}
		if os.Geteuid() != 0 {
			conf = strings.Replace(conf, "user root\n", "", 1)
		}
		s.mosqConf = filepath.Join(s.dir, "mosquitto.conf")
		if err := os.WriteFile(s.mosqConf, []byte(conf), 0o600); err != nil {
			s.t.Fatal(err)
		}
		s.toBroker = newProxy(s.t, "tcp", fmt.Sprintf("127.0.0.1:%d", port))
	}
	s.mosq = startProcess(s.t, labtest.Need(s.t, "mosquitto", "mosquitto"), "-c", s.mosqConf)
	addr := strings.TrimPrefix(s.broker, "mqtt://")
	eventually(s.t, "mosquitto listens", func() bool {
		c, err := net.DialTimeout("tcp", addr, time.Second)
		if err != nil {
			return false
		}
		return c.Close() == nil
	})
}

// serve starts the program, as the system does after it was killed.
func (s *site) serve() { s.wetside = startProcess(s.t, binary(s.t), s.args...) }

func (s *site) killWetside() {
	s.wetside.kill()
	s.serve()
}

// restartIfEnded does what systemd does.
func (s *site) restartIfEnded() {
	select {
	case <-s.wetside.done:
		s.told.note("the process ended and was started again")
		s.serve()
	default:
	}
}

// readiness is what /readyz answers: 0 where nobody does.
func (s *site) readiness() (int, string) {
	resp, err := client.Get("http://" + s.listen + "/readyz")
	if err != nil {
		return 0, ""
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		return 0, ""
	}
	var p struct {
		Detail string `json:"detail"`
	}
	if json.Unmarshal(b, &p) != nil || p.Detail == "" {
		p.Detail = strings.TrimSpace(string(b)) // plain words while it starts
	}
	return resp.StatusCode, p.Detail
}

func (s *site) ready() {
	s.t.Helper()
	eventually(s.t, "wetside is ready", func() bool {
		s.restartIfEnded()
		code, _ := s.readiness()
		return code == http.StatusOK
	})
}

func (s *site) databaseURL() string {
	if s.cluster != nil {
		return s.cluster.URL()
	}
	url, err := private.Find(filepath.Join(s.data, "postgres"))
	if err != nil {
		s.t.Fatal(err)
	}
	return url
}

func (s *site) openStore() {
	s.t.Helper()
	store, err := postgres.Open(s.t.Context(), postgres.Config{URL: s.databaseURL(), Decode: ingest.Decode, App: "torture", Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		s.t.Fatal(err)
	}
	s.store = store
	s.t.Cleanup(store.Close)
	if s.token, err = access.CreateToken(s.t.Context(), store, "torture", lab.RoleLead, time.Time{}); err != nil {
		s.t.Fatal(err)
	}
}

// somebodyOnDuty is a lead who is paged by a webhook, once for each alert.
func (s *site) somebodyOnDuty() {
	s.t.Helper()
	s.hook = newReceiver(s.t)
	ctx := s.t.Context()
	plan := oncall.Default()
	plan.Urgent, plan.RepeatUrgentS = []lab.DutyStep{{Who: lab.WhoEverybody}}, 24*3600
	plan.Flood.Pages = 0
	plan.Hours = []lab.DutyHours{{Days: []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"}, From: "00:00", To: "24:00", People: []string{"Wren"}}}
	for _, err := range []error{
		s.store.CreateUser(ctx, lab.User{Name: "Wren", Role: lab.RoleLead, PasswordHash: "x"}),
		s.store.SetContacts(ctx, lab.Contacts{Person: "Wren", Methods: []string{lab.MethodWebhook}, Webhook: s.hook.url, Secret: notify.NewSecret()}, "test"),
		s.store.SetDutyPlan(ctx, plan, 0, "test"),
	} {
		if err != nil {
			s.t.Fatal(err)
		}
	}
	eventually(s.t, "somebody is on duty", func() bool {
		var status lab.DutyStatus
		return s.get("/api/v1/duty/status", &status) == nil && len(status.On) > 0
	})
}

// endEmbedded ends the database that a killed program left running.
func (s *site) endEmbedded() {
	dir := filepath.Join(s.data, "postgres")
	if _, err := private.Find(dir); err != nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	if c, err := private.Start(ctx, private.Config{Dir: dir, Log: slog.New(slog.DiscardHandler)}); err == nil {
		c.Stop()
	}
}

// get reads a path of the API into v.
func (s *site) get(path string, v any) error {
	req, err := http.NewRequestWithContext(s.t.Context(), http.MethodGet, "http://"+s.listen+path, nil)
	if err != nil {
		return err
	}
	req.Header.Set("Authorization", "Bearer "+s.token)
	resp, err := client.Do(req)
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err == nil && resp.StatusCode != http.StatusOK {
		err = fmt.Errorf("GET %s: %d %s", path, resp.StatusCode, b)
	}
	if err != nil {
		return err
	}
	return json.Unmarshal(b, v)
}

func (s *site) alerts() []lab.Alert {
	s.t.Helper()
	var got struct{ Alerts []lab.Alert }
	if err := s.get("/api/v1/alerts?limit=10000", &got); err != nil {
		s.t.Fatal(err)
	}
	return got.Alerts
}

// stored counts the good messages in the database, each time it is asked from
// where it was.
func (s *site) stored(cursor *int64, n *int) bool {
	arrivals, err := s.store.ArrivalsAfter(s.t.Context(), *cursor, 10_000)
	if err != nil {
		return false // the database may be away
	}
	for _, a := range arrivals {
		*cursor = a.Number()
		if a.Message != nil && !a.Message.Will {
			*n++
		}
	}
	return true
}
