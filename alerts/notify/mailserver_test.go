package notify

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"io"
	"log"
	"math/big"
	"net"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"

	"wetside/internal/labtest"
)

// letter is a message as the mail server took it.
type letter struct {
	From, Content string
	To            []string
	TLS, SignedIn bool
}

// Refusals by the text of RFC 3207 (section 4), RFC 4954 (section 6), RFC 3463.
var (
	needsTLS    = &smtp.SMTPError{Code: 530, EnhancedCode: smtp.EnhancedCode{5, 7, 0}, Message: "Must issue a STARTTLS command first"}
	needsSignIn = &smtp.SMTPError{Code: 530, EnhancedCode: smtp.EnhancedCode{5, 7, 0}, Message: "Authentication required"}
	unknown     = &smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 1, 1}, Message: "there is nobody of that name"}
	tryLater    = &smtp.SMTPError{Code: 451, EnhancedCode: smtp.EnhancedCode{4, 3, 0}, Message: "try again later"}
)

// mailServer runs an SMTP server that isn't ours, in the mode of a MailConfig.
// With TLS it takes letters only over TLS and from who has signed in as
// "wetside".
func mailServer(t *testing.T, mode string) (addr string, roots *x509.CertPool, got chan letter) {
	t.Helper()
	cert, roots := selfSigned(t)
	secure := &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	addr = listener.Addr().String()
	got = make(chan letter, 10)
	server := smtp.NewServer(smtp.BackendFunc(func(c *smtp.Conn) (smtp.Session, error) {
		return &mailSession{conn: c, strict: mode != NoTLS, got: got}, nil
	}))
	server.Domain, server.EnableSMTPUTF8 = "mail.tern-street.example", true
	server.ErrorLog = log.New(t.Output(), "mail server: ", 0)
	switch mode {
	case StartTLS:
		server.TLSConfig = secure
	case ImplicitTLS:
		listener = tls.NewListener(listener, secure)
	}
	served := make(chan error, 1)
	go func() { served <- server.Serve(listener) }()
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), labtest.Patience)
		defer cancel()
		if err := server.Shutdown(ctx); err != nil {
			t.Errorf("the mail server waits for connections that nobody ended: %v", err)
		}
		if err := labtest.Receive(t, served, "the end of the mail server"); err != nil {
			t.Error(err)
		}
	})
	return addr, roots, got
}

// mailSession is what one connection has said so far.
type mailSession struct {
	conn     *smtp.Conn
	strict   bool // nothing without TLS and a sign-in
	signedIn bool
	letter   letter
	got      chan<- letter
}

func (s *mailSession) secured() bool {
	_, ok := s.conn.TLSConnectionState()
	return ok
}

func (s *mailSession) AuthMechanisms() []string {
	if !s.strict {
		return nil
	}
	return []string{sasl.Plain}
}

func (s *mailSession) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		if user != "wetside" || password != "correct horse" {
			return smtp.ErrAuthFailed // 535, RFC 4954, section 6
		}
		s.signedIn = true
		return nil
	}), nil
}

func (s *mailSession) Mail(from string, _ *smtp.MailOptions) error {
	switch {
	case s.strict && !s.secured():
		return needsTLS
	case s.strict && !s.signedIn:
		return needsSignIn
	}
	s.letter = letter{From: from, TLS: s.secured(), SignedIn: s.signedIn}
	return nil
}

func (s *mailSession) Rcpt(to string, _ *smtp.RcptOptions) error {
	switch name, _, _ := strings.Cut(to, "@"); name {
	case "nobody":
		return unknown
	case "later":
		return tryLater
	}
	s.letter.To = append(s.letter.To, to)
	return nil
}

func (s *mailSession) Data(r io.Reader) error {
	content, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	s.letter.Content = string(content)
	s.got <- s.letter
	return nil
}

func (s *mailSession) Reset()        { s.letter = letter{} }
func (s *mailSession) Logout() error { return nil }

// selfSigned makes a certificate for this machine that nobody vouches for but
// the roots it comes with.
func selfSigned(t *testing.T) (tls.Certificate, *x509.CertPool) {
	t.Helper()
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
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AddCert(leaf)
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: private, Leaf: leaf}, roots
}
