package ingest

import (
	"context"
	"crypto/tls"
	"log/slog"
	"net/url"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"wetside/internal/lab"
)

// Store is what a Service writes to. Append commits a batch in one
// transaction; when it returns nil everything in it is on disk, copies
// dropped. It is called by one goroutine at a time.
type Store interface {
	Append(ctx context.Context, term int64, msgs []lab.Message, refused []lab.Quarantined) (lab.AppendResult, error)
}

// Config says how a Service works.
type Config struct {
	// Broker is mqtt://host:port (or tcp, mqtts, ssl, tls), with user and
	// password in it if the broker wants them. Servers of one cluster stand in it
	// one after the other, host:port,host:port: they are tried in this order.
	// Required.
	Broker string
	// ClientID names the session at the broker. Two services with one id throw
	// each other out, and whoever connects with it takes what waits there: it
	// should be unguessable, and is told to nobody. Required.
	ClientID string
	// FormerClientID names a session that came before this one: what waits
	// there is taken first, and the session ended. FormerDone is called then.
	// Defaults to none.
	FormerClientID string
	FormerDone     func(context.Context) error
	// Username and Password stand in for those in Broker. Default to those.
	Username, Password string
	// Embedded says that the broker is the embedded one: what comes under
	// lab.RefusedTopicName is what it refused. At any other broker a unit
	// could publish there. Defaults to false.
	Embedded bool
	// TLS is for mqtts. Defaults to the system's authorities.
	TLS *tls.Config
	// Store is where telemetry goes. Required.
	Store Store
	// Term goes with every Append. Defaults to 0.
	Term int64
	// Sure returns when this service is the one that may have the session: a
	// process that was stopped and goes on must not throw out who took over. An
	// error, after which it is asked again, keeps it out. Defaults to at once.
	Sure func(context.Context) error
	// OnConnected is told when the session is subscribed and when it no longer
	// is, one call at a time. It must not call Stop. Defaults to nobody.
	OnConnected func(bool)
	// Metrics registers the wetside_ingest_ metrics. Defaults to nowhere.
	Metrics prometheus.Registerer
	// Log defaults to slog.Default.
	Log *slog.Logger
	// Clock stamps arrivals. Defaults to the system's.
	Clock lab.Clock

	// MaxQueue and MaxQueueBytes bound what was received and is not committed.
	// When they are reached the service reads no more for up to MaxHold, and
	// then leaves the broker until it has caught up. Default to 20,000 and
	// 32 MiB, and to half of what the broker is told as keep-alive.
	MaxQueue, MaxQueueBytes int
	MaxHold                 time.Duration
	// MaxBatch bounds the messages of one Append. Defaults to 1,000.
	MaxBatch int
	// StoreGrace is how long the store may fail before the service leaves the
	// broker. Defaults to 2 s.
	StoreGrace time.Duration
	// StopTimeout bounds how long Stop lets the last batch take. Defaults to 10 s.
	StopTimeout time.Duration
	// MaxReconnect bounds the wait between attempts to connect. Defaults to 5 s.
	MaxReconnect time.Duration
}

// validate fills in the defaults and reads the broker's address.
func (c *Config) validate() (*url.URL, error) {
	if c.Store == nil {
		return nil, lab.Errorf(lab.KindInvalid, "ingest: Store is missing")
	}
	broker, err := parseBroker(c.Broker)
	if err != nil {
		return nil, err
	}
	if c.Username == "" && broker.User != nil {
		c.Username = broker.User.Username()
		c.Password, _ = broker.User.Password()
	}
	if c.ClientID == "" {
		return nil, lab.Errorf(lab.KindInvalid, "ingest: ClientID is missing")
	}
	c.MaxQueue = or(c.MaxQueue, 20_000)
	c.MaxQueueBytes = or(c.MaxQueueBytes, 32<<20)
	c.MaxHold = or(c.MaxHold, keepAlive/2)
	c.MaxBatch = or(c.MaxBatch, 1000)
	c.StoreGrace = or(c.StoreGrace, 2*time.Second)
	c.StopTimeout = or(c.StopTimeout, 10*time.Second)
	c.MaxReconnect = or(c.MaxReconnect, 5*time.Second)
	if c.Log == nil {
		c.Log = slog.Default()
	}
	if c.Clock == nil {
		c.Clock = lab.SystemClock{}
	}
	if c.Sure == nil {
		c.Sure = func(context.Context) error { return nil }
	}
	if c.OnConnected == nil {
		c.OnConnected = func(bool) {}
	}
	return broker, nil
}

func or[T comparable](v, otherwise T) T {
	var zero T
	if v == zero {
		return otherwise
	}
	return v
}

func parseBroker(s string) (*url.URL, error) {
	const want = "it must be mqtt://host:1883 or mqtts://host:8883, with user:password@ before the host if needed"
	u, err := url.Parse(s)
	if err != nil { // the error would show the password
		return nil, lab.Errorf(lab.KindInvalid, "broker address cannot be read as an address; %s", want)
	}
	switch u.Scheme {
	case "mqtt", "tcp":
	case "mqtts", "ssl", "tls":
	default:
		return nil, lab.Errorf(lab.KindInvalid, "broker address %q has the scheme %q; %s", u.Redacted(), u.Scheme, want)
	}
	if u.Hostname() == "" || (u.Path != "" && u.Path != "/") {
		return nil, lab.Errorf(lab.KindInvalid, "broker address %q is not a host and a port; %s", u.Redacted(), want)
	}
	for _, one := range servers(u) {
		if one.Hostname() == "" {
			return nil, lab.Errorf(lab.KindInvalid, "broker address %q has an empty host; %s, and hosts of a cluster with commas between them", u.Redacted(), want)
		}
	}
	return u, nil
}

// servers are the addresses of a broker one by one, each with its port.
func servers(broker *url.URL) (out []*url.URL) {
	port := "1883"
	switch broker.Scheme {
	case "mqtts", "ssl", "tls":
		port = "8883"
	}
	for host := range strings.SplitSeq(broker.Host, ",") {
		one := *broker
		if one.Host = host; one.Port() == "" {
			one.Host = host + ":" + port
		}
		out = append(out, &one)
	}
	return out
}
