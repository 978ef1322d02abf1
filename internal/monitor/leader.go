package monitor

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/monitor/watch"
	"wetside/internal/postgres"
	"wetside/internal/records"
	"wetside/internal/service"
	"wetside/rules"
	"wetside/rules/timeline"
	"wetside/web"
)

// leader is the service while it holds the lab: worker, ingest and site. The
// parts know of each other only after they were made, hence the pointers.
type leader struct {
	p       *Program
	lease   *postgres.Lease
	since   time.Time // when it began to
	worker  *watch.Worker
	rules   rules.Config // with the lab's own sheets and clock
	sheets  *Sheets
	records *records.Worker
	reports *records.Reports
	ingest  atomic.Pointer[ingest.Service]
	site    atomic.Pointer[web.Server]
	pages   atomic.Pointer[paging]
	metrics *prometheus.Registry

	units      atomic.Pointer[lab.Units] // the lab's units of measure, as pages are written in
	brokerAway outage

	clockBy    atomic.Int64  // by how much the machine's clock was set and nothing was moved yet
	clockMoved chan struct{} // coalesces
	moving     *service.Runner
}

// serveLease waits for the lease of the lab and serves under it. It gives true
// when there is something to come back to: the lab was lost to another
// wetside, or the database went away or failed. Then the service stands by and
// tries again.
func (p *Program) serveLease(ctx context.Context) (again bool, err error) {
	if p.lostAt.IsZero() {
		p.listener.Waiting("standing by: asking the database for the lab")
	}
	p.tookOver = false
	lease, err := p.store.AcquireLease(ctx, func(w postgres.LeaseWait) { p.waits(ctx, w) })
	if err == nil {
		err = p.watchLab(ctx, lease)
	}
	if err == nil || ctx.Err() != nil || !p.comesBack(err) {
		return false, err
	}
	p.log.Error("the lab is not held; standing by for it", "cause", err)
	if errors.Is(err, errBrokerLost) {
		p.closeBroker()
	}
	p.revive(ctx)
	return p.standBy(ctx, err), nil
}

// watchLab serves the lab for as long as it is held.
func (p *Program) watchLab(ctx context.Context, lease *postgres.Lease) (err error) {
	defer lease.Release()
	p.lostAt = time.Time{}
	p.lastLease = lease
	p.listener.Waiting("starting: the state is being rebuilt from the database")
	l := &leader{p: p, lease: lease, since: p.now(), metrics: prometheus.NewRegistry(), clockMoved: make(chan struct{}, 1)}
	l.moving = service.NewRunner(func(ctx context.Context) error { l.moveDue(ctx); return nil })
	defer l.stop()
	defer func() {
		p.listener.Waiting("wetside is stopping")
		if errors.Is(err, errDatabaseLost) {
			p.databaseLost()
		}
	}()
	if err := l.start(ctx); err != nil {
		return err
	}
	p.zone.Store(l.rules.Zone)
	p.upOnce.Do(func() { close(p.up) })
	p.log.Info("watching", "url", p.URL(), "term", lease.Term())
	p.pause, p.lastPages = firstStandby, l.pages.Load()
	p.callBack(ctx)
	return l.wait(ctx)
}

// errLabLost says that the lease has ended and the service has not;
// errDatabaseLost that the database does not answer, errBrokerLost that the
// embedded broker cannot keep what it is sent.
var (
	errLabLost      = errors.New("the lab is no longer held")
	errDatabaseLost = fmt.Errorf("%w: the database does not answer", errLabLost)
	errBrokerLost   = fmt.Errorf("%w: the disk of the embedded broker is full or broke", errLabLost)
)

// start brings the parts up: state before telemetry, telemetry before pages.
func (l *leader) start(ctx context.Context) (err error) {
	l.metrics.MustRegister(collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	if err := l.judgeBy(ctx); err != nil {
		return err
	}
	if err := l.p.store.EndFutures(ctx, l.lease.Term()); err != nil {
		return err
	}
	if err := l.startWorker(ctx); err != nil {
		return err
	}
	if err := l.moving.Start(ctx); err != nil {
		return err
	}
	if err := l.p.openBroker(ctx); err != nil {
		return err
	}
	if err := l.startIngest(ctx); err != nil {
		return err
	}
	if err := l.startRecords(ctx); err != nil {
		return err
	}
	return l.startSite(ctx)
}

// judgeBy takes in what the lab judges by: its sheets, and the clock on its
// wall, by which texts give times of day.
func (l *leader) judgeBy(ctx context.Context) (err error) {
	l.rules = l.p.cfg.Rules
	if l.rules.Zone == nil {
		if l.rules.Zone, err = Zone(ctx, l.p.store); err != nil {
			return err
		}
	}
	if err := noNewsForNewLabs(ctx, l.p.store); err != nil {
		return err
	}
	l.sheets, err = OpenSheets(ctx, l.p.store, &l.rules, l.p.log)
	return err
}

// trials are the rules that page nobody at first.
func (l *leader) trials() map[string]time.Duration {
	if l.p.cfg.NoTrials {
		return map[string]time.Duration{}
	}
	if l.rules.Data == nil {
		return rules.Builtin().Trials()
	}
	return l.rules.Data.Trials()
}

func (l *leader) startWorker(ctx context.Context) (err error) {
	l.worker, err = watch.New(watch.Config{
		Store:     l.p.store,
		NewEngine: func() watch.Engine { return timeline.NewEngine(l.rules) },
		Term:      l.lease.Term(),
		Program:   l.p.program(),
		Clock:     l.p.cfg.Clock,
		Wake:      l.p.store.Wake(),
		Log:       l.p.log,
		Publish:   l.publish,
		ClockSet:  l.clockSet,
		Refolding: l.refolding,
		Trials:    l.trials(),
		Connected: func() bool { in := l.ingest.Load(); return in != nil && in.CaughtUp() },
	})
	if err != nil {
		return err
	}
	if err := l.worker.Start(ctx); err != nil {
		return err
	}
	look := time.NewTicker(5 * time.Millisecond)
	defer look.Stop()
	for !l.worker.Rebuilt() {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-l.lease.Lost():
			return errDatabaseLost
		case <-l.worker.Done():
			return l.workerEnded()
		case <-look.C:
		}
	}
	return nil
}

// refolding tells who asks during the start after an update how far it is.
func (l *leader) refolding(units, percent int) {
	if !l.worker.Rebuilt() {
		l.p.listener.Waiting(fmt.Sprintf("starting after an update: %s folded again from the telemetry, %d %% is done", lab.Counted(int64(units), "unit is", "units are"), percent))
	}
}

func (l *leader) workerEnded() error {
	if err := l.worker.Err(); err != nil {
		return fmt.Errorf("%w: %w", errLabLost, err)
	}
	return errLabLost
}

func (l *leader) publish(units []lab.Unit, changed []lab.Alert) {
	if pages := l.pages.Load(); pages != nil && len(changed) > 0 {
		pages.Wake()
	}
	site := l.site.Load()
	if site == nil {
		return
	}
	if len(units) > 0 {
		site.PublishUnits(units)
	}
	if len(changed) > 0 {
		site.PublishAlerts(changed)
	}
}

func (l *leader) startIngest(ctx context.Context) error {
	cfg := ingest.Config{
		Broker: l.p.cfg.Broker, Store: l.p.store, Term: l.lease.Term(), Sure: l.lease.Sure, Clock: l.p.cfg.Clock,
		Log: l.p.log, Metrics: l.metrics, OnConnected: func(bool) {},
	}
	if b := l.p.broker; b != nil {
		cfg.Broker, cfg.ClientID, cfg.Embedded = b.MonitorURL(), b.ClientID(), true
		cfg.OnConnected = func(subscribed bool) {
			if subscribed {
				b.AllowUnits()
			}
		}
	}
	if l.p.broker == nil {
		if err := l.outsideBroker(ctx, &cfg); err != nil {
			return err
		}
	}
	in, err := ingest.New(cfg)
	if err != nil {
		return err
	}
	l.ingest.Store(in)
	l.p.ingest.Store(in)
	return in.Start(context.WithoutCancel(ctx)) // stop ends it, when the last batch is written
}

// wait blocks until ctx ends (nil) or the leader cannot go on.
func (l *leader) wait(ctx context.Context) error {
	select {
	case <-ctx.Done():
		return nil
	case <-l.lease.Lost():
		return errDatabaseLost
	case <-l.p.brokerFailed():
		return errBrokerLost
	case <-l.worker.Done():
		return l.workerEnded()
	case <-l.pages.Load().Done():
		return errors.Join(errLabLost, l.pages.Load().Err())
	case <-l.p.listener.Done():
		if err := l.p.listener.Err(); err != nil {
			return fmt.Errorf("%w: %w", errListener, err)
		}
		return nil
	}
}

// stop ends the parts, the last first.
func (l *leader) stop() {
	l.moving.Stop()
	if site := l.site.Load(); site != nil {
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		if err := site.Stop(ctx); err != nil {
			l.p.log.Warn("not every request was finished", "error", err)
		}
		cancel()
	}
	if in := l.ingest.Load(); in != nil {
		in.Stop()
	}
	if pages := l.pages.Load(); pages != nil {
		pages.close()
	}
	if l.records != nil {
		l.records.Stop()
	}
	if l.worker != nil {
		l.worker.Stop()
	}
}
