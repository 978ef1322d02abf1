package monitor

import (
	"context"
	"crypto/tls"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"wetside/ingest"
	"wetside/ingest/broker"
	"wetside/internal/monitor/disk"
	"wetside/internal/monitor/listener"
	"wetside/internal/postgres"
	"wetside/internal/postgres/private"
	"wetside/web/access"
)

// Program is the whole service.
type Program struct {
	cfg      Config
	log      *slog.Logger
	cluster  *private.Cluster
	store    *postgres.Store
	disks    *disk.Watch
	listener *listener.Listener
	broker   *broker.Broker
	refused  *refusals
	keys     keyCache
	ingest   atomic.Pointer[ingest.Service] // while it holds the lab

	up     chan struct{} // closed when the board was up for the first time
	upOnce sync.Once
	zone   atomic.Pointer[time.Location] // of the lab's clock, once it is known

	// of the goroutine of Run
	stoodBy  bool          // another wetside held the lab
	tookOver bool          // and that one was waited for just now
	revived  time.Time     // when a private database was last started again
	lostAt   time.Time     // since when the database has been away; zero: it answers
	pause    time.Duration // before the next try after a failure
	// what people are called with while the database is away
	lastPages *paging
	lastLease *postgres.Lease
	marks     []byte // signs what is forwarded; nil: not known yet
	called    bool   // about this outage
	calledFor time.Time
	calls     sync.WaitGroup
}

// New makes a service, which does nothing until it runs.
func New(cfg Config) *Program {
	cfg = cfg.withDefaults()
	return &Program{cfg: cfg, log: cfg.Log, up: make(chan struct{}), pause: firstStandby, disks: disk.NewWatch(foldersOf(cfg)...)}
}

// program names this program, with what was built.
func (p *Program) program() string { return "wetside " + p.cfg.Version }

// now is the time by the clock that the lab lives by.
func (p *Program) now() time.Time {
	if p.cfg.Clock == nil {
		return time.Now()
	}
	return p.cfg.Clock.Now()
}

// Up is closed when the board can be looked at.
func (p *Program) Up() <-chan struct{} { return p.up }

// URL is where the board is, once Up.
func (p *Program) URL() string {
	if p.cfg.TLSCert != "" {
		return "https://" + p.listener.Addr()
	}
	return "http://" + p.listener.Addr()
}

// BrokerURL is how a program of the lab reaches the broker, once Up.
func (p *Program) BrokerURL() string {
	if p.broker != nil {
		return p.broker.ProgramURL()
	}
	return p.cfg.Broker
}

// DatabaseURL is where the database is, once Up.
func (p *Program) DatabaseURL() string {
	if p.cluster != nil {
		return p.cluster.URL()
	}
	return p.cfg.Database
}

// Run brings everything up in order and works until ctx ends (nil) or a part
// that cannot be done without fails. It leaves nothing running.
func (p *Program) Run(ctx context.Context) (err error) {
	defer func() {
		if ctx.Err() != nil && err != nil {
			p.log.Debug("stopped in the middle of something", "error", err)
			err = nil
		}
	}()
	if err := p.cfg.validate(); err != nil {
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
	if err := p.listen(ctx); err != nil {
		return err
	}
	for {
		again, err := p.serveLease(ctx)
		if err != nil || !again {
			return err
		}
	}
}

// listen opens the pages' listener. While nobody has set a password only this
// machine is listened on.
func (p *Program) listen(ctx context.Context) (err error) {
	addresses := []string{p.cfg.Listen}
	if p.cfg.Broker == Embedded {
		addresses = append(addresses, p.cfg.MQTTListen)
	}
	for _, addr := range addresses {
		if err := access.MayListen(ctx, p.store, addr); err != nil {
			return err
		}
	}
	var secure *tls.Config
	if p.cfg.TLSCert != "" {
		if secure, err = listener.TLS(p.cfg.TLSCert, p.cfg.TLSKey); err != nil {
			return err
		}
	}
	if p.listener, err = listener.New(p.cfg.Listen, secure, p.log); err != nil {
		return fmt.Errorf("the pages cannot listen on %s: %w; another program may use it, choose another with --listen", p.cfg.Listen, err)
	}
	p.store.Introduce(func() postgres.Self { return p.self(secure) })
	return nil
}

// close ends what Run opened, the last first.
func (p *Program) close() {
	if p.listener != nil {
		p.listener.Close()
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
