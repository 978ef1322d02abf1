package main

import (
	"crypto/x509"
	"fmt"
	"os"
	"strings"
	"time"

	"wetside/alerts/notify"
	"wetside/internal/monitor"
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

// config reads the files that flags name.
func (f pagingFlags) config() (monitor.Paging, error) {
	c := monitor.Paging{
		PushContact: f.PushContact,
		Heartbeat:   f.Heartbeat, HeartbeatEvery: f.HeartbeatEvery, HeartbeatSecret: f.HeartbeatSecret,
		Mail: notify.MailConfig{Server: f.MailServer, TLS: f.MailTLS, User: f.MailUser, From: f.MailFrom, Password: os.Getenv("WETSIDE_MAIL_PASSWORD")},
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
	return c, nil
}
