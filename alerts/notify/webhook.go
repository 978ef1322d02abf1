package notify

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"wetside/internal/lab"
)

// secretPrefix begins a key of Standard Webhooks; base64 follows.
const secretPrefix = "whsec_"

// maxBody is the most a webhook's body may be, by Standard Webhooks.
const maxBody = 20_000

// NewSecret makes a key for a webhook.
func NewSecret() string {
	b := make([]byte, 32)
	rand.Read(b)
	return secretPrefix + base64.StdEncoding.EncodeToString(b)
}

// CheckSecret says what is wrong with a webhook's key.
func CheckSecret(s string) error {
	_, err := secretKey(s)
	return err
}

func secretKey(s string) ([]byte, error) {
	b64, ok := strings.CutPrefix(s, secretPrefix)
	key, err := base64.StdEncoding.DecodeString(b64)
	if !ok || err != nil || len(key) < 24 || len(key) > 64 {
		return nil, lab.Errorf(lab.KindInvalid, "the webhook's key must be whsec_ and 24 to 64 bytes in base64")
	}
	return key, nil
}

// Sign gives the signature header of a webhook.
func Sign(secret, id string, at time.Time, body []byte) (string, error) {
	key, err := secretKey(secret)
	if err != nil {
		return "", err
	}
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte(id + "." + strconv.FormatInt(at.Unix(), 10) + "."))
	mac.Write(body)
	return "v1," + base64.StdEncoding.EncodeToString(mac.Sum(nil)), nil
}

// CheckWebhook says what is wrong with a webhook's address.
func CheckWebhook(address string) error {
	u, err := url.Parse(address)
	if err != nil || u.Host == "" || u.Scheme != "https" && u.Scheme != "http" || u.User != nil || len(address) > 2000 {
		return lab.Errorf(lab.KindInvalid, "the webhook's address must be https://host/path, or http:// inside the lab")
	}
	if err := checkHost(u.Hostname()); err != nil {
		return lab.Errorf(lab.KindInvalid, "the webhook's address: %v", err)
	}
	return nil
}

// Webhook posts signed messages. Make it with NewWebhook.
type Webhook struct {
	client *http.Client
	clock  lab.Clock
}

// NewWebhook makes a Webhook. A nil clock is the system's.
func NewWebhook(clock lab.Clock) *Webhook {
	if clock == nil {
		clock = lab.SystemClock{}
	}
	return &Webhook{client: newClient(newTransport(newDialer())), clock: clock}
}

// Close gives idle connections back.
func (w *Webhook) Close() { w.client.CloseIdleConnections() }

// hook is the body of a webhook.
type hook struct {
	Type      string   `json:"type"`
	Timestamp lab.Time `json:"timestamp"`
	Data      hookData `json:"data"`
}

type hookData struct {
	Person   string       `json:"person"`
	Priority lab.Priority `json:"priority"`
	lab.PageBody
}

// Send posts a page.
func (w *Webhook) Send(ctx context.Context, c lab.Contacts, m lab.PageMessage) error {
	body, err := hookBody(m)
	if err != nil {
		return err
	}
	return w.Post(ctx, c.Webhook, c.Secret, m.ID, body)
}

// hookBody writes a page, with as many of its alerts as there is room for.
func hookBody(m lab.PageMessage) ([]byte, error) {
	kind := "page"
	if m.Body.Test {
		kind = "page.test"
	}
	h := hook{Type: kind, Timestamp: lab.At(m.CreatedAt), Data: hookData{m.Person, m.Priority, m.Body}}
	for {
		body, err := json.Marshal(h)
		if err != nil {
			return nil, failed("write the webhook: %w", err)
		}
		if len(body) < maxBody {
			return body, nil
		}
		n := len(h.Data.Items)
		if n == 0 {
			return nil, failed("the webhook's body must be under %[2]d bytes; got %[1]d", len(body), maxBody)
		}
		h.Data.Items = h.Data.Items[:n/2]
		h.Data.More += n - n/2
	}
}

// Post posts a body, signed where there is a secret. Only 2xx is success.
func (w *Webhook) Post(ctx context.Context, address, secret, id string, body []byte) error {
	ctx, cancel := context.WithTimeout(ctx, Timeout)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, address, bytes.NewReader(body))
	if err != nil {
		return failed("the webhook's address cannot be used")
	}
	now := w.clock.Now()
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("User-Agent", "wetside")
	req.Header.Set("Webhook-Id", id)
	req.Header.Set("Webhook-Timestamp", strconv.FormatInt(now.Unix(), 10))
	if secret != "" {
		signature, err := Sign(secret, id, now, body)
		if err != nil {
			return failed("%w", err)
		}
		req.Header.Set("Webhook-Signature", signature)
	}
	resp, err := w.client.Do(req)
	if err != nil {
		return failed("the webhook at %s: %s", req.URL.Host, plain(ctx, err))
	}
	defer resp.Body.Close()
	_, _ = io.CopyN(io.Discard, resp.Body, 64<<10) // so that the connection can be used again
	switch {
	case resp.StatusCode >= 200 && resp.StatusCode < 300:
		return nil
	case resp.StatusCode == http.StatusGone:
		return &Error{Outcome: lab.OutcomeGone, Text: "the webhook at " + req.URL.Host + " answered 410: it is switched off"}
	}
	e := failed("the webhook at %s answered %s; only 2xx is success", req.URL.Host, resp.Status)
	e.After = retryAfter(resp.Header, now)
	return e
}
