package main

import (
	"context"
	"crypto/rand"
	"crypto/x509"
	"encoding/json"
	"fmt"
	"net/mail"
	"net/url"
	"os"
	"strings"
	"sync/atomic"
	"time"

	"wetside/alerts"
	"wetside/alerts/delivery"
	"wetside/alerts/notify"
	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/web"
)

// pagingFlags are those of serve about the ways to people.
type pagingFlags struct {
	Address          string        `env:"WETSIDE_ADDRESS" placeholder:"URL" help:"Where phones reach the board, such as https://board.example: for the links in pages. The on-call plan may say otherwise."`
	TLSCert          string        `name:"tls-cert" env:"WETSIDE_TLS_CERT" placeholder:"FILE" help:"Certificate (PEM) for HTTPS; \"wetside certificate\" makes one. Pages to a phone's browser need HTTPS."`
	TLSKey           string        `name:"tls-key" env:"WETSIDE_TLS_KEY" placeholder:"FILE" help:"Key (PEM) of the certificate."`
	MailServer       string        `env:"WETSIDE_MAIL_SERVER" placeholder:"HOST:PORT" help:"SMTP server for pages by mail."`
	MailTLS          string        `name:"mail-tls" env:"WETSIDE_MAIL_TLS" enum:"starttls,implicit,none" default:"starttls" help:"starttls, implicit (TLS from the first byte), or none (to this machine only). Default: ${default}"`
	MailUser         string        `env:"WETSIDE_MAIL_USER" placeholder:"NAME" help:"Name to sign in to the mail server with."`
	MailPasswordFile string        `env:"WETSIDE_MAIL_PASSWORD_FILE" placeholder:"FILE" help:"File with the password; or set WETSIDE_MAIL_PASSWORD."`
	MailFrom         string        `env:"WETSIDE_MAIL_FROM" placeholder:"ADDRESS" help:"Sender of the mail, such as wetside@lab.example."`
	MailCA           string        `name:"mail-ca" env:"WETSIDE_MAIL_CA" placeholder:"FILE" help:"Certificates (PEM) that the mail server's is checked against, in place of the system's."`
	PushContact      string        `env:"WETSIDE_PUSH_CONTACT" placeholder:"ADDRESS" help:"Mail or https address by which a push service reaches the lab. Default: the mail sender or --address."`
	Heartbeat        string        `env:"WETSIDE_HEARTBEAT" placeholder:"URL" help:"Where a heartbeat is posted at the end of each whole working loop. Let something that shares no machine with wetside notice when it stays away."`
	HeartbeatEvery   time.Duration `env:"WETSIDE_HEARTBEAT_EVERY" default:"1m" placeholder:"TIME" help:"How often. Default: ${default}"`
	HeartbeatSecret  string        `env:"WETSIDE_HEARTBEAT_SECRET" placeholder:"KEY" help:"Key (whsec_...) that signs heartbeats as Standard Webhooks 1.0.0 says."`
}

// pagingConfig is what the flags come to.
type pagingConfig struct {
	Address         string
	TLSCert, TLSKey string
	Mail            notify.MailConfig
	PushContact     string
	Heartbeat       string
	HeartbeatEvery  time.Duration
	HeartbeatSecret string
}

// config checks the flags.
func (f pagingFlags) config() (pagingConfig, error) {
	c := pagingConfig{
		Address: f.Address, TLSCert: f.TLSCert, TLSKey: f.TLSKey, PushContact: f.PushContact,
		Heartbeat: f.Heartbeat, HeartbeatEvery: f.HeartbeatEvery, HeartbeatSecret: f.HeartbeatSecret,
		Mail: notify.MailConfig{Server: f.MailServer, TLS: f.MailTLS, User: f.MailUser, From: f.MailFrom, Password: os.Getenv("WETSIDE_MAIL_PASSWORD")},
	}
	if f.Address != "" {
		if u, err := url.Parse(f.Address); err != nil || u.Host == "" || u.Scheme != "https" && u.Scheme != "http" || strings.Trim(u.Path, "/") != "" {
			return c, usagef("--address %q is not scheme and host, such as https://board.example", f.Address)
		}
	}
	if (f.TLSCert == "") != (f.TLSKey == "") {
		return c, usagef("--tls-cert and --tls-key go together; \"wetside certificate\" makes both")
	}
	if f.MailPasswordFile != "" {
		b, err := os.ReadFile(f.MailPasswordFile)
		if err != nil {
			return c, fmt.Errorf("--mail-password-file: %w", err)
		}
		c.Mail.Password = strings.TrimRight(string(b), "\r\n")
	}
	if f.MailCA != "" {
		b, err := os.ReadFile(f.MailCA)
		if err != nil {
			return c, fmt.Errorf("--mail-ca: %w", err)
		}
		c.Mail.Roots = x509.NewCertPool()
		if !c.Mail.Roots.AppendCertsFromPEM(b) {
			return c, usagef("--mail-ca %s holds no certificate in PEM", f.MailCA)
		}
	}
	if _, err := notify.NewMail(c.Mail); err != nil {
		return c, usageError{err}
	}
	if f.Heartbeat != "" {
		if err := notify.CheckWebhook(f.Heartbeat); err != nil {
			return c, usagef("--heartbeat %q is not an address such as https://watcher.example/path", f.Heartbeat)
		}
		if f.HeartbeatEvery < time.Second {
			return c, usagef("--heartbeat-every must be 1s or more; got %s", f.HeartbeatEvery)
		}
	}
	if f.HeartbeatSecret != "" {
		if err := notify.CheckSecret(f.HeartbeatSecret); err != nil {
			return c, usagef("--heartbeat-secret: %v", err)
		}
	}
	return c, nil
}

// paging is what brings pages to people, in one term.
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
func (p *program) pushOff() string {
	if p.cfg.Paging.TLSCert != "" || strings.HasPrefix(p.cfg.Paging.Address, "https://") {
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
func (p *program) address() string {
	switch {
	case p.cfg.Paging.Address != "":
		return p.cfg.Paging.Address
	case len(p.cfg.Origins) > 0:
		return p.cfg.Origins[0]
	}
	return p.URL()
}

// startPaging begins to bring pages to people.
func (t *term) startPaging(ctx context.Context, actions *alerts.Actions) error {
	cfg, store := t.p.cfg.Paging, t.p.store
	key, err := pageKey(ctx, store)
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
	units := labUnits(store)(ctx)
	t.units.Store(&units)
	p := &paging{webhook: notify.NewWebhook(nil)}
	p.push = notify.NewPush(notify.PushConfig{Keys: vapid, Contact: t.p.pushContact(), Off: t.p.pushOff()})
	c := delivery.Config{
		Store: store, Term: t.lease.Term(), Key: key, Address: t.p.address(), Log: t.p.log, Clock: t.p.cfg.Clock, Actions: actions,
		Ways:        map[string]delivery.Way{lab.WayWebhook: p.webhook, lab.WayPush: p.push},
		Unavailable: map[string]string{lab.WayPush: t.p.pushOff()},
		Busy:        t.filmRuns,
		Film:        t.filmAt,
		Units:       func() lab.Units { return *t.units.Load() },
		Publish:     func(changed []lab.Alert) { t.publish(nil, changed) },
		Beside:      t.ownFaults,
	}
	if mailer != nil {
		c.Ways[lab.WayMail] = mailer
	} else {
		c.Unavailable[lab.WayMail] = "mail is not set up; start wetside with --mail-server"
	}
	if cfg.Heartbeat != "" {
		c.Heartbeat = delivery.HeartbeatConfig{Every: cfg.HeartbeatEvery, Ages: func() delivery.Ages { return t.ages(p) },
			Post: func(ctx context.Context, id string, body []byte) error {
				return p.webhook.Post(ctx, cfg.Heartbeat, cfg.HeartbeatSecret, id, body)
			}}
	}
	if p.Worker, err = delivery.New(c); err != nil {
		return err
	}
	p.roster = p.NewRoster(p.push.Key)
	p.heard.Store(t.p.now().UnixNano())
	t.pages.Store(p)
	return p.Start(ctx)
}

func (p *program) pushContact() string {
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
func (t *term) filmRuns() bool {
	for _, u := range t.worker.Units() {
		if u.Run != nil && u.Run.Kind == "film" && (u.Activity == lab.ActivityRunning || u.Activity == lab.ActivityWaiting) {
			return true
		}
	}
	return false
}

// filmAt says where the film of a unit is, as far as was heard.
func (t *term) filmAt(unit string) lab.FilmAt {
	id, err := lab.ParseUnitID(unit)
	if err != nil {
		return lab.FilmAt{}
	}
	u, _ := t.worker.Unit(id)
	return lab.FilmOf(u)
}

// ages tells how long ago telemetry in and the rules showed that they work.
func (t *term) ages(p *paging) delivery.Ages {
	now := t.p.now()
	if in := t.ingest.Load(); in != nil && in.Connected() {
		p.heard.Store(now.UnixNano())
	}
	return delivery.Ages{
		Ingest: now.Sub(time.Unix(0, p.heard.Load())),
		Rules:  max(0, now.Sub(t.worker.Looped())),
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

// The lab's settings that hold the secrets of paging.
const (
	settingPageKey = "page-link-key"
	settingVAPID   = "push-vapid"
)

// pageKey gives the key that signs the links in pages; it is made once.
func pageKey(ctx context.Context, store *postgres.Store) ([]byte, error) {
	key, err := store.Setting(ctx, settingPageKey)
	if err == nil || lab.KindOf(err) != lab.KindNotFound {
		return key, err
	}
	key = make([]byte, 32)
	rand.Read(key)
	return key, store.SetSetting(ctx, settingPageKey, key)
}

// vapidKeys gives the key pair by which push services know this lab; it is
// made once.
func vapidKeys(ctx context.Context, store *postgres.Store) (v notify.VAPID, err error) {
	b, err := store.Setting(ctx, settingVAPID)
	if err == nil {
		return v, json.Unmarshal(b, &v)
	}
	if lab.KindOf(err) != lab.KindNotFound {
		return v, err
	}
	if v, err = notify.NewVAPID(); err != nil {
		return v, err
	}
	if b, err = json.Marshal(v); err != nil {
		return v, err
	}
	return v, store.SetSetting(ctx, settingVAPID, b)
}
