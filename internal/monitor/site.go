package monitor

import (
	"context"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus/promhttp"

	"wetside/alerts"
	"wetside/alerts/performance"
	"wetside/internal/lab"
	"wetside/internal/monitor/watch"
	"wetside/internal/postgres"
	"wetside/web"
)

func (l *leader) startSite(ctx context.Context) error {
	actions := alerts.NewActions(alerts.ActionsConfig{Store: l.p.store, Clock: l.p.cfg.Clock, Changed: func(a lab.Alert) {
		l.publish(nil, []lab.Alert{a})
		l.worker.Nudge(a.ID)
	}})
	if err := l.startPaging(ctx, actions); err != nil {
		return err
	}
	pages := l.pages.Load()
	key, err := pageLinkKey(ctx, l.p.store)
	if err != nil {
		return err
	}
	var keys web.UnitKeys
	if l.p.cfg.Broker == Embedded {
		keys = UnitKeys{l.p.store}
	}
	site, err := web.New(web.Config{
		Keys: keys, Proxies: l.p.cfg.Proxies, Key: webKey(key),
		Store: siteStore{l.p.store, l.worker, &l.units}, Live: l.worker, Actions: pagingActions{actions, pages}, Duty: pages.roster, Links: pages, Sessions: l.p.store.Sessions(),
		Ready: l.ready, Metrics: promhttp.HandlerFor(l.metrics, promhttp.HandlerOpts{}), Registerer: l.metrics,
		Sheets: l.sheets, RuleFigures: ruleFigures(l.rules.Data), Symptoms: symptoms, ExampleRun: l.p.cfg.ExampleRun, Reach: l.p.reach, Silent: l.notReceiving,
		Origins: l.p.cfg.Origins, Version: l.p.cfg.Version, Log: l.p.log, Clock: l.p.cfg.Clock, Reports: l.reports,
	})
	if err != nil {
		return err
	}
	l.site.Store(site)
	if err := site.Start(ctx); err != nil {
		return err
	}
	l.p.listener.Show(site.Handler(), marksKey(key))
	if code := site.SetupCode(ctx); code != "" {
		l.p.log.Warn("nobody has set a password yet: open the address, once, and make the first lead",
			"url", l.p.URL()+"/#/set-up?code="+code, "code", code)
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
func (l *leader) ready(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, readyWithin)
	defer cancel()
	if err := l.p.store.Ready(ctx); err != nil {
		return err
	}
	if !l.worker.Rebuilt() {
		return lab.Errorf(lab.KindUnavailable, "the state is being rebuilt from the database")
	}
	if in := l.ingest.Load(); in == nil || !in.Connected() {
		return lab.Errorf(lab.KindUnavailable, "the broker session is not subscribed; see the log for why")
	}
	now := l.p.now()
	if since, why := l.worker.Still(now); !since.IsZero() && now.Sub(since) >= rulesStill {
		return lab.Errorf(lab.KindUnavailable, "the rules stand still since %s%s", lab.At(since), because(why))
	}
	return nil
}

// notReceiving tells since when nothing is received from any unit; zero where
// telemetry comes in.
func (l *leader) notReceiving() time.Time {
	in := l.ingest.Load()
	return l.brokerAway.note(in != nil && in.Connected(), l.p.now())
}
