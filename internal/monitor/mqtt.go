package monitor

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"net"
	"os"
	"slices"
	"strings"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/monitor/listener"
	"wetside/internal/postgres"
)

// embeddedTLS gives the TLS of the embedded broker; nil for plain TCP. A
// renewed certificate is taken by itself.
func (c MQTT) embeddedTLS() (*tls.Config, error) {
	if c.TLSCert == "" {
		return nil, nil
	}
	secure, err := listener.TLS(c.TLSCert, c.TLSKey)
	if err != nil {
		return nil, fmt.Errorf("--mqtt-tls-cert, --mqtt-tls-key: %w", err)
	}
	return secure, nil
}

// BrokerTLS reads what a broker's certificate is checked against; nil: what
// the system trusts.
func BrokerTLS(file string) (*tls.Config, error) {
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
func (p *Program) warnPlain() {
	if p.cfg.Broker == Embedded {
		if p.cfg.MQTT.TLSCert == "" && !loopbackAddress(p.cfg.MQTTListen) {
			p.log.Warn("unit keys and telemetry pass the network unencrypted: whoever listens there can send as any unit; start with --mqtt-tls-cert and --mqtt-tls-key (\"wetside certificate\" makes them)",
				"mqtt_listen", p.cfg.MQTTListen)
		}
		return
	}
	if u, err := BrokerAddress(p.cfg.Broker); err == nil && (u.Scheme == "mqtt" || u.Scheme == "tcp") && slices.ContainsFunc(strings.Split(u.Host, ","), func(h string) bool { return !loopbackAddress(h) }) {
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
func (l *leader) outsideBroker(ctx context.Context, cfg *ingest.Config) (err error) {
	if cfg.TLS, err = BrokerTLS(l.p.cfg.MQTT.BrokerCA); err != nil {
		return err
	}
	cfg.ClientID, err = clientID(ctx, l.p.store)
	cfg.FormerClientID = formerClientID
	cfg.FormerDone = func(ctx context.Context) error {
		return l.p.store.SetSetting(ctx, settingFormerSession, []byte("taken over"))
	}
	if err == nil {
		if _, err2 := l.p.store.Setting(ctx, settingFormerSession); err2 == nil {
			cfg.FormerClientID = "" // was done
		}
	}
	return err
}

// settingFormerSession says that what waited under formerClientID was taken.
const settingFormerSession = "broker-former-session"
