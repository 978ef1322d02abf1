package notify

import (
	"crypto/x509"
	"io"
	"net/mail"
	"strings"
	"testing"

	"wetside/internal/lab"
	"wetside/internal/labtest"
)

func TestMail(t *testing.T) {
	for _, mode := range []string{StartTLS, ImplicitTLS} {
		t.Run(mode, func(t *testing.T) {
			addr, roots, got := mailServer(t, mode)
			cfg := MailConfig{Server: addr, TLS: mode, User: "wetside", Password: "correct horse", From: "Wetside <wetside@tern-street.example>", Roots: roots}
			m, err := NewMail(cfg)
			if err != nil {
				t.Fatal(err)
			}
			to := func(address string) error {
				return m.Send(t.Context(), lab.Contacts{Person: "Wren", Mail: address}, message())
			}
			if err := to("wren@tern-street.example"); err != nil {
				t.Fatal(err)
			}
			checkLetter(t, labtest.Receive(t, got, "the letter"))
			for address, want := range map[string]string{"nobody@tern-street.example": "nobody of that name", "later@tern-street.example": "try again later"} {
				if e := Of(to(address)); e.Outcome != lab.OutcomeFailed || !strings.Contains(e.Text, want) {
					t.Errorf("to %s: %+v; want failed, %q", address, e, want)
				}
			}
			wrong := cfg
			wrong.Password = "wrong"
			bad, _ := NewMail(wrong)
			if e := Of(bad.Send(t.Context(), lab.Contacts{Mail: "wren@tern-street.example"}, message())); e.Outcome != lab.OutcomeFailed || !strings.Contains(e.Text, "535") {
				t.Errorf("a wrong password: %+v", e)
			}
			stranger := cfg
			stranger.Roots = x509.NewCertPool()
			if bad, _ := NewMail(stranger); Of(bad.Send(t.Context(), lab.Contacts{Mail: "wren@tern-street.example"}, message())).Outcome != lab.OutcomeFailed {
				t.Error("a certificate that nobody vouches for passes")
			}
		})
	}
}

func checkLetter(t *testing.T, l letter) {
	t.Helper()
	if !l.TLS || !l.SignedIn || l.From != "wetside@tern-street.example" || len(l.To) != 1 || l.To[0] != "wren@tern-street.example" {
		t.Errorf("the envelope is %+v", l)
	}
	msg, err := mail.ReadMessage(strings.NewReader(l.Content))
	if err != nil {
		t.Fatal(err)
	}
	if id := msg.Header.Get("Message-Id"); id != "<pg-1@tern-street.example>" {
		t.Errorf("Message-ID is %q; want the message's own id, in each copy", id)
	}
	if msg.Header.Get("Auto-Submitted") != "auto-generated" || !strings.EqualFold(msg.Header.Get("Importance"), "high") {
		t.Errorf("headers %v", msg.Header)
	}
	if date, err := msg.Header.Date(); err != nil || !date.Equal(message().CreatedAt) {
		t.Errorf("date %v %v", date, err)
	}
	body, err := io.ReadAll(msg.Body)
	if err != nil || !strings.Contains(string(body), "Acknowledge here: https://board.example/p/") {
		t.Errorf("the letter says %s", body)
	}
}

// Where the server offers no TLS, nothing goes out over it.
func TestMailWithoutTLS(t *testing.T) {
	addr, roots, got := mailServer(t, "none")
	m, err := NewMail(MailConfig{Server: addr, TLS: StartTLS, From: "wetside@tern-street.example", Roots: roots})
	if err != nil {
		t.Fatal(err)
	}
	if e := Of(m.Send(t.Context(), lab.Contacts{Mail: "wren@tern-street.example"}, message())); e.Outcome != lab.OutcomeFailed || !strings.Contains(e.Text, "STARTTLS") {
		t.Errorf("%+v", e)
	}
	if len(got) > 0 {
		t.Error("a letter went out in the clear")
	}
	// to this machine it may, if somebody says so
	if m, err = NewMail(MailConfig{Server: addr, TLS: NoTLS, From: "wetside@tern-street.example"}); err != nil {
		t.Fatal(err)
	}
	if err := m.Send(t.Context(), lab.Contacts{Mail: "wren@tern-street.example"}, message()); err != nil {
		t.Error(err)
	}
	if l := labtest.Receive(t, got, "the letter"); l.TLS {
		t.Errorf("%+v", l)
	}
}

func TestMailConfig(t *testing.T) {
	for what, c := range map[string]struct {
		cfg MailConfig
		ok  bool
	}{
		"none set":    {MailConfig{}, true},
		"good":        {MailConfig{Server: "mail.example:587", From: "a@b.example"}, true},
		"no port":     {MailConfig{Server: "mail.example", From: "a@b.example"}, false},
		"no sender":   {MailConfig{Server: "mail.example:587"}, false},
		"clear, away": {MailConfig{Server: "mail.example:25", TLS: NoTLS, From: "a@b.example"}, false},
		"clear, here": {MailConfig{Server: "127.0.0.1:25", TLS: NoTLS, From: "a@b.example"}, true},
		"odd":         {MailConfig{Server: "mail.example:25", TLS: "maybe", From: "a@b.example"}, false},
	} {
		if _, err := NewMail(c.cfg); (err == nil) != c.ok {
			t.Errorf("%s: %v", what, err)
		}
	}
	var none *Mail
	if e := Of(none.Send(t.Context(), lab.Contacts{}, message())); e.Outcome != lab.OutcomeUnavailable {
		t.Errorf("mail that is not set up: %+v", e)
	}
	for address, ok := range map[string]bool{"wren@lab.example": true, "Wren <wren@lab.example>": false, "wren": false, "a@b\r\nBcc: c@d": false} {
		if err := CheckMail(address); (err == nil) != ok {
			t.Errorf("%q: %v", address, err)
		}
	}
}
