package main

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"net"
	"os"
	"strings"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/postgres"
)

// mqttFlags are those of serve about the way of telemetry.
type mqttFlags struct {
	TLSCert  string `name:"mqtt-tls-cert" env:"WETSIDE_MQTT_TLS_CERT" placeholder:"FILE" help:"Certificate (PEM) with which the embedded broker speaks TLS to units; \"wetside certificate\" makes one."`
	TLSKey   string `name:"mqtt-tls-key" env:"WETSIDE_MQTT_TLS_KEY" placeholder:"FILE" help:"Key (PEM) of that certificate."`
	BrokerCA string `name:"broker-ca" env:"WETSIDE_BROKER_CA" placeholder:"FILE" help:"Certificates (PEM) that an outside broker's is checked against (mqtts), in place of the system's."`
}

func (f mqttFlags) config() mqttConfig { return mqttConfig(f) }

// mqttConfig is what the flags come to.
type mqttConfig struct {
	TLSCert, TLSKey string
	BrokerCA        string
}

// check refuses what does not fit together.
func (c mqttConfig) check(embeddedBroker bool) error {
	if (c.TLSCert == "") != (c.TLSKey == "") {
		return usagef("--mqtt-tls-cert and --mqtt-tls-key go together; \"wetside certificate\" makes both")
	}
	if c.TLSCert != "" && !embeddedBroker {
		return usagef("--mqtt-tls-cert is for the embedded broker; an outside broker has its own certificate: use --broker mqtts://... and --broker-ca")
	}
	if c.BrokerCA != "" && embeddedBroker {
		return usagef("--broker-ca is for an outside broker; the embedded one needs none")
	}
	return nil
}

// server gives the TLS of the embedded broker; nil for plain TCP. A renewed
// certificate is taken by itself.
func (c mqttConfig) server() (*tls.Config, error) {
	if c.TLSCert == "" {
		return nil, nil
	}
	certs, err := newCertificates(c.TLSCert, c.TLSKey)
	if err != nil {
		return nil, fmt.Errorf("--mqtt-tls-cert, --mqtt-tls-key: %w", err)
	}
	return certs.config(), nil
}

// brokerTLS reads what a broker's certificate is checked against; nil: what
// the system trusts.
func brokerTLS(file string) (*tls.Config, error) {
	if file == "" {
		return nil, nil
	}
	b, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("--broker-ca: %w", err)
	}
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM(b) {
		return nil, usagef("--broker-ca %s holds no certificate in PEM", file)
	}
	return &tls.Config{MinVersion: tls.VersionTLS12, RootCAs: roots}, nil
}

// warnPlain says when keys would pass a network in the open.
func (p *program) warnPlain() {
	if p.cfg.Broker == embedded {
		if p.cfg.MQTT.TLSCert == "" && !loopbackAddress(p.cfg.MQTTListen) {
			p.log.Warn("unit keys and telemetry pass the network unencrypted: whoever listens there can send as any unit; start with --mqtt-tls-cert and --mqtt-tls-key (\"wetside certificate\" makes them)",
				"mqtt_listen", p.cfg.MQTTListen)
		}
		return
	}
	if u, err := brokerAddress(p.cfg.Broker); err == nil && (u.Scheme == "mqtt" || u.Scheme == "tcp") && !loopbackAddress(u.Host) {
		p.log.Warn("the broker's password and telemetry pass the network unencrypted; use --broker mqtts://... (with --broker-ca for a certificate of the lab's own)", "broker", u.Redacted())
	}
}

func loopbackAddress(hostport string) bool {
	host, _, err := net.SplitHostPort(hostport)
	if err != nil {
		host = hostport
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// settingClientID is where the client id of the session at an outside broker
// stands: in the database, so that whichever wetside holds the lab finds it.
const settingClientID = "broker-client-id"

// formerClientID was everybody's, before each lab had one of its own.
const formerClientID = "wetside"

// clientID gives the client id of the session at an outside broker. It is
// made once and told to nobody: who connected with it would take the session
// over, and with it what waits there.
func clientID(ctx context.Context, store *postgres.Store) (string, error) {
	b, err := store.Setting(ctx, settingClientID)
	if err == nil {
		return string(b), nil
	}
	if lab.KindOf(err) != lab.KindNotFound {
		return "", err
	}
	id := "wetside-" + strings.ToLower(rand.Text()) // 130 bits
	return id, store.SetSetting(ctx, settingClientID, []byte(id))
}

// outsideBroker fills in what a session at an outside broker needs.
func (t *term) outsideBroker(ctx context.Context, cfg *ingest.Config) (err error) {
	if cfg.TLS, err = brokerTLS(t.p.cfg.MQTT.BrokerCA); err != nil {
		return err
	}
	cfg.ClientID, err = clientID(ctx, t.p.store)
	cfg.FormerClientID = formerClientID
	cfg.FormerDone = func(ctx context.Context) error {
		return t.p.store.SetSetting(ctx, settingFormerSession, []byte("taken over"))
	}
	if err == nil {
		if _, err2 := t.p.store.Setting(ctx, settingFormerSession); err2 == nil {
			cfg.FormerClientID = "" // was done
		}
	}
	return err
}

// settingFormerSession says that what waited under formerClientID was taken.
const settingFormerSession = "broker-former-session"
