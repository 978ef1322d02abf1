package notify

import (
	"bufio"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"io"
	"math/big"
	"net"
	"net/mail"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// letter is a message as the mail server took it.
type letter struct {
	From, Content string
	To            []string
	TLS           bool `json:"tls"`
	SignedIn      bool `json:"signed_in"`
}

// mailServer runs a real SMTP server that isn't ours (Debian package
// python3-aiosmtpd).
func mailServer(t *testing.T, mode string) (addr string, roots *x509.CertPool, got chan letter) {
	t.Helper()
	python := "/usr/bin/python3" // Debian's packages are for Debian's own
	if err := exec.Command(python, "-c", "import aiosmtpd").Run(); err != nil {
		t.Fatalf("the mail server of the tests is missing: %v; install python3-aiosmtpd, as make test does", err)
	}
	cert, key, roots := selfSigned(t)
	cmd := exec.Command(python, "testdata/smtpd.py", mode, cert, key)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := make(chan string, 10)
	read := make(chan struct{})
	go func() {
		defer close(read)
		for s := bufio.NewScanner(out); s.Scan(); {
			lines <- s.Text()
		}
	}()
	var passing sync.WaitGroup
	t.Cleanup(func() {
		_ = cmd.Process.Kill() // it may have ended
		<-read
		_ = cmd.Wait()
		passing.Wait()
	})
	var port int
	first := labtest.Receive(t, lines, "the mail server")
	got = make(chan letter, 10)
	passing.Go(func() {
		for {
			select {
			case line := <-lines:
				var l letter
				if err := json.Unmarshal([]byte(line), &l); err == nil {
					got <- l
				}
			case <-read:
				return
			}
		}
	})
	if _, err := fmt.Sscanf(first, "port %d", &port); err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("127.0.0.1:%d", port), roots, got
}

func selfSigned(t *testing.T) (cert, key string, roots *x509.CertPool) {
	t.Helper()
	dir := t.TempDir()
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "mail"}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageDigitalSignature}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &private.PublicKey, private)
	if err != nil {
		t.Fatal(err)
	}
	keyDER, err := x509.MarshalPKCS8PrivateKey(private)
	if err != nil {
		t.Fatal(err)
	}
	roots = x509.NewCertPool()
	pemCert := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
	roots.AppendCertsFromPEM(pemCert)
	cert, key = filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	for name, b := range map[string][]byte{cert: pemCert, key: pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: keyDER})} {
		if err := os.WriteFile(name, b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return cert, key, roots
}

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
