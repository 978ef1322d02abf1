package notify

import (
	"context"
	"crypto/ecdh"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptrace"
	"net/url"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	webpush "github.com/SherClockHolmes/webpush-go"

	"wetside/internal/lab"
)

// VAPID is the key pair by which push services know this lab (RFC 8292). It is
// made once: a new one ends every subscription.
type VAPID struct {
	Private string `json:"private"`
	Public  string `json:"public"` // applicationServerKey of the browser
}

// NewVAPID makes a key pair.
func NewVAPID() (VAPID, error) {
	private, public, err := webpush.GenerateVAPIDKeys()
	return VAPID{private, public}, err
}

// PushConfig is what push needs.
type PushConfig struct {
	Keys VAPID
	// Contact is how a push service reaches the lab: a mail address or an
	// https address. Required by RFC 8292 in practice.
	Contact string
	// Off says why push is not available; empty: it is.
	Off string
	// Transport carries the requests. Defaults to one of its own.
	Transport *http.Transport
}

// Push sends to the browsers of phones. Make it with NewPush.
type Push struct {
	cfg    PushConfig
	client *http.Client
}

// NewPush makes a Push.
func NewPush(cfg PushConfig) *Push {
	if cfg.Transport == nil {
		d := newDialer()
		d.strict = true
		cfg.Transport = newTransport(d)
	}
	if cfg.Contact == "" {
		cfg.Contact = "wetside@localhost"
	}
	return &Push{cfg: cfg, client: newClient(cfg.Transport)}
}

// Close gives idle connections back.
func (p *Push) Close() { p.client.CloseIdleConnections() }

// Key is what a browser subscribes with, and why it cannot where it is empty.
func (p *Push) Key() (key, why string) {
	if p.cfg.Off != "" {
		return "", p.cfg.Off
	}
	return p.cfg.Keys.Public, ""
}

// CheckSubscription says what is wrong with a subscription of a browser.
func CheckSubscription(s lab.PushSubscription) error {
	u, err := url.Parse(s.Endpoint)
	if err != nil || u.Host == "" || u.Scheme != "https" || u.User != nil || len(s.Endpoint) > 2000 {
		return lab.Errorf(lab.KindInvalid, "endpoint is not an https address of a push service")
	}
	key, err := decode64(s.P256dh)
	if err == nil {
		_, err = ecdh.P256().NewPublicKey(key)
	}
	if err != nil {
		return lab.Errorf(lab.KindInvalid, "keys.p256dh is not a P-256 public key in base64")
	}
	if auth, err := decode64(s.Auth); err != nil || len(auth) != 16 {
		return lab.Errorf(lab.KindInvalid, "keys.auth is not 16 bytes in base64")
	}
	return nil
}

func decode64(s string) ([]byte, error) {
	return base64.RawURLEncoding.DecodeString(strings.NewReplacer("+", "-", "/", "_", "=", "").Replace(s))
}

// notice is what the service worker reads.
type notice struct {
	ID       string       `json:"id"`
	Title    string       `json:"title"`
	Text     string       `json:"text"`
	Link     string       `json:"link,omitempty"`
	Priority lab.Priority `json:"priority"`
	Test     bool         `json:"test,omitempty"`
	Topic    string       `json:"topic,omitempty"` // the next on the same matter takes its place
	Until    int64        `json:"until,omitempty"` // ms since 1970: shown later, it says After
	After    string       `json:"after,omitempty"`
}

// pushRoom is what a push message may hold: 4096 bytes less the header of RFC
// 8188 (86), the tag (16) and the delimiter (1).
const pushRoom = 3990

// The time a push service keeps a message for a phone that is away. After
// that escalation has long gone on.
const (
	ttlUrgent = 10 * time.Minute
	ttlHigh   = time.Hour
)

// Send sends a page to all browsers of a person. It is a success when one of
// them took it.
func (p *Push) Send(ctx context.Context, c lab.Contacts, m lab.PageMessage) error {
	if p.cfg.Off != "" {
		return Unavailable("%s", p.cfg.Off)
	}
	payload, err := noticeOf(m)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, Timeout)
	defer cancel()
	results := make([]*Error, len(c.Push))
	var all sync.WaitGroup // at once: a browser whose service hangs holds up no other
	for i, s := range c.Push {
		// the library writes behind the end of what it is given
		all.Go(func() { results[i] = p.one(ctx, s, m, slices.Clone(payload)) })
	}
	all.Wait()
	var gone []lab.PushSubscription
	var worst *Error
	sent := false
	for i, s := range c.Push {
		e := results[i]
		switch {
		case e == nil:
			sent = true
		case e.Outcome == lab.OutcomeGone:
			gone = append(gone, s)
			if worst == nil {
				worst = e
			}
		default:
			worst = e
		}
	}
	switch {
	case sent && len(gone) == 0:
		return nil
	case sent:
		return &Error{Outcome: lab.OutcomeSent, Text: fmt.Sprintf("%d of %d browsers are gone", len(gone), len(c.Push)), Gone: gone}
	case worst == nil:
		return Unavailable("no browser of %s takes pages", c.Person)
	}
	worst.Gone = gone
	return worst
}

func noticeOf(m lab.PageMessage) ([]byte, error) {
	n := notice{ID: m.ID, Title: m.Body.Title, Text: m.Body.Text, Link: m.Body.Link, Priority: m.Priority, Test: m.Body.Test,
		Topic: m.Body.Topic, After: m.Body.After}
	if !m.Body.Until.IsZero() {
		n.Until = m.Body.Until.UnixMilli()
	}
	for {
		b, err := json.Marshal(n)
		if err != nil {
			return nil, failed("write the push message: %w", err)
		}
		if len(b) <= pushRoom {
			return b, nil
		}
		if n.Text == "" {
			return nil, failed("the push message must be at most %[2]d bytes; got %[1]d", len(b), pushRoom)
		}
		n.Text = strings.ToValidUTF8(n.Text[:len(n.Text)/2], "")
	}
}

func (p *Push) one(ctx context.Context, s lab.PushSubscription, m lab.PageMessage, payload []byte) *Error {
	ttl := ttlHigh
	if m.Priority == lab.Urgent {
		ttl = ttlUrgent
	}
	if left := time.Until(m.Body.Until.Time); !m.Body.Until.IsZero() { // what it orders is not to be read after its time
		ttl = min(ttl, max(left, time.Second))
	}
	var reached atomic.Bool
	ctx = httptrace.WithClientTrace(ctx, &httptrace.ClientTrace{GotConn: func(httptrace.GotConnInfo) { reached.Store(true) }})
	resp, err := webpush.SendNotificationWithContext(ctx, payload,
		&webpush.Subscription{Endpoint: s.Endpoint, Keys: webpush.Keys{P256dh: s.P256dh, Auth: s.Auth}},
		&webpush.Options{
			HTTPClient: p.client, Subscriber: strings.TrimPrefix(p.cfg.Contact, "mailto:"), Topic: m.Body.Topic, TTL: int(ttl.Seconds()),
			Urgency: webpush.UrgencyHigh, VAPIDPublicKey: p.cfg.Keys.Public, VAPIDPrivateKey: p.cfg.Keys.Private,
		})
	host := "the push service"
	if u, err := url.Parse(s.Endpoint); err == nil {
		host += " " + u.Host
	}
	if err != nil && !reached.Load() {
		return Unavailable("%s cannot be reached; is there internet?", host)
	}
	if err != nil {
		return failed("%s: %s", host, plain(ctx, err))
	}
	defer resp.Body.Close()
	_, _ = io.CopyN(io.Discard, resp.Body, 64<<10)
	switch {
	case resp.StatusCode >= 200 && resp.StatusCode < 300:
		return nil
	case resp.StatusCode == http.StatusNotFound || resp.StatusCode == http.StatusGone:
		return &Error{Outcome: lab.OutcomeGone, Text: fmt.Sprintf("%s says that %s is gone", host, deviceOf(s))}
	}
	e := failed("%s answered %s", host, resp.Status)
	e.After = retryAfter(resp.Header, time.Now())
	return e
}

func deviceOf(s lab.PushSubscription) string {
	if s.Device == "" {
		return "this browser"
	}
	return s.Device
}
