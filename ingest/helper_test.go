package ingest_test

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/labtest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

const deadline = 20 * time.Second

// memStore is a store in memory that can fail, and says whenever it was asked.
type memStore struct {
	mu      sync.Mutex
	fail    func(try int) error // nil: never
	tries   int
	seen    map[string]int // key -> how often it was given in a committed batch
	order   []string       // keys as first committed
	msgs    []lab.Message
	refused []lab.Quarantined
	changed chan struct{}
}

func newStore() *memStore {
	return &memStore{seen: map[string]int{}, changed: make(chan struct{})}
}

func keyOf(m lab.Message) string { return fmt.Sprintf("%s %s %d", m.Unit, m.Boot, m.Seq) }

func (s *memStore) Append(ctx context.Context, _ int64, msgs []lab.Message, refused []lab.Quarantined) (lab.AppendResult, error) {
	s.mu.Lock()
	s.tries++
	try, fail := s.tries, s.fail
	s.mu.Unlock()
	var err error
	if fail != nil {
		err = fail(try) // may block: without the lock
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	defer func() { close(s.changed); s.changed = make(chan struct{}) }()
	if err != nil {
		return lab.AppendResult{}, err
	}
	if err := ctx.Err(); err != nil {
		return lab.AppendResult{}, err
	}
	var r lab.AppendResult
	for _, m := range msgs {
		key := keyOf(m)
		if s.seen[key]++; s.seen[key] > 1 && !m.Will {
			r.Copies++
			continue
		}
		r.New++
		s.order = append(s.order, key)
		s.msgs = append(s.msgs, m)
	}
	s.refused = append(s.refused, refused...)
	r.Quarantined = len(refused)
	return r, nil
}

func (s *memStore) setFail(f func(int) error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.fail = f
}

// stored and poison are copies: the service may append a redelivery meanwhile.
func (s *memStore) stored() []lab.Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.msgs)
}

func (s *memStore) poison() []lab.Quarantined {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.refused)
}

// wait returns when cond holds; cond is called with the store locked.
func (s *memStore) wait(t testing.TB, what string, cond func() bool) {
	t.Helper()
	timeout := time.After(deadline)
	for {
		s.mu.Lock()
		ok, changed := cond(), s.changed
		n, r := len(s.order), len(s.refused)
		s.mu.Unlock()
		if ok {
			return
		}
		select {
		case <-changed:
		case <-timeout:
			t.Fatalf("waited in vain for %s (%d stored, %d refused)", what, n, r)
		}
	}
}

var errAway = errors.New("the database is away")

// quietLog keeps the service's log out of the output unless -v asks for it.
func quietLog(t testing.TB) *slog.Logger {
	if testing.Verbose() {
		return slog.New(slog.NewTextHandler(t.Output(), nil))
	}
	return slog.New(slog.DiscardHandler)
}

// start runs a service and gives its connection events.
func start(t testing.TB, cfg ingest.Config) (*ingest.Service, chan bool) {
	t.Helper()
	events := make(chan bool, 1000)
	cfg.OnConnected = func(up bool) { events <- up }
	if cfg.ClientID == "" {
		cfg.ClientID = "wetside"
	}
	cfg.Log = quietLog(t)
	cfg.MaxReconnect = 400 * time.Millisecond
	s, err := ingest.New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Start(context.Background()); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Stop)
	return s, events
}

func expect(t testing.TB, events <-chan bool, want bool) {
	t.Helper()
	select {
	case got := <-events:
		if got != want {
			t.Fatalf("OnConnected(%v), want %v", got, want)
		}
	case <-time.After(deadline):
		t.Fatalf("waited in vain for OnConnected(%v)", want)
	}
}

// payload is a good temp message.
func payload(seq int) string {
	return fmt.Sprintf(`{"at":%q,"boot":"b1","seq":%d,"bath_c":37.8}`, time.Now().UTC().Format(time.RFC3339Nano), seq)
}

// mosquitto is a real broker of our own.
type mosquitto struct {
	t    testing.TB
	dir  string
	port string
	cmd  *exec.Cmd
}

func newMosquitto(t testing.TB) *mosquitto {
	t.Helper()
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	_, port, _ := net.SplitHostPort(free.Addr().String())
	free.Close()
	m := &mosquitto{t: t, dir: t.TempDir(), port: port}
	conf := "listener " + port + " 127.0.0.1\nallow_anonymous true\nset_tcp_nodelay true\n" +
		"max_inflight_messages 1000\nmax_queued_messages 1000000\n" +
		"persistence true\npersistence_location " + m.dir + "/\nlog_dest stderr\n"
	if os.Getuid() == 0 {
		conf += "user root\n"
	}
	if err := os.WriteFile(filepath.Join(m.dir, "mosquitto.conf"), []byte(conf), 0o600); err != nil {
		t.Fatal(err)
	}
	m.start()
	t.Cleanup(m.stop)
	return m
}

func (m *mosquitto) url() string { return "mqtt://127.0.0.1:" + m.port }

// start runs the broker and waits until it says that it does.
func (m *mosquitto) start() {
	m.t.Helper()
	m.cmd = exec.Command(labtest.Need(m.t, "mosquitto", "mosquitto"), "-c", filepath.Join(m.dir, "mosquitto.conf"))
	stderr, err := m.cmd.StderrPipe()
	if err != nil {
		m.t.Fatal(err)
	}
	if err := m.cmd.Start(); err != nil {
		m.t.Fatal(err)
	}
	running := make(chan string, 1)
	go func() {
		var said bytes.Buffer
		for sc := bufio.NewScanner(stderr); sc.Scan(); {
			fmt.Fprintln(&said, sc.Text())
			if strings.HasSuffix(sc.Text(), " running") {
				running <- ""
			}
		}
		select {
		case running <- said.String():
		default:
		}
	}()
	select {
	case problem := <-running:
		if problem != "" {
			m.t.Fatalf("mosquitto: %s", problem)
		}
	case <-time.After(deadline):
		m.t.Fatal("mosquitto does not come up")
	}
}

// stop ends it in good order: its sessions are on disk then.
func (m *mosquitto) stop() {
	if m.cmd != nil {
		gone := make(chan struct{})
		go func() { m.cmd.Wait(); close(gone) }()
		again := time.NewTicker(200 * time.Millisecond) // a signal in its first moments is lost
		defer again.Stop()
		for left := false; !left; {
			m.cmd.Process.Signal(os.Interrupt)
			select {
			case <-gone:
				left = true
			case <-again.C:
			}
		}
		m.cmd = nil
	}
}

// pub publishes with mosquitto's own client, one message a line.
func (m *mosquitto) pub(topic string, lines []string, args ...string) {
	m.t.Helper()
	args = append([]string{"-h", "127.0.0.1", "-p", m.port, "-q", "1", "-t", topic}, args...)
	if lines != nil {
		args = append(args, "-l")
	}
	cmd := exec.Command(labtest.Need(m.t, "mosquitto_pub", "mosquitto-clients"), args...)
	cmd.Stdin = strings.NewReader(strings.Join(lines, "\n") + "\n")
	if out, err := cmd.CombinedOutput(); err != nil {
		m.t.Fatalf("mosquitto_pub %v: %v\n%s", args, err, out)
	}
}

// dieWithWill connects with mosquitto's own client and kills it.
func (m *mosquitto) dieWithWill(topic, will string) {
	m.t.Helper()
	cmd := exec.Command(labtest.Need(m.t, "mosquitto_sub", "mosquitto-clients"), "-h", "127.0.0.1", "-p", m.port, "-t", "nothing", "-t", "$SYS/broker/version", "-v",
		"--will-topic", topic, "--will-payload", will, "--will-qos", "1", "--will-retain")
	out, err := cmd.StdoutPipe()
	if err != nil {
		m.t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		m.t.Fatal(err)
	}
	if !bufio.NewScanner(out).Scan() { // a first message: it is connected
		m.t.Error("mosquitto_sub hears nothing")
	}
	cmd.Process.Kill()
	cmd.Wait()
}

// cutter passes a connection on until it is cut.
type cutter struct {
	ln    net.Listener
	to    string
	wg    sync.WaitGroup
	mu    sync.Mutex
	conns []net.Conn
}

func newCutter(t testing.TB, to string) *cutter {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	c := &cutter{ln: ln, to: to}
	c.wg.Go(c.accept)
	t.Cleanup(func() { c.cut(); c.wg.Wait() })
	return c
}

func (c *cutter) addr() string { return c.ln.Addr().String() }

func (c *cutter) accept() {
	for {
		in, err := c.ln.Accept()
		if err != nil {
			return
		}
		out, err := net.Dial("tcp", c.to)
		if err != nil {
			in.Close()
			continue
		}
		c.mu.Lock()
		c.conns = append(c.conns, in, out)
		c.mu.Unlock()
		c.wg.Go(func() { io.Copy(out, in); out.Close() })
		c.wg.Go(func() { io.Copy(in, out); in.Close() })
	}
}

// cut ends all connections and takes no more.
func (c *cutter) cut() {
	c.ln.Close()
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, conn := range c.conns {
		conn.Close()
	}
}
