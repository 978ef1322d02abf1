package broker

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"github.com/nats-io/nats-server/v2/server"

	"wetside/internal/lab"
)

// Config says where the broker listens and what it keeps.
type Config struct {
	// Listen is where units connect, host:port; port 0 takes a free one.
	// Defaults to 127.0.0.1:1883.
	Listen string
	// DataDir is the broker's own folder, made if missing. Required.
	DataDir string
	// Keys gives the hashes (HashKey) of the keys that a unit may use, none
	// for an unknown unit. Required beyond loopback.
	Keys func(ctx context.Context, unit lab.UnitID) ([][]byte, error)
	// TLS makes the listener speak TLS. Defaults to plain TCP.
	TLS *tls.Config
	// Drained tells whether nothing waits for the monitor: then each unit has
	// its whole share of the store again. Defaults to always.
	Drained func() bool
	// Refused is told what was not let in, where it concerns a unit that has a
	// key or shows one. It must not block. Defaults to nobody.
	Refused func(lab.Refusal)
	// Rate and Burst bound the messages of one unit. Default to Rate and Burst.
	Rate, Burst int
	// MaxStoreBytes bounds what waits on disk; when it is full units are no
	// longer acknowledged and keep their messages. Defaults to 4 GiB.
	MaxStoreBytes int64
	// Log defaults to slog.Default.
	Log *slog.Logger
}

const (
	// maxPayload lets an oversized message through to quarantine, but bounds it.
	maxPayload = 64 << 10
	// maxEngine is the room of an envelope besides.
	maxEngine = maxPayload + 64<<10
	// shareOfStore is the part of the store that one unit may fill while the
	// monitor takes nothing.
	shareOfStore    = 20
	drainInterval   = 100 * time.Millisecond
	recheckInterval = time.Second
	ackWait         = 10 * time.Second
	ackPending      = 8192
	closedKept      = 100
	startTimeout    = 20 * time.Second
	tidyInterval    = 15 * time.Second
)

// Broker is a running broker.
type Broker struct {
	cfg     Config
	srv     *server.Server
	auth    *authenticator
	gate    *gate
	state   state
	engine  string // where the engine listens, on loopback
	addr    string
	host    string
	port    int
	unlock  func()
	failed  chan struct{} // closed when the store failed and there is room again
	broken  atomic.Bool   // a write of the store failed
	stop    context.CancelFunc
	wg      sync.WaitGroup
	closing sync.Once
}

// Start runs a broker on the data folder. ctx bounds the start only.
func Start(ctx context.Context, cfg Config) (_ *Broker, err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("embedded broker: %w", err)
		}
	}()
	host, port, err := cfg.validate()
	if err != nil {
		return nil, err
	}
	b := &Broker{cfg: cfg, host: host, failed: make(chan struct{})}
	if b.unlock, err = lockFolder(cfg.DataDir); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			b.unlock()
		}
	}()
	if b.state, err = loadState(cfg.DataDir); err != nil {
		return nil, err
	}
	b.auth = &authenticator{keys: cfg.Keys, open: isLoopback(host), secret: rand.Text(), program: b.state.ProgramKey, log: cfg.Log}
	if err := b.run(ctx); err != nil {
		return nil, err
	}
	if err := b.openGate(port); err != nil {
		b.shutdown()
		return nil, err
	}
	b.state.URL = b.url(nil)
	if err := b.state.save(cfg.DataDir); err != nil {
		b.gate.close()
		b.shutdown()
		return nil, err
	}
	var watching context.Context
	watching, b.stop = context.WithCancel(context.WithoutCancel(ctx))
	b.wg.Go(func() { b.watchStore(watching) })
	b.wg.Go(func() { b.lookAfterGate(watching) })
	b.wg.Go(func() { b.watchEngine(watching) })
	return b, nil
}

func (c *Config) validate() (host string, port int, err error) {
	if c.Listen == "" {
		c.Listen = "127.0.0.1:1883"
	}
	if c.MaxStoreBytes == 0 {
		c.MaxStoreBytes = 4 << 30
	}
	if c.Log == nil {
		c.Log = slog.Default()
	}
	if c.Drained == nil {
		c.Drained = func() bool { return true }
	}
	if c.Rate == 0 {
		c.Rate = Rate
	}
	if c.Burst == 0 {
		c.Burst = Burst
	}
	if c.DataDir == "" {
		return "", 0, lab.Errorf(lab.KindInvalid, "DataDir is missing")
	}
	host, p, err := net.SplitHostPort(c.Listen)
	if err == nil {
		port, err = strconv.Atoi(p)
	}
	if err != nil || port < 0 || port > 65535 {
		return "", 0, lab.Errorf(lab.KindInvalid, "cannot listen on %q; give host:port such as 127.0.0.1:1883", c.Listen)
	}
	if !isLoopback(host) && c.Keys == nil {
		return "", 0, lab.Errorf(lab.KindInvalid, "listening on %q, beyond loopback, needs the keys of units", c.Listen)
	}
	if host == "" {
		host = "0.0.0.0"
	}
	return host, port, nil
}

func isLoopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// run starts the engine and waits until it takes connections. It takes them
// on loopback only, from the monitor and the gate.
func (b *Broker) run(ctx context.Context) error {
	port, err := freePort()
	if err != nil {
		return err
	}
	opts := &server.Options{
		ServerName: "wetside", DontListen: true, NoSigs: true, NoSystemAccount: true,
		MaxClosedClients: closedKept, // each connection that ended would else be kept, to ten thousand of them
		MaxPayload:       maxEngine, JetStream: true, SyncAlways: true,
		StoreDir: filepath.Join(b.cfg.DataDir, "store"), JetStreamMaxStore: b.cfg.MaxStoreBytes,
		JetStreamMaxMemory:         64 << 20,
		CustomClientAuthentication: b.auth,
		MQTT: server.MQTTOpts{
			Host: loopback, Port: port, AckWait: ackWait, MaxAckPending: ackPending, AuthTimeout: 10,
		},
	}
	if b.srv, err = server.NewServer(opts); err != nil {
		return err
	}
	fatal := make(chan string, 1)
	b.srv.SetLoggerV2(logger{b.cfg.Log, fatal, b.state.ClientID, &b.broken}, false, false, false)
	started := make(chan struct{})
	b.wg.Go(func() { defer close(started); b.srv.Start() })
	ready := make(chan bool, 1)
	b.wg.Go(func() { ready <- b.srv.ReadyForConnections(startTimeout) })
	b.engine = net.JoinHostPort(loopback, strconv.Itoa(port))
	select {
	case ok := <-ready:
		if ok {
			<-started
			return nil
		}
		err = errors.New("not ready in " + startTimeout.String())
	case text := <-fatal:
		err = errors.New(text)
	case <-ctx.Done():
		err = ctx.Err()
	}
	b.shutdown()
	return err
}

const loopback = "127.0.0.1"

// freePort finds a port of loopback for the engine.
func freePort() (int, error) {
	probe, err := net.Listen("tcp", net.JoinHostPort(loopback, "0"))
	if err != nil {
		return 0, err
	}
	defer probe.Close()
	return probe.Addr().(*net.TCPAddr).Port, nil
}

// openGate begins to listen where units connect.
func (b *Broker) openGate(port int) error {
	l, err := listen(net.JoinHostPort(b.host, strconv.Itoa(port)), b.cfg.TLS)
	if err != nil {
		return err
	}
	b.port = l.Addr().(*net.TCPAddr).Port
	b.addr = net.JoinHostPort(b.host, strconv.Itoa(b.port))
	b.gate = &gate{
		listener: l, engine: b.engine, secret: b.auth.secret, auth: b.auth, log: b.cfg.Log, refused: b.cfg.Refused,
		shares:   newShares(b.cfg.Rate, b.cfg.Burst, b.cfg.MaxStoreBytes/shareOfStore),
		retained: &retained{topics: map[string]bool{}},
		guests:   map[*guest]bool{}, knocks: map[string]int{}, perUnit: map[lab.UnitID]int{},
	}
	b.gate.ctx, b.gate.cancel = context.WithCancel(context.Background())
	b.gate.wg.Add(1)
	go b.gate.serve()
	return nil
}

// lookAfterGate gives units their share back, and ends the connections of
// keys that no longer hold.
func (b *Broker) lookAfterGate(ctx context.Context) {
	drain, recheck := time.NewTicker(drainInterval), time.NewTicker(recheckInterval)
	defer drain.Stop()
	defer recheck.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-drain.C:
			if b.cfg.Drained() {
				b.gate.shares.empty()
			}
		case <-recheck.C:
			b.gate.recheck()
		}
	}
}

// Recheck ends the connections of unit keys that were replaced or withdrawn,
// at once; without it that is noticed within a second.
func (b *Broker) Recheck() { b.gate.recheck() }

// AllowUnits lets others than the monitor in: call it when the monitor's
// session is subscribed.
func (b *Broker) AllowUnits() { b.auth.allowed.Store(true) }

// Addr is where it listens.
func (b *Broker) Addr() string { return b.addr }

// MonitorURL is the address with the credential of the monitor, good until
// Close. Use it with ClientID.
func (b *Broker) MonitorURL() string {
	u := url.URL{Scheme: "mqtt", User: url.UserPassword(monitorUser, b.auth.secret), Host: b.engine}
	return u.String()
}

// ProgramURL is the address with the credential of the lab's own programs.
func (b *Broker) ProgramURL() string {
	return b.url(url.UserPassword(programUser, b.state.ProgramKey))
}

// ClientID is the client id of the monitor's session, the same at each start
// and told to nobody: who connected with it would take the session over.
func (b *Broker) ClientID() string { return b.state.ClientID }

func (b *Broker) url(user *url.Userinfo) string {
	host := b.host
	if ip := net.ParseIP(host); ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	u := url.URL{Scheme: "mqtt", User: user, Host: net.JoinHostPort(host, strconv.Itoa(b.port))}
	if b.cfg.TLS != nil {
		u.Scheme = "mqtts"
	}
	return u.String()
}

// Close ends the broker. It blocks until everything is on disk, and may be
// called twice.
func (b *Broker) Close() {
	b.closing.Do(func() {
		b.stop()
		b.gate.close()
		b.shutdown()
		b.unlock()
	})
}

func (b *Broker) shutdown() {
	b.srv.Shutdown()
	b.srv.WaitForShutdown()
	b.wg.Wait()
}

// StoreUsed gives the bytes that wait on disk and how many may.
func (b *Broker) StoreUsed() (used, limit int64) {
	info, err := b.srv.Jsz(nil)
	if err != nil {
		return 0, b.cfg.MaxStoreBytes
	}
	return int64(info.Store), b.cfg.MaxStoreBytes
}

// watchStore says in the log when the store passes 60 and 80 % of its bound.
func (b *Broker) watchStore(ctx context.Context) {
	said := 0
	tick := time.NewTicker(tidyInterval)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		used, limit := b.StoreUsed()
		level := 0
		switch share := float64(used) / float64(limit); {
		case share >= 0.8:
			level = 80
		case share >= 0.6:
			level = 60
		}
		if level > said {
			b.cfg.Log.Warn("broker: the store fills up: the monitor does not take what units send",
				"percent", level, "used_bytes", used, "limit_bytes", limit)
		}
		said = level
	}
}

// folder makes the data folder, for this user only.
func folder(dir string) error { return os.MkdirAll(dir, 0o700) }
