package monitor

import (
	"context"
	"net/mail"
	"strings"
	"sync/atomic"
	"time"

	"wetside/alerts"
	"wetside/alerts/delivery"
	"wetside/alerts/notify"
	"wetside/internal/lab"
	"wetside/web"
)

// paging is what brings pages to people, for as long as this process leads.
type paging struct {
	*delivery.Worker
	roster  *delivery.Roster
	webhook *notify.Webhook
	push    *notify.Push
	heard   atomic.Int64 // when ingest was last seen connected, in ns
}

// close ends it all.
func (p *paging) close() {
	p.Stop()
	p.webhook.Close()
	p.push.Close()
}

// pushOff says why pages cannot go to a phone's browser; empty where they can.
func (p *Program) pushOff() string {
	if p.cfg.TLSCert != "" || strings.HasPrefix(p.cfg.Address, "https://") {
		return ""
	}
	for _, o := range p.cfg.Origins {
		if strings.HasPrefix(o, "https://") {
			return ""
		}
	}
	return "browsers take pages over HTTPS only; start wetside with --tls-cert and --tls-key (\"wetside certificate\" makes them)"
}

// address is where the board is, as far as this machine knows.
func (p *Program) address() string {
	switch {
	case p.cfg.Address != "":
		return p.cfg.Address
	case len(p.cfg.Origins) > 0:
		return p.cfg.Origins[0]
	}
	return p.URL()
}

// startPaging begins to bring pages to people.
func (l *leader) startPaging(ctx context.Context, actions *alerts.Actions) error {
	cfg, store := l.p.cfg.Paging, l.p.store
	key, err := pageLinkKey(ctx, store)
	if err != nil {
		return err
	}
	vapid, err := vapidKeys(ctx, store)
	if err != nil {
		return err
	}
	mailer, err := notify.NewMail(cfg.Mail)
	if err != nil {
		return err
	}
	units := Units(store)(ctx)
	l.units.Store(&units)
	p := &paging{webhook: notify.NewWebhook(nil)}
	p.push = notify.NewPush(notify.PushConfig{Keys: vapid, Contact: l.p.pushContact(), Off: l.p.pushOff()})
	c := delivery.Config{
		Store: store, Term: l.lease.Term(), Sure: l.lease.Sure, Key: key, Address: l.p.address(), Log: l.p.log, Clock: l.p.cfg.Clock, Actions: actions,
		Methods:     map[string]delivery.Method{lab.MethodWebhook: p.webhook, lab.MethodPush: p.push},
		Unavailable: map[string]string{lab.MethodPush: l.p.pushOff()},
		Busy:        l.filmRuns,
		Film:        l.filmAt,
		Units:       func() lab.Units { return *l.units.Load() },
		Publish:     func(changed []lab.Alert) { l.publish(nil, changed) },
		Beside:      l.ownFaults,
	}
	if mailer != nil {
		c.Methods[lab.MethodMail] = mailer
	} else {
		c.Unavailable[lab.MethodMail] = "mail is not set up; start wetside with --mail-server"
	}
	if cfg.Heartbeat != "" {
		c.Heartbeat = delivery.HeartbeatConfig{Every: cfg.HeartbeatEvery, Ages: func() delivery.Ages { return l.ages(p) },
			Post: func(ctx context.Context, id string, body []byte) error {
				return p.webhook.Post(ctx, cfg.Heartbeat, cfg.HeartbeatSecret, id, body)
			}}
	}
	if p.Worker, err = delivery.New(c); err != nil {
		return err
	}
	p.roster = p.NewRoster(p.push.Key)
	p.heard.Store(l.p.now().UnixNano())
	l.pages.Store(p)
	return p.Start(ctx)
}

func (p *Program) pushContact() string {
	cfg := p.cfg.Paging
	if cfg.PushContact != "" {
		return cfg.PushContact
	}
	if from, err := mail.ParseAddress(cfg.Mail.From); err == nil {
		return from.Address
	}
	if a := p.address(); strings.HasPrefix(a, "https://") {
		return a
	}
	return ""
}

// filmRuns tells whether a unit has customers' film in it.
func (l *leader) filmRuns() bool {
	for _, u := range l.worker.Units() {
		if u.Run != nil && u.Run.Kind == "film" && (u.Activity == lab.ActivityRunning || u.Activity == lab.ActivityWaiting) {
			return true
		}
	}
	return false
}

// filmAt says where the film of a unit is, as far as was heard.
func (l *leader) filmAt(unit string) lab.FilmAt {
	id, err := lab.ParseUnitID(unit)
	if err != nil {
		return lab.FilmAt{}
	}
	u, _ := l.worker.Unit(id)
	return lab.FilmOf(u)
}

// ages tells how long ago telemetry in and the rules showed that they work.
func (l *leader) ages(p *paging) delivery.Ages {
	now := l.p.now()
	if in := l.ingest.Load(); in != nil && in.Connected() {
		p.heard.Store(now.UnixNano())
	}
	return delivery.Ages{
		Ingest: now.Sub(time.Unix(0, p.heard.Load())),
		Rules:  max(0, now.Sub(l.worker.Looped())),
	}
}

// pagingActions lets an acknowledgement on the board end the calls, also where
// the alert had been acknowledged before it became more pressing.
type pagingActions struct {
	*alerts.Actions
	pages *paging
}

// Acknowledge implements web.AlertActions.
func (d pagingActions) Acknowledge(ctx context.Context, id, by, note string) (lab.Alert, error) {
	a, err := d.Actions.Acknowledge(ctx, id, by, note)
	if err == nil {
		err = d.pages.Answered(ctx, a.ID, a.Occurrence, by)
	}
	return a, err
}

var _ web.AlertActions = pagingActions{}
