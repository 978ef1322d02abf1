package broker_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"os/exec"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"go.uber.org/goleak"

	"wetside/ingest"
	"wetside/ingest/broker"
	"wetside/internal/lab"
	"wetside/internal/labtest"
)

func TestMain(m *testing.M) {
	if dir := os.Getenv("WETSIDE_TEST_BROKER_DIR"); dir != "" {
		runForKill(dir)
	}
	goleak.VerifyTestMain(m)
}

const deadline = 30 * time.Second

var clients atomic.Int64 // numbers the connections

func quiet(t testing.TB) *slog.Logger {
	if testing.Verbose() {
		return slog.New(slog.NewTextHandler(t.Output(), &slog.HandlerOptions{Level: slog.LevelDebug}))
	}
	return slog.New(slog.DiscardHandler)
}

func start(t testing.TB, cfg broker.Config) *broker.Broker {
	t.Helper()
	if cfg.Listen == "" {
		cfg.Listen = "127.0.0.1:0"
	}
	if cfg.DataDir == "" {
		cfg.DataDir = t.TempDir()
	}
	cfg.Log = quiet(t)
	b, err := broker.Start(t.Context(), cfg)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.Close)
	return b
}

// sink is a store that passes on what it is given.
type sink struct{ got chan lab.Message }

func (s sink) Append(_ context.Context, _ int64, msgs []lab.Message, refused []lab.Quarantined) (lab.AppendResult, error) {
	for _, m := range msgs {
		s.got <- m
	}
	return lab.AppendResult{New: len(msgs), Quarantined: len(refused)}, nil
}

func (s sink) next(t testing.TB) lab.Message {
	t.Helper()
	select {
	case m := <-s.got:
		return m
	case <-time.After(deadline):
		t.Fatal("nothing arrives")
		return lab.Message{}
	}
}

// monitor runs the service on a broker and lets units in when it is subscribed.
func monitor(t testing.TB, url, clientID string) (*ingest.Service, sink) {
	t.Helper()
	s := sink{make(chan lab.Message, 100_000)}
	up := make(chan bool, 10)
	svc, err := ingest.New(ingest.Config{Broker: url, ClientID: clientID, Store: s, Log: quiet(t), OnConnected: func(b bool) { up <- b }})
	if err != nil {
		t.Fatal(err)
	}
	if err := svc.Start(context.Background()); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(svc.Stop)
	select {
	case <-up:
	case <-time.After(deadline):
		t.Fatal("the monitor is not connected")
	}
	return svc, s
}

func body(seq string) string {
	return `{"at":"` + time.Now().UTC().Format(time.RFC3339Nano) + `","boot":"b1","seq":` + seq + `,"rpm":60}`
}

// unit connects as a unit does. Each connection has a client id of its own: one that comes back under the
// same id within a second is taken for two that throw each other out, and is
// made to wait.
func unit(addr, user, key string) (mqtt.Client, error) {
	id := fmt.Sprintf("%s-%d", strings.ReplaceAll(user, "/", "-"), clients.Add(1))
	o := mqtt.NewClientOptions().AddBroker("tcp://" + addr).SetClientID(id).
		SetUsername(user).SetPassword(key).SetConnectTimeout(5 * time.Second).SetAutoReconnect(false)
	c := mqtt.NewClient(o)
	tok := c.Connect()
	if !tok.WaitTimeout(deadline) {
		return nil, errors.New("no answer")
	}
	return c, tok.Error()
}

// publish tells whether the broker acknowledged.
func publish(c mqtt.Client, topic, payload string) bool {
	tok := c.Publish(topic, 1, false, payload)
	return tok.WaitTimeout(2*time.Second) && tok.Error() == nil
}

// TestUnitsWaitForMonitor: nobody gets in before the monitor's session is
// there, for what it would be told would be acknowledged and kept nowhere.
func TestUnitsWaitForMonitor(t *testing.T) {
	b := start(t, broker.Config{})
	if _, err := unit(b.Addr(), "tern-street/plover", ""); err == nil {
		t.Fatal("a unit got in before the monitor")
	}
	if _, err := unit(b.Addr(), "monitor", "guess"); err == nil {
		t.Fatal("somebody else got in as the monitor")
	}
	_, s := monitor(t, b.MonitorURL(), b.ClientID())
	b.AllowUnits()
	c, err := unit(b.Addr(), "tern-street/plover", "")
	if err != nil {
		t.Fatal(err)
	}
	defer c.Disconnect(100)
	if !publish(c, "wetside/v1/tern-street/plover/motion", body("1")) {
		t.Fatal("not acknowledged")
	}
	if m := s.next(t); m.Seq != 1 || m.Retained {
		t.Errorf("got %+v", m)
	}
}

// TestAnonymousAndForeignClient: mosquitto's client, without a name, on
// loopback; its will and its retained copy come through.
func TestAnonymousAndForeignClient(t *testing.T) {
	b := start(t, broker.Config{})
	_, s := monitor(t, b.MonitorURL(), b.ClientID())
	b.AllowUnits()
	_, port, _ := net.SplitHostPort(b.Addr())
	const topic = "wetside/v1/tern-street/heron/status"
	status := strings.Replace(body("1"), `"rpm":60`, `"online":true`, 1)
	pub := exec.Command(labtest.Need(t, "mosquitto_pub", "mosquitto-clients"), "-h", "127.0.0.1", "-p", port, "-V", "mqttv311", "-q", "1", "-t", topic, "-r", "-m", status)
	if out, err := pub.CombinedOutput(); err != nil {
		t.Fatalf("mosquitto_pub: %v\n%s", err, out)
	}
	if m := s.next(t); m.Status == nil || m.Retained {
		t.Errorf("got %+v", m)
	}
	_, late := monitor(t, b.ProgramURL(), "later")
	if m := late.next(t); m.Status == nil || !m.Retained {
		t.Errorf("who comes later gets %+v", m)
	}
	sub := exec.Command(labtest.Need(t, "mosquitto_sub", "mosquitto-clients"), "-h", "127.0.0.1", "-p", port, "-V", "mqttv311", "-t", topic,
		"--will-topic", topic, "--will-payload", `{"online":false}`, "--will-qos", "1", "--will-retain")
	out, err := sub.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := sub.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := out.Read(make([]byte, 1)); err != nil { // the retained copy: it is connected
		t.Error(err)
	}
	sub.Process.Kill()
	sub.Wait()
	if m := s.next(t); !m.Will || m.Unit.Unit != "heron" {
		t.Errorf("will is %+v", m)
	}
}

// TestUnitKeys is the round trip of the access rules: a broker that refuses a
// publish in silence would look the same from the unit's side.
func TestUnitKeys(t *testing.T) {
	key, hash := broker.NewKey()
	old, oldHash := broker.NewKey()
	plover := lab.UnitID{Lab: "tern-street", Unit: "plover"}
	b := start(t, broker.Config{Listen: "0.0.0.0:0", Keys: func(_ context.Context, u lab.UnitID) ([][]byte, error) {
		switch u {
		case plover:
			return [][]byte{oldHash, hash}, nil
		case lab.UnitID{Lab: "tern-street", Unit: "broken"}:
			return nil, errors.New("the database is away")
		}
		return nil, nil
	}})
	_, s := monitor(t, b.MonitorURL(), b.ClientID())
	b.AllowUnits()
	_, port, _ := net.SplitHostPort(b.Addr())
	addr := "127.0.0.1:" + port
	for _, who := range [][2]string{
		{"tern-street/plover", "wrong"}, {"tern-street/plover", ""}, {"tern-street/heron", key},
		{"tern-street/broken", key}, {"", ""}, {"plover", key}, {"program", "wrong"}, {"monitor", key},
	} {
		if c, err := unit(addr, who[0], who[1]); err == nil {
			c.Disconnect(0)
			t.Errorf("user %q with key %q got in", who[0], who[1])
		}
	}
	for _, k := range []string{key, old} {
		c, err := unit(addr, plover.String(), k)
		if err != nil {
			t.Fatalf("right key refused: %v", err)
		}
		if !publish(c, lab.Topic(plover, lab.ChannelMotion), body("7")) {
			t.Fatal("own topic not acknowledged")
		}
		if m := s.next(t); m.Unit != plover || m.Seq != 7 {
			t.Fatalf("got %+v", m)
		}
		c.Disconnect(100)
	}
	for _, topic := range []string{
		"wetside/v1/tern-street/heron/motion", "wetside/v1/tern-street/plover/motion/x", "wetside/v1/other/plover/motion", "elsewhere",
	} {
		c, err := unit(addr, plover.String(), key)
		if err != nil {
			t.Fatal(err)
		}
		publish(c, topic, body("8"))
		c.Disconnect(100)
	}
	c, err := unit(addr, plover.String(), key)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Disconnect(100)
	sub := c.Subscribe("wetside/v1/#", 1, nil).(*mqtt.SubscribeToken)
	if sub.WaitTimeout(deadline) && sub.Error() == nil && sub.Result()["wetside/v1/#"] <= 1 {
		t.Error("a unit may read what others send")
	}
	if c, err = unit(addr, plover.String(), key); err != nil {
		t.Fatal(err)
	}
	defer c.Disconnect(100)
	publish(c, lab.Topic(plover, lab.ChannelMotion), body("9"))
	if m := s.next(t); m.Unit != plover || m.Seq != 9 {
		t.Errorf("a forbidden topic came through: %+v", m)
	}
}

// TestProgramCredential: record and simulate find their way by the data folder.
func TestProgramCredential(t *testing.T) {
	dir := t.TempDir()
	if _, err := broker.Find(dir); lab.KindOf(err) != lab.KindNotFound {
		t.Errorf("Find before any start: %v", err)
	}
	b := start(t, broker.Config{Listen: "0.0.0.0:0", DataDir: dir, Keys: func(context.Context, lab.UnitID) ([][]byte, error) { return nil, nil }})
	monitor(t, b.MonitorURL(), b.ClientID())
	b.AllowUnits()
	url, err := broker.Find(dir)
	if err != nil || url != b.ProgramURL() {
		t.Fatalf("Find gives %q, %v; want %q", url, err, b.ProgramURL())
	}
	_, s := monitor(t, url, "a-program")
	host := url[strings.LastIndex(url, "@")+1:]
	key := strings.TrimPrefix(url[:strings.LastIndex(url, "@")], "mqtt://program:")
	c, err := unit(host, "program", key)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Disconnect(100)
	publish(c, "wetside/v1/tern-street/avocet/motion", body("3"))
	if m := s.next(t); m.Unit.Unit != "avocet" {
		t.Errorf("got %+v", m)
	}
	if info, err := os.Stat(dir + "/broker.json"); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("broker.json: %v %v; want mode 0600", info.Mode(), err)
	}
}

// TestStartErrors: each says what was wrong.
func TestStartErrors(t *testing.T) {
	b := start(t, broker.Config{})
	dir := t.TempDir()
	held := start(t, broker.Config{DataDir: dir})
	for name, c := range map[string]struct {
		cfg  broker.Config
		says string
	}{
		"no folder":     {broker.Config{Listen: "127.0.0.1:0"}, "DataDir"},
		"address":       {broker.Config{Listen: "nowhere", DataDir: t.TempDir()}, "host:port"},
		"address taken": {broker.Config{Listen: b.Addr(), DataDir: t.TempDir()}, "in use"},
		"no keys":       {broker.Config{Listen: "0.0.0.0:0", DataDir: t.TempDir()}, "keys"},
		"folder taken":  {broker.Config{Listen: "127.0.0.1:0", DataDir: dir}, "another broker"},
	} {
		c.cfg.Log = quiet(t)
		if got, err := broker.Start(t.Context(), c.cfg); err == nil {
			got.Close()
			t.Errorf("%s: started", name)
		} else if !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v; want a word of %q", name, err, c.says)
		}
	}
	held.Close()
	held.Close()
	start(t, broker.Config{DataDir: dir}) // free again
}

// lockedBuffer gathers what a child says.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}
