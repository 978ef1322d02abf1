package notify

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	netmail "net/mail"
	"strconv"
	"strings"
	"time"

	"github.com/wneessen/go-mail"

	"wetside/internal/lab"
)

// How a mail server is spoken to.
const (
	StartTLS    = "starttls" // plain, then TLS, which must come about
	ImplicitTLS = "implicit" // TLS from the first byte
	NoTLS       = "none"     // only to a server on this very machine
)

// MailConfig is where mail goes out.
type MailConfig struct {
	Server   string // host:port; empty: mail is not set up
	TLS      string // Defaults to StartTLS.
	User     string // Defaults to no sign-in.
	Password string
	From     string         // such as "Wetside <wetside@lab.example>"
	Roots    *x509.CertPool // Defaults to the system's.
}

// Mail sends mail. Make it with NewMail.
type Mail struct {
	cfg  MailConfig
	host string
	port int
	from *netmail.Address
}

// NewMail makes a Mail; nil where mail is not set up.
func NewMail(cfg MailConfig) (*Mail, error) {
	if cfg.Server == "" {
		return nil, nil
	}
	if cfg.TLS == "" {
		cfg.TLS = StartTLS
	}
	m := &Mail{cfg: cfg}
	host, port, err := net.SplitHostPort(cfg.Server)
	if err == nil {
		m.host = host
		m.port, err = strconv.Atoi(port)
	}
	if err != nil || host == "" {
		return nil, lab.Errorf(lab.KindInvalid, "the mail server %q is not host:port, such as mail.lab.example:587", cfg.Server)
	}
	if m.from, err = netmail.ParseAddress(cfg.From); err != nil {
		return nil, lab.Errorf(lab.KindInvalid, "the sender must be a mail address such as wetside@lab.example; got %q", cfg.From)
	}
	switch cfg.TLS {
	case StartTLS, ImplicitTLS:
	case NoTLS:
		if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
			return nil, lab.Errorf(lab.KindInvalid, "mail without TLS goes only to a server on this machine, not to %s; set starttls or implicit", host)
		}
	default:
		return nil, lab.Errorf(lab.KindInvalid, "mail TLS must be starttls, implicit or none; got %q", cfg.TLS)
	}
	return m, nil
}

// CheckMail says what is wrong with a mail address.
func CheckMail(address string) error {
	a, err := netmail.ParseAddress(address)
	if err != nil || a.Address != address || len(address) > 254 {
		return lab.Errorf(lab.KindInvalid, "mail must be an address such as wren@lab.example; got %q", address)
	}
	return nil
}

// Send sends a page by mail.
func (s *Mail) Send(ctx context.Context, c lab.Contacts, m lab.PageMessage) error {
	if s == nil {
		return Unavailable("mail is not set up; start wetside with --mail-server")
	}
	msg, err := s.message(c.Mail, m)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, Timeout)
	defer cancel()
	opened := &lastOpened{dial: newDialer().DialContext}
	defer opened.close()
	client, err := s.client(ctx, opened.DialContext)
	if err != nil {
		return failed("the mail server %s: %s", s.cfg.Server, plain(ctx, err))
	}
	if err := client.DialAndSendWithContext(ctx, msg); err != nil {
		return s.explain(ctx, err)
	}
	return nil
}

func (s *Mail) explain(ctx context.Context, err error) error {
	var sent *mail.SendError
	if errors.As(err, &sent) && sent.ErrorCode() > 0 {
		return failed("the mail server %s refused it: %s", s.cfg.Server, short(err.Error()))
	}
	return failed("the mail server %s: %s", s.cfg.Server, short(plain(ctx, err)))
}

func short(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if len(s) > 300 {
		s = s[:300]
	}
	return strings.ToValidUTF8(s, "")
}

func (s *Mail) message(to string, m lab.PageMessage) (*mail.Msg, error) {
	msg := mail.NewMsg()
	msg.FromMailAddress(s.from)
	if err := msg.To(to); err != nil {
		return nil, failed("mail %q: %w", to, err)
	}
	_, domain, _ := strings.Cut(s.from.Address, "@")
	msg.SetMessageIDWithValue(m.ID + "@" + domain) // the same in each copy
	msg.SetDateWithValue(m.CreatedAt)
	msg.Subject(m.Body.Title)
	msg.SetGenHeader("Auto-Submitted", "auto-generated") // RFC 3834: no absence notes back
	if m.Body.Topic != "" {                              // RFC 5322, 3.6.4: what is of one matter stands together
		msg.SetGenHeader("References", "<"+m.Body.Topic+"@"+domain+">")
	}
	if !m.Body.Until.IsZero() { // RFC 4021, 2.1.50: the time from which it no longer holds
		msg.SetGenHeader("Expires", m.Body.Until.Format(time.RFC1123Z))
	}
	if m.Priority == lab.Urgent {
		msg.SetImportance(mail.ImportanceHigh)
	}
	msg.SetBodyString(mail.TypeTextPlain, Letter(m.Body))
	return msg, nil
}

// Letter writes a page as a mail's text.
func Letter(b lab.PageBody) string {
	var w strings.Builder
	w.WriteString(b.Text + "\n")
	for _, it := range b.Items {
		fmt.Fprintf(&w, "\n%s · %s\n%s\n%s\nDo: %s\n", place(it.Unit), it.Priority, it.Message, it.Consequence, it.Response)
	}
	if b.More > 0 {
		fmt.Fprintf(&w, "\nand %d more; the board has them all.\n", b.More)
	}
	if b.Link != "" {
		fmt.Fprintf(&w, "\nAcknowledge here: %s\nOpening the link acknowledges nothing; a button does.\n", b.Link)
	}
	w.WriteString("\nWetside advises; it is no safety device.\n")
	return w.String()
}

// place says where, for people.
func place(unit string) string {
	if unit == "" {
		return "wetside itself"
	}
	_, name, _ := strings.Cut(unit, "/")
	return name
}

// lastOpened closes what it opened last. The library leaves a connection open
// when STARTTLS comes to nothing, and a server that is set up wrong is tried
// for as long as alerts come.
type lastOpened struct {
	dial func(ctx context.Context, network, address string) (net.Conn, error)
	conn net.Conn
}

func (o *lastOpened) DialContext(ctx context.Context, network, address string) (net.Conn, error) {
	conn, err := o.dial(ctx, network, address)
	o.conn = conn
	return conn, err
}

func (o *lastOpened) close() {
	if o.conn != nil {
		_ = o.conn.Close() // it may be closed
	}
}

func (s *Mail) client(ctx context.Context, dial mail.DialContextFunc) (*mail.Client, error) {
	secure := &tls.Config{ServerName: s.host, RootCAs: s.cfg.Roots, MinVersion: tls.VersionTLS12}
	options := []mail.Option{mail.WithPort(s.port), mail.WithTimeout(Timeout), mail.WithoutNoop(), mail.WithTLSConfig(secure)}
	host := s.host
	if s.cfg.TLS == ImplicitTLS {
		// The library sends no password over a connection that it did not
		// encrypt itself: it is given the address that was looked at.
		allowed, err := newDialer().resolve(ctx, s.host)
		if err != nil {
			return nil, err
		}
		host = allowed[0].String()
	} else {
		options = append(options, mail.WithDialContextFunc(dial))
	}
	switch s.cfg.TLS {
	case StartTLS:
		options = append(options, mail.WithTLSPolicy(mail.TLSMandatory))
	case ImplicitTLS:
		options = append(options, mail.WithSSL())
	default:
		options = append(options, mail.WithTLSPolicy(mail.NoTLS))
	}
	if s.cfg.User != "" {
		options = append(options, mail.WithSMTPAuth(mail.SMTPAuthAutoDiscover), mail.WithUsername(s.cfg.User), mail.WithPassword(s.cfg.Password))
	}
	return mail.NewClient(host, options...)
}
