package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/netip"
	"net/url"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"wetside/ingest"
	"wetside/ingest/broker"
	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/postgres/private"
	"wetside/rules"
	"wetside/web/access"
)

// programConfig is what the service is made of.
type programConfig struct {
	Broker     string // a URL, or embedded
	Database   string // a URL, or embedded
	Listen     string // of the pages and the API
	MQTTListen string // of the embedded broker
	MQTT       mqttConfig
	Data       string // folder of the embedded parts
	KeepDays   int    // telemetry is kept so long; 0: for ever
	Rules      rules.Config
	NoTrials   bool // rules that are new to the lab page at once
	Origins    []string
	Proxies    []netip.Prefix // may say whom they forward for
	Paging     pagingConfig
	Log        *slog.Logger
	Clock      lab.Clock // Defaults to the machine's; a test lets the lab live on another day by its own.
	// CallAfter is how long the database may be away before people are called
	// without it. Defaults to a minute.
	CallAfter time.Duration

	// Prepare, where set, is called once with the open database, before
	// anything is listened on.
	Prepare func(context.Context, *postgres.Store) error
	// EndWithProcess ends the private database with this process, however it
	// ends: for what is thrown away afterwards.
	EndWithProcess bool
}

// program is the whole service. Run does everything; the rest may be called
// from any goroutine.
type program struct {
	cfg     programConfig
	log     *slog.Logger
	cluster *private.Cluster
	store   *postgres.Store
	disks   *diskWatch
	front   *front
	broker  *broker.Broker
	refused *refusals
	keys    keyCache
	ingest  atomic.Pointer[ingest.Service] // of the term that runs

	up     chan struct{} // closed when the board was up for the first time
	upOnce sync.Once
	zone   atomic.Pointer[time.Location] // of the lab's clock, once it is known

	// of the goroutine of Run
	stoodBy bool          // another wetside held the lab
	revived time.Time     // when a private database was last started again
	lostAt  time.Time     // since when the database has been away; zero: it answers
	pause   time.Duration // before the next try after a failure
	// what people are called with while the database is away
	lastPages *paging
	called    bool // about this outage
	calledFor time.Time
	calls     sync.WaitGroup
}

func newProgram(cfg programConfig) *program {
	if cfg.Log == nil {
		cfg.Log = slog.Default()
	}
	return &program{cfg: cfg, log: cfg.Log, up: make(chan struct{}), pause: firstStandby, disks: newDiskWatch(cfg)}
}

// now is the time by the clock that the lab lives by.
func (p *program) now() time.Time {
	if p.cfg.Clock == nil {
		return time.Now()
	}
	return p.cfg.Clock.Now()
}

// Up is closed when the board can be looked at.
func (p *program) Up() <-chan struct{} { return p.up }

// URL is where the board is, once Up.
func (p *program) URL() string {
	if p.cfg.Paging.TLSCert != "" {
		return "https://" + p.front.addr()
	}
	return "http://" + p.front.addr()
}

// BrokerURL is how a program of the lab reaches the broker, once Up.
func (p *program) BrokerURL() string {
	if p.broker != nil {
		return p.broker.ProgramURL()
	}
	return p.cfg.Broker
}

// DatabaseURL is where the database is, once Up.
func (p *program) DatabaseURL() string {
	if p.cluster != nil {
		return p.cluster.URL()
	}
	return p.cfg.Database
}

// Run brings everything up in order and works until ctx ends (nil) or a part
// that cannot be done without fails. It leaves nothing running.
func (p *program) Run(ctx context.Context) (err error) {
	defer func() {
		if ctx.Err() != nil && err != nil {
			p.log.Debug("stopped in the middle of something", "error", err)
			err = nil
		}
	}()
	if err := p.check(); err != nil {
		return err
	}
	p.warnPlain()
	defer p.close()
	if err := p.openDatabase(ctx); err != nil {
		return err
	}
	if p.cfg.Prepare != nil {
		if err := p.cfg.Prepare(ctx, p.store); err != nil {
			return err
		}
	}
	if err := p.openFront(ctx); err != nil {
		return err
	}
	for {
		again, err := p.serveTerm(ctx)
		if err != nil || !again {
			return err
		}
	}
}

// check refuses what cannot work before anything is started.
func (p *program) check() error {
	type address struct{ flag, value string }
	addresses := []address{{"--listen", p.cfg.Listen}}
	if p.cfg.Broker == embedded {
		addresses = append(addresses, address{"--mqtt-listen", p.cfg.MQTTListen})
	} else if _, err := brokerAddress(p.cfg.Broker); err != nil {
		return usageError{err}
	}
	for _, a := range addresses {
		if _, _, err := net.SplitHostPort(a.value); err != nil {
			return usagef("%s %q is not host:port, such as 127.0.0.1:8080", a.flag, a.value)
		}
	}
	if u, err := url.Parse(p.cfg.Database); p.cfg.Database != embedded && (err != nil || u.Scheme != "postgres" && u.Scheme != "postgresql") {
		return usagef("--database is neither \"embedded\" nor an address such as postgres://user@host/name")
	}
	return p.cfg.MQTT.check(p.cfg.Broker == embedded)
}

func (p *program) openDatabase(ctx context.Context) (err error) {
	address := p.cfg.Database
	if address == embedded {
		if p.cluster, err = startPrivate(ctx, p.cfg.Data, p.log, p.cfg.EndWithProcess); err != nil {
			return err
		}
		address = p.cluster.URL()
	}
	p.store, err = postgres.Open(ctx, postgres.Config{URL: address, Log: p.log, App: "wetside", Decode: ingest.Decode, Clock: p.cfg.Clock})
	return err
}

// reviveDatabase starts a private database that ended under us.
func (p *program) reviveDatabase(ctx context.Context) error {
	if p.cluster == nil {
		return nil
	}
	cluster, err := startPrivate(ctx, p.cfg.Data, p.log, p.cfg.EndWithProcess)
	if err != nil {
		return err
	}
	p.cluster.Stop() // only gives up its share of the new one
	p.cluster = cluster
	return nil
}

func (p *program) openFront(ctx context.Context) (err error) {
	addresses := []string{p.cfg.Listen}
	if p.cfg.Broker == embedded {
		addresses = append(addresses, p.cfg.MQTTListen)
	}
	for _, addr := range addresses {
		if err := access.MayListen(ctx, p.store, addr); err != nil {
			return err
		}
	}
	var secure *tls.Config
	if p.cfg.Paging.TLSCert != "" {
		certs, err := newCertificates(p.cfg.Paging.TLSCert, p.cfg.Paging.TLSKey)
		if err != nil {
			return err
		}
		secure = certs.config()
	}
	if p.front, err = newFront(p.cfg.Listen, secure, p.log); err != nil {
		return fmt.Errorf("the pages cannot listen on %s: %w; another program may use it, choose another with --listen", p.cfg.Listen, err)
	}
	return nil
}

// openBroker starts the embedded broker. It refuses units until the monitor
// is subscribed.
func (p *program) openBroker(ctx context.Context) (err error) {
	if p.cfg.Broker != embedded || p.broker != nil {
		return nil
	}
	secure, err := p.cfg.MQTT.server()
	if err != nil {
		return err
	}
	p.refused = newRefusals(p.store.AddRefusals, p.log)
	p.broker, err = broker.Start(ctx, broker.Config{
		Listen: p.cfg.MQTTListen, DataDir: brokerDir(p.cfg.Data), Log: p.log, Keys: p.unitKeys,
		TLS: secure, Refused: p.refused.add,
		Drained: func() bool { in := p.ingest.Load(); return in != nil && in.CaughtUp() },
	})
	if errors.Is(err, syscall.EADDRINUSE) {
		err = fmt.Errorf("%w; another broker may use it, choose another address with --mqtt-listen", err)
	}
	return err
}

// unitKeys gives the hashes of the keys that hold for a unit.
func (p *program) unitKeys(ctx context.Context, unit lab.UnitID) ([][]byte, error) {
	keys, err := p.keys.get(ctx, p.store.UnitKeys)
	if hash, ok := keys[unit]; ok && err == nil {
		return [][]byte{hash}, nil
	}
	return nil, err
}

// keyCache spares the database a query for each unit when all are looked up.
type keyCache struct {
	mu   sync.Mutex
	at   time.Time
	keys map[lab.UnitID][]byte
}

const keysHold = 200 * time.Millisecond

func (c *keyCache) get(ctx context.Context, read func(context.Context) (map[lab.UnitID][]byte, error)) (map[lab.UnitID][]byte, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.keys != nil && time.Since(c.at) < keysHold {
		return c.keys, nil
	}
	began := time.Now()
	keys, err := read(ctx)
	if err != nil {
		return nil, err
	}
	c.keys, c.at = keys, began
	return keys, nil
}

// brokerFailed is closed when the embedded broker has given its store up.
func (p *program) brokerFailed() <-chan struct{} {
	if p.broker == nil {
		return nil
	}
	return p.broker.Failed()
}

// closeBroker ends the embedded broker; the next term starts it again.
func (p *program) closeBroker() {
	if p.broker != nil {
		p.broker.Close()
	}
	if p.refused != nil {
		p.refused.close()
	}
	p.broker, p.refused = nil, nil
}

// close ends what Run opened, the last first.
func (p *program) close() {
	if p.front != nil {
		p.front.close()
	}
	p.closeBroker()
	p.calls.Wait()
	if p.store != nil {
		p.store.Close()
	}
	if p.cluster != nil {
		p.cluster.Stop()
	}
}
