package main

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"wetside/alerts"
	"wetside/alerts/performance"
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

// term is the service while it holds the lab: worker, ingest and site. The
// parts know of each other only after they were made, hence the pointers.
type term struct {
	p       *program
	lease   *postgres.Lease
	worker  *watch.Worker
	rules   rules.Config // with the lab's own sheets and clock
	sheets  *sheetShelf
	records *records.Worker
	reports *records.Reports
	ingest  atomic.Pointer[ingest.Service]
	site    atomic.Pointer[web.Server]
	pages   atomic.Pointer[paging]
	metrics *prometheus.Registry

	units      atomic.Pointer[lab.Units] // the lab's units of measure, as pages are written in
	brokerAway away

	clockBy    atomic.Int64  // by how much the machine's clock was set and nothing was moved yet
	clockMoved chan struct{} // coalesces
	moving     *service.Runner
}

// serveTerm holds the lab and serves it. It gives true when there is something
// to come back to: the lab was lost to another wetside, or the database went
// away or failed. Then the service stands by and tries again.
func (p *program) serveTerm(ctx context.Context) (again bool, err error) {
	if p.lostAt.IsZero() {
		p.front.waiting("standing by: asking the database for the lab")
	}
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
func (p *program) watchLab(ctx context.Context, lease *postgres.Lease) (err error) {
	defer lease.Release()
	p.lostAt = time.Time{}
	p.front.waiting("starting: the state is being rebuilt from the database")
	t := &term{p: p, lease: lease, metrics: prometheus.NewRegistry(), clockMoved: make(chan struct{}, 1)}
	t.moving = service.NewRunner(func(ctx context.Context) error { t.moveDue(ctx); return nil })
	defer t.stop()
	defer func() {
		p.front.waiting("wetside is stopping")
		if errors.Is(err, errDatabaseLost) {
			p.databaseLost()
		}
	}()
	if err := t.start(ctx); err != nil {
		return err
	}
	p.zone.Store(t.rules.Zone)
	p.upOnce.Do(func() { close(p.up) })
	p.log.Info("watching", "url", p.URL(), "term", lease.Term())
	p.pause, p.lastPages = firstStandby, t.pages.Load()
	p.callBack(ctx)
	return t.wait(ctx)
}

// errLabLost says that the term has ended while the service is not, and
// errDatabaseLost that it is because the database does not answer.
var (
	errLabLost      = errors.New("the lab is no longer held")
	errDatabaseLost = fmt.Errorf("%w: the database does not answer", errLabLost)
	errBrokerLost   = fmt.Errorf("%w: the disk of the embedded broker is full or broke", errLabLost)
)

// start brings the parts up: state before telemetry, telemetry before pages.
func (t *term) start(ctx context.Context) (err error) {
	t.metrics.MustRegister(collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	if err := t.judgeBy(ctx); err != nil {
		return err
	}
	if err := t.p.store.EndFutures(ctx, t.lease.Term()); err != nil {
		return err
	}
	if err := t.startWorker(ctx); err != nil {
		return err
	}
	if err := t.moving.Start(ctx); err != nil {
		return err
	}
	if err := t.p.openBroker(ctx); err != nil {
		return err
	}
	if err := t.startIngest(ctx); err != nil {
		return err
	}
	if err := t.startRecords(ctx); err != nil {
		return err
	}
	return t.startSite(ctx)
}

// judgeBy takes in what the lab judges by: its sheets, and the clock on its
// wall, by which texts give times of day.
func (t *term) judgeBy(ctx context.Context) (err error) {
	t.rules = t.p.cfg.Rules
	if t.rules.Zone == nil {
		if t.rules.Zone, err = labZone(ctx, t.p.store); err != nil {
			return err
		}
	}
	if err := noNewsForNewLabs(ctx, t.p.store); err != nil {
		return err
	}
	t.sheets, err = labSheets(ctx, t.p.store, &t.rules, t.p.log)
	return err
}

// trials are the rules that page nobody at first.
func (t *term) trials() map[string]time.Duration {
	if t.p.cfg.NoTrials {
		return map[string]time.Duration{}
	}
	if t.rules.Data == nil {
		return rules.Builtin().Trials()
	}
	return t.rules.Data.Trials()
}

func (t *term) startWorker(ctx context.Context) (err error) {
	t.worker, err = watch.New(watch.Config{
		Store:     t.p.store,
		NewEngine: func() watch.Engine { return timeline.NewEngine(t.rules) },
		Term:      t.lease.Term(),
		Program:   programName(),
		Clock:     t.p.cfg.Clock,
		Wake:      t.p.store.Wake(),
		Log:       t.p.log,
		Publish:   t.publish,
		ClockSet:  t.clockSet,
		Trials:    t.trials(),
		Connected: func() bool { in := t.ingest.Load(); return in != nil && in.CaughtUp() },
	})
	if err != nil {
		return err
	}
	if err := t.worker.Start(ctx); err != nil {
		return err
	}
	look := time.NewTicker(5 * time.Millisecond)
	defer look.Stop()
	for !t.worker.Rebuilt() {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-t.lease.Lost():
			return errDatabaseLost
		case <-t.worker.Done():
			return t.workerEnded()
		case <-look.C:
		}
	}
	return nil
}

func (t *term) workerEnded() error {
	if err := t.worker.Err(); err != nil {
		return fmt.Errorf("%w: %w", errLabLost, err)
	}
	return errLabLost
}

func (t *term) publish(units []lab.Unit, changed []lab.Alert) {
	if pages := t.pages.Load(); pages != nil && len(changed) > 0 {
		pages.Wake()
	}
	site := t.site.Load()
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

func (t *term) startIngest(ctx context.Context) error {
	cfg := ingest.Config{
		Broker: t.p.cfg.Broker, Store: t.p.store, Term: t.lease.Term(), Clock: t.p.cfg.Clock,
		Log: t.p.log, Metrics: t.metrics, OnConnected: func(bool) {},
	}
	if b := t.p.broker; b != nil {
		cfg.Broker, cfg.ClientID, cfg.Door = b.MonitorURL(), b.ClientID(), true
		cfg.OnConnected = func(subscribed bool) {
			if subscribed {
				b.AllowUnits()
			}
		}
	}
	if t.p.broker == nil {
		if err := t.outsideBroker(ctx, &cfg); err != nil {
			return err
		}
	}
	in, err := ingest.New(cfg)
	if err != nil {
		return err
	}
	t.ingest.Store(in)
	t.p.ingest.Store(in)
	return in.Start(context.WithoutCancel(ctx)) // stop ends it, when the last batch is written
}

func (t *term) startSite(ctx context.Context) error {
	actions := alerts.NewActions(alerts.ActionsConfig{Store: t.p.store, Clock: t.p.cfg.Clock, Changed: func(a lab.Alert) {
		t.publish(nil, []lab.Alert{a})
		t.worker.Nudge(a.ID)
	}})
	if err := t.startPaging(ctx, actions); err != nil {
		return err
	}
	pages := t.pages.Load()
	key, err := pageKey(ctx, t.p.store)
	if err != nil {
		return err
	}
	var keys web.UnitKeys
	if t.p.cfg.Broker == embedded {
		keys = unitKeyring{t.p.store}
	}
	site, err := web.New(web.Config{
		Keys: keys, Proxies: t.p.cfg.Proxies, Key: webKey(key),
		Store: siteStore{t.p.store, t.worker, &t.units}, Live: t.worker, Actions: pagingActions{actions, pages}, Duty: pages.roster, Links: pages, Sessions: t.p.store.Sessions(),
		Ready: t.ready, Metrics: promhttp.HandlerFor(t.metrics, promhttp.HandlerOpts{}), Registerer: t.metrics,
		Sheets: t.sheets, RuleFigures: ruleFigures(t.rules.Data), Symptoms: symptoms, ExampleRun: exampleRun, Reach: t.p.reach, Silent: t.notReceiving,
		Origins: t.p.cfg.Origins, Version: version(), Log: t.p.log, Clock: t.p.cfg.Clock, Reports: t.reports,
	})
	if err != nil {
		return err
	}
	t.site.Store(site)
	if err := site.Start(ctx); err != nil {
		return err
	}
	t.p.front.show(site.Handler())
	if code := site.SetupCode(ctx); code != "" {
		t.p.log.Warn("nobody has set a password yet: open the address, once, and make the first lead",
			"url", t.p.URL()+"/#/set-up?code="+code, "code", code)
	}
	return nil
}

// siteStore is the store as the pages use it: the worker hears of settings
// that a person changed.
type siteStore struct {
	*postgres.Store
	worker *watch.Worker
	units  *atomic.Pointer[lab.Units]
}

func (s siteStore) SetUnit(ctx context.Context, u lab.UnitSetting, by string) error {
	err := s.Store.SetUnit(ctx, u, by)
	if err == nil {
		s.worker.Nudge("")
	}
	return err
}

func (s siteStore) SetLabSettings(ctx context.Context, h lab.LabSettings, by string) error {
	err := s.Store.SetLabSettings(ctx, h, by)
	if err == nil {
		u := h.ReadIn()
		s.units.Store(&u)
		s.worker.Nudge("")
	}
	return err
}

// AlertFigures counts how the alerting of a period did.
func (s siteStore) AlertFigures(ctx context.Context, from, to time.Time) (lab.AlertFigures, error) {
	alerts, err := s.Store.AlertsFor(ctx, from, to)
	if err != nil {
		return lab.AlertFigures{}, err
	}
	pages, err := s.Store.SentPages(ctx, from, to)
	if err != nil {
		return lab.AlertFigures{}, err
	}
	return performance.Count(from, to, alerts, pages), nil
}

// readyWithin is how long the database has to show that it answers.
const readyWithin = 5 * time.Second

// ready is nil where the service does its whole work; otherwise it says what
// is missing.
func (t *term) ready(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, readyWithin)
	defer cancel()
	if err := t.p.store.Ready(ctx); err != nil {
		return err
	}
	if !t.worker.Rebuilt() {
		return lab.Errorf(lab.KindUnavailable, "the state is being rebuilt from the database")
	}
	if in := t.ingest.Load(); in == nil || !in.Connected() {
		return lab.Errorf(lab.KindUnavailable, "the broker session is not subscribed; see the log for why")
	}
	now := t.p.now()
	if since, why := t.worker.Still(now); !since.IsZero() && now.Sub(since) >= rulesStill {
		return lab.Errorf(lab.KindUnavailable, "the rules stand still since %s%s", lab.At(since), because(why))
	}
	return nil
}

// notReceiving tells since when nothing is received from any unit; zero where
// telemetry comes in.
func (t *term) notReceiving() time.Time {
	in := t.ingest.Load()
	return t.brokerAway.note(in != nil && in.Connected(), t.p.now())
}

// wait blocks until ctx ends (nil) or the term has ended.
func (t *term) wait(ctx context.Context) error {
	select {
	case <-ctx.Done():
		return nil
	case <-t.lease.Lost():
		return errDatabaseLost
	case <-t.p.brokerFailed():
		return errBrokerLost
	case <-t.worker.Done():
		return t.workerEnded()
	case <-t.pages.Load().Done():
		return errors.Join(errLabLost, t.pages.Load().Err())
	case err := <-t.p.front.served:
		t.p.front.served <- err // for close
		if errors.Is(err, http.ErrServerClosed) {
			return nil
		}
		return fmt.Errorf("%w: %w", errListener, err)
	}
}

// stop ends the parts, the last first.
func (t *term) stop() {
	t.moving.Stop()
	if site := t.site.Load(); site != nil {
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		if err := site.Stop(ctx); err != nil {
			t.p.log.Warn("not every request was finished", "error", err)
		}
		cancel()
	}
	if in := t.ingest.Load(); in != nil {
		in.Stop()
	}
	if pages := t.pages.Load(); pages != nil {
		pages.close()
	}
	if t.records != nil {
		t.records.Stop()
	}
	if t.worker != nil {
		t.worker.Stop()
	}
}
