package notify

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// The example of the Standard Webhooks project: its reference libraries'
// TestWebhookSign (standard-webhooks/standard-webhooks, libraries/go).
func TestSignatureOfTheStandard(t *testing.T) {
	got, err := Sign("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", "msg_p5jXN8AQM9LWM0D4loKWxJek", time.Unix(1614265330, 0), []byte(`{"test": 2432232314}`))
	if want := "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="; err != nil || got != want {
		t.Errorf("%q, %v; want %q", got, err, want)
	}
}

// Keys have 24 to 64 bytes (Standard Webhooks 1.0.0, "Signature scheme").
func TestSecrets(t *testing.T) {
	if err := CheckSecret(NewSecret()); err != nil {
		t.Error(err)
	}
	for n, ok := range map[int]bool{23: false, 24: true, 64: true, 65: false} {
		if err := CheckSecret("whsec_" + base64.StdEncoding.EncodeToString(make([]byte, n))); (err == nil) != ok {
			t.Errorf("%d bytes: %v", n, err)
		}
	}
	for _, s := range []string{"", "MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", "whsec_?"} {
		if CheckSecret(s) == nil {
			t.Errorf("%q passes", s)
		}
	}
}

func message() lab.PageMessage {
	return lab.PageMessage{ID: "pg-1", Person: "Wren", Priority: lab.Urgent, CreatedAt: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), Body: lab.PageBody{
		Title: "Urgent. Plover: Developer 0.5 °C too warm", Text: "Check heater and preheat.", Link: "https://board.example/p/pg-1.x", Topic: "abc",
		Items: []lab.PageItem{{AlertID: "a", Occurrence: 1, Rule: "bath-temperature", Unit: "tern-street/plover", Priority: lab.Urgent,
			Message: "Developer 0.5 °C too warm", Consequence: "The film is pushed.", Response: "Check heater and preheat."}},
	}}
}

type request struct {
	header http.Header
	body   []byte
}

// receiver answers as told and passes on what came.
func receiver(t *testing.T, answer http.HandlerFunc) (string, chan request) {
	t.Helper()
	got := make(chan request, 10)
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		b, _ := io.ReadAll(r.Body)
		got <- request{r.Header, b}
		answer(w, r)
	}))
	t.Cleanup(s.Close)
	return s.URL, got
}

func hooked(t *testing.T) *Webhook {
	w := NewWebhook(nil)
	t.Cleanup(w.Close)
	return w
}

// The receiver checks the signature by the standard: base64 of HMAC-SHA256
// over id, timestamp and body, as received.
func TestWebhook(t *testing.T) {
	secret := NewSecret()
	url, got := receiver(t, func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) })
	if err := hooked(t).Send(t.Context(), lab.Contacts{Person: "Wren", Webhook: url, Secret: secret}, message()); err != nil {
		t.Fatal(err)
	}
	r := labtest.Receive(t, got, "the webhook")
	if id := r.header.Get("webhook-id"); id != "pg-1" {
		t.Errorf("webhook-id is %q", id)
	}
	var at int64
	if _, err := fmt.Sscan(r.header.Get("webhook-timestamp"), &at); err != nil || time.Since(time.Unix(at, 0)).Abs() > time.Minute {
		t.Errorf("webhook-timestamp is %q", r.header.Get("webhook-timestamp"))
	}
	want, _ := Sign(secret, "pg-1", time.Unix(at, 0), r.body)
	if s := r.header.Get("webhook-signature"); s != want {
		t.Errorf("webhook-signature is %q; want %q", s, want)
	}
	var body struct {
		Type, Timestamp string
		Data            struct {
			Person, Priority, Title, Link string
			Items                         []lab.PageItem
		}
	}
	if err := json.Unmarshal(r.body, &body); err != nil || body.Type != "page" || body.Timestamp != "2026-03-02T09:00:00.000Z" ||
		body.Data.Person != "Wren" || body.Data.Priority != "urgent" || len(body.Data.Items) != 1 || body.Data.Link == "" {
		t.Errorf("the body is %s, %v", r.body, err)
	}
}

// Only 2xx is success; 410 switches off; Retry-After is heard; a redirect is
// not followed (Standard Webhooks 1.0.0, "Delivery").
func TestWebhookAnswers(t *testing.T) {
	for _, c := range []struct {
		status  int
		header  string
		outcome string
		after   time.Duration
	}{
		{200, "", "", 0}, {204, "", "", 0}, {299, "", "", 0},
		{300, "", lab.OutcomeFailed, 0}, {301, "", lab.OutcomeFailed, 0}, {304, "", lab.OutcomeFailed, 0}, {404, "", lab.OutcomeFailed, 0},
		{410, "", lab.OutcomeGone, 0}, {429, "7", lab.OutcomeFailed, 7 * time.Second},
		{503, "86400", lab.OutcomeFailed, maxAfter}, {500, "soon", lab.OutcomeFailed, 0},
	} {
		url, got := receiver(t, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Location", "/elsewhere")
			if c.header != "" {
				w.Header().Set("Retry-After", c.header)
			}
			w.WriteHeader(c.status)
		})
		err := hooked(t).Send(t.Context(), lab.Contacts{Webhook: url, Secret: NewSecret()}, message())
		<-got
		if len(got) > 0 {
			t.Errorf("%d: it was asked again", c.status)
		}
		if c.outcome == "" {
			if err != nil {
				t.Errorf("%d: %v", c.status, err)
			}
			continue
		}
		if e := Of(err); e.Outcome != c.outcome || e.After != c.after {
			t.Errorf("%d: %s after %v (%v); want %s after %v", c.status, e.Outcome, e.After, err, c.outcome, c.after)
		}
	}
}

func TestWebhookThatHangs(t *testing.T) {
	hang := make(chan struct{})
	url, got := receiver(t, func(w http.ResponseWriter, r *http.Request) {
		select {
		case <-hang:
		case <-r.Context().Done():
		}
	})
	defer close(hang)
	ctx, cancel := context.WithCancel(t.Context())
	result := make(chan error, 1)
	w := hooked(t)
	go func() { result <- w.Send(ctx, lab.Contacts{Webhook: url, Secret: NewSecret()}, message()) }()
	labtest.Receive(t, got, "the request")
	cancel()
	if e := Of(labtest.Receive(t, result, "the end of the try")); e.Outcome != lab.OutcomeFailed || !strings.Contains(e.Text, "no answer") {
		t.Errorf("%+v", e)
	}
}

// A body stays under 20 kB, whatever there is to tell.
func TestWebhookBodyIsBounded(t *testing.T) {
	m := message()
	for range 400 {
		m.Body.Items = append(m.Body.Items, m.Body.Items[0])
	}
	b, err := hookBody(m)
	var h hook
	if err2 := json.Unmarshal(b, &h); err != nil || err2 != nil || len(b) >= 20_000 {
		t.Fatalf("%d bytes, %v %v", len(b), err, err2)
	}
	if n := len(h.Data.Items) + h.Data.More; n != 401 || len(h.Data.Items) < 20 {
		t.Errorf("%d alerts in full, %d more; want 401 together", len(h.Data.Items), h.Data.More)
	}
}

func TestWebhookUnreachable(t *testing.T) {
	s := httptest.NewServer(http.NotFoundHandler())
	url := s.URL
	s.Close()
	err := hooked(t).Send(t.Context(), lab.Contacts{Webhook: url + "/secret-path", Secret: NewSecret()}, message())
	if e := Of(err); e.Outcome != lab.OutcomeFailed || strings.Contains(e.Text, "secret-path") || !strings.Contains(e.Text, "refused") {
		t.Errorf("%v", err)
	}
	if errors.Is(err, context.Canceled) {
		t.Error("called canceled")
	}
}

func TestCheckWebhook(t *testing.T) {
	for address, ok := range map[string]bool{"https://x.example/p?k=1": true, "http://192.0.2.4:9000/": true, "ftp://x.example": false, "x.example": false, "https://u:p@x.example/": false, "": false} {
		if err := CheckWebhook(address); (err == nil) != ok {
			t.Errorf("%q: %v", address, err)
		}
	}
}

// Retry-After may be a date (RFC 9110, section 10.2.3); one far ahead is
// bounded as seconds are, one that is over asks for nothing.
func TestRetryAfterDate(t *testing.T) {
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	for in, want := range map[time.Duration]time.Duration{90 * time.Second: 90 * time.Second, 24 * time.Hour: maxAfter, -time.Hour: 0} {
		h := http.Header{"Retry-After": {now.Add(in).Format(http.TimeFormat)}}
		if got := retryAfter(h, now); got != want {
			t.Errorf("a date %s ahead: %s; want %s", in, got, want)
		}
	}
}
