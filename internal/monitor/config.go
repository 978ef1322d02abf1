package monitor

import (
	"cmp"
	"context"
	"fmt"
	"log/slog"
	"net"
	"net/netip"
	"net/url"
	"strings"
	"time"

	"wetside/alerts/notify"
	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/rules"
)

// Embedded names the parts that come with wetside, in place of an address.
const Embedded = "embedded"

// Config is what the service is made of. An error about it names the flag of
// the command line that set the field.
type Config struct {
	// Broker is the MQTT broker: a URL, or Embedded. Defaults to none: it must
	// be given.
	Broker string
	// Database is PostgreSQL: a URL, or Embedded. Defaults to none: it must be
	// given.
	Database string
	// Listen is the address of the pages and the API. Defaults to none: it must
	// be given.
	Listen string
	// MQTTListen is the address at which units reach the embedded broker.
	// Defaults to none: with the embedded broker it must be given.
	MQTTListen string
	// MQTT is how telemetry is kept from being read on its way. Defaults to
	// plain TCP at the embedded broker, and to what the system trusts at
	// another.
	MQTT MQTT
	// Data is the folder of the embedded parts and the sealing key. Defaults to
	// the present folder.
	Data string
	// KeepDays is for how many days telemetry is kept. Defaults to 0: for ever.
	KeepDays int
	// Rules are the figures, cards and process sheets, before what the lab
	// changed of them. Defaults to the built-in ones.
	Rules rules.Config
	// NoTrials has rules that are new to the lab page at once. Defaults to
	// false: at first they page nobody.
	NoTrials bool
	// Address is where phones reach the board, for the links in pages. Defaults
	// to the first of Origins, else to where it listens.
	Address string
	// PeerAddress is where another wetside that stands by reaches this one's
	// pages. Defaults to where it listens.
	PeerAddress string
	// Origins are further addresses under which the board is opened. Defaults
	// to none.
	Origins []string
	// Proxies may say whom they forward for. Defaults to nobody.
	Proxies []netip.Prefix
	// TLSCert and TLSKey are files (PEM) for HTTPS; a renewed certificate is
	// taken by itself. They default to none: plain HTTP.
	TLSCert, TLSKey string
	// Paging is how pages get to people. Defaults to webhooks alone.
	Paging Paging
	// Version is what was built, as people are told it. Defaults to "dev".
	Version string
	// ExampleRun is one whole run of a unit as a capture, for those who build
	// units. Defaults to none.
	ExampleRun func() ([]byte, error)
	// Log is where it tells what it does. Defaults to slog.Default().
	Log *slog.Logger
	// Clock is what the lab lives by. Defaults to the machine's; a test lets
	// the lab live on another day.
	Clock lab.Clock
	// CallAfter is how long the database may be away before people are called
	// without it. Defaults to a minute.
	CallAfter time.Duration
	// Prepare is called once with the open database, before anything is
	// listened on. Defaults to nothing.
	Prepare func(context.Context, *postgres.Store) error
	// EndWithProcess ends the private database with this process, however it
	// ends: for what is thrown away afterwards. Defaults to false.
	EndWithProcess bool
}

// Paging is how pages get to people.
type Paging struct {
	// Mail is the mail server. Defaults to none: nobody is reached by mail.
	Mail notify.MailConfig
	// PushContact is the mail or https address by which a push service reaches
	// the lab. Defaults to the sender of the mail, else to where the board is.
	PushContact string
	// Heartbeat is where a heartbeat is posted. Defaults to nowhere.
	Heartbeat string
	// HeartbeatEvery is how often. Defaults to never: with Heartbeat it must be
	// given.
	HeartbeatEvery time.Duration
	// HeartbeatSecret signs heartbeats as Standard Webhooks 1.0.0 says.
	// Defaults to none: they are not signed.
	HeartbeatSecret string
}

// MQTT is how telemetry is kept from being read on its way.
type MQTT struct {
	// TLSCert and TLSKey are files (PEM) with which the embedded broker speaks
	// TLS to units. They default to none: plain TCP.
	TLSCert, TLSKey string
	// BrokerCA is a file (PEM) that an outside broker's certificate is checked
	// against. Defaults to what the system trusts.
	BrokerCA string
}

// withDefaults fills in what was left out.
func (c Config) withDefaults() Config {
	if c.Log == nil {
		c.Log = slog.Default()
	}
	c.Version = cmp.Or(c.Version, "dev")
	c.CallAfter = cmp.Or(c.CallAfter, time.Minute)
	return c
}

// String tells where things are and leaves out what is secret: passwords in
// addresses, that of the mail server and the heartbeat's key.
func (c Config) String() string {
	return fmt.Sprintf("broker %s, database %s, listen %s, mqtt-listen %s, data %s, version %s",
		withoutSecrets(c.Broker), withoutSecrets(c.Database), c.Listen, c.MQTTListen, c.Data, c.Version)
}

// GoString implements fmt.GoStringer: %#v would tell all.
func (c Config) GoString() string { return "monitor.Config{" + c.String() + "}" }

// String leaves out the passwords, and where heartbeats go: the address may
// be all the secret there is.
func (p Paging) String() string {
	return fmt.Sprintf("mail server %s from %s, heartbeat every %s", p.Mail.Server, p.Mail.From, p.HeartbeatEvery)
}

// GoString implements fmt.GoStringer.
func (p Paging) GoString() string { return "monitor.Paging{" + p.String() + "}" }

// withoutSecrets is an address without its password; where it does not read
// as one, nothing of it is told.
func withoutSecrets(address string) string {
	if address == Embedded || address == "" {
		return address
	}
	u, err := url.Parse(address)
	if err != nil || u.Host == "" {
		return "(not an address)"
	}
	u.RawQuery = "" // a database's password may stand there
	return u.Redacted()
}

// validate refuses what cannot work before anything is started.
func (c Config) validate() error {
	type address struct{ flag, value string }
	addresses := []address{{"--listen", c.Listen}}
	if c.Broker == Embedded {
		addresses = append(addresses, address{"--mqtt-listen", c.MQTTListen})
	} else if _, err := BrokerAddress(c.Broker); err != nil {
		return err
	}
	for _, a := range addresses {
		if _, _, err := net.SplitHostPort(a.value); err != nil {
			return usagef("%s %q is not host:port, such as 127.0.0.1:8080", a.flag, a.value)
		}
	}
	if u, err := url.Parse(c.Database); c.Database != Embedded && (err != nil || u.Scheme != "postgres" && u.Scheme != "postgresql") {
		return usagef("--database is neither \"embedded\" nor an address such as postgres://user@host/name")
	}
	if err := c.MQTT.validate(c.Broker == Embedded); err != nil {
		return err
	}
	for flag, address := range map[string]string{"--address": c.Address, "--peer-address": c.PeerAddress} {
		if u, err := url.Parse(address); address != "" && (err != nil || u.Host == "" || u.Scheme != "https" && u.Scheme != "http" || strings.Trim(u.Path, "/") != "") {
			return usagef("%s %q is not scheme and host, such as https://board.example", flag, address)
		}
	}
	if (c.TLSCert == "") != (c.TLSKey == "") {
		return usagef("--tls-cert and --tls-key go together; \"wetside certificate\" makes both")
	}
	return c.Paging.validate()
}

// validate refuses what could reach nobody.
func (p Paging) validate() error {
	if _, err := notify.NewMail(p.Mail); err != nil {
		return usagef("%w", err)
	}
	if p.Heartbeat != "" {
		if err := notify.CheckWebhook(p.Heartbeat); err != nil {
			return usagef("--heartbeat %q is not an address such as https://watcher.example/path", p.Heartbeat)
		}
		if p.HeartbeatEvery < time.Second {
			return usagef("--heartbeat-every must be 1s or more; got %s", p.HeartbeatEvery)
		}
	}
	if p.HeartbeatSecret != "" {
		if err := notify.CheckSecret(p.HeartbeatSecret); err != nil {
			return usagef("--heartbeat-secret: %v", err)
		}
	}
	return nil
}

// validate refuses what does not fit together.
func (c MQTT) validate(embeddedBroker bool) error {
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

// usagef is wrong usage, which the command tells from what failed.
func usagef(format string, args ...any) error { return lab.Errorf(lab.KindInvalid, format, args...) }

// BrokerAddress reads a broker's address and fills in its port, that of each server
// where it names several of one cluster, host:port,host:port.
func BrokerAddress(s string) (*url.URL, error) {
	u, err := url.Parse(s)
	if err != nil || u.Host == "" {
		return nil, usagef("--broker is not an address; give mqtt://host:1883, or mqtts for TLS, with user:password@ before the host where the broker asks for them")
	}
	port := "1883"
	switch u.Scheme {
	case "mqtt", "tcp":
	case "mqtts", "ssl", "tls":
		port = "8883"
	default:
		return nil, usagef("--broker %s has the scheme %q; give mqtt or mqtts", u.Redacted(), u.Scheme)
	}
	var hosts []string
	for host := range strings.SplitSeq(u.Host, ",") { // servers of one cluster
		one := url.URL{Host: host}
		if one.Hostname() == "" {
			return nil, usagef("--broker %s has an empty host; give mqtt://host:1883, servers of one cluster with commas between them", u.Redacted())
		}
		if one.Port() == "" {
			host += ":" + port
		}
		hosts = append(hosts, host)
	}
	u.Host = strings.Join(hosts, ",")
	return u, nil
}
