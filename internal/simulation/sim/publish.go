package sim

import (
	"context"
	"crypto/tls"
	"log/slog"
	"net/url"
	"sync"
	"sync/atomic"
	"time"

	"wetside/internal/lab"
)

// PublishConfig says where and how fast a lab is published.
type PublishConfig struct {
	// Broker is where to publish, such as tcp://127.0.0.1:1883; also mqtt,
	// ssl and mqtts. User and password may stand in it. Required.
	Broker string
	// TLS is for mqtts. Defaults to the system's authorities.
	TLS *tls.Config
	// Username and Password override those of Broker.
	Username, Password string
	// Credentials, where set, gives each unit its own.
	Credentials func(unit string) (username, password string)
	// Speed is how many seconds of virtual time pass in a second. Above 1 the
	// units' clocks run ahead of the world's. Defaults to 1.
	Speed float64
	// Log takes what happens to connections. Defaults to none.
	Log *slog.Logger
	// Published, where set, is told the running count of messages that the
	// broker has acknowledged. It must not block.
	Published func(total int64)
}

func (c *PublishConfig) complete() (*url.URL, error) {
	u, err := url.Parse(c.Broker)
	if err != nil || u.Host == "" {
		return nil, lab.Errorf(lab.KindInvalid, "broker %q is not an address; want one such as tcp://127.0.0.1:1883", c.Broker)
	}
	switch u.Scheme {
	case "tcp", "mqtt", "ssl", "tls", "mqtts":
	default:
		return nil, lab.Errorf(lab.KindInvalid, "broker %q: scheme %q is not supported; want tcp, mqtt, ssl or mqtts", u.Redacted(), u.Scheme)
	}
	if c.Speed == 0 {
		c.Speed = 1
	}
	if c.Speed < 0 {
		return nil, lab.Errorf(lab.KindInvalid, "speed %g: want more than 0", c.Speed)
	}
	if c.Username == "" && u.User != nil {
		c.Username = u.User.Username()
		c.Password, _ = u.User.Password()
	}
	u.User = nil
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	return u, nil
}

// publishing is what the units of one Publish share.
type publishing struct {
	cfg     PublishConfig
	url     *url.URL
	reached atomic.Bool // the broker was reached at least once
	total   atomic.Int64
	fail    context.CancelCauseFunc
}

// Publish sends a lab to a broker in real time, from its present moment on,
// until ctx ends: each unit over a connection of its own, with its own last
// will and retained status. A cut of a unit's network is a real one: the
// connection is dropped without a farewell once the broker would have noticed,
// and the broker publishes the will. When ctx ends the units go the same way.
// A broker that cannot be reached at the start is an error; later, units keep
// what they have to say and try again.
func Publish(ctx context.Context, cfg PublishConfig, l *Lab) error {
	u, err := cfg.complete()
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	p := &publishing{cfg: cfg, url: u, fail: cancel}
	outlets := make([]*unitPublisher, len(l.units))
	var wg sync.WaitGroup
	for i, unit := range l.units {
		outlets[i] = newUnitPublisher(p, unit.id, l.cfg.KeepAlive)
		wg.Go(func() { outlets[i].run(ctx) })
	}
	pace(ctx, cfg.Speed, l, outlets)
	wg.Wait()
	if cause := context.Cause(ctx); lab.KindOf(cause) == lab.KindUnavailable {
		return cause
	}
	return nil
}

// pace moves virtual time on as real time passes.
func pace(ctx context.Context, speed float64, l *Lab, outlets []*unitPublisher) {
	began := time.Now()
	l.mu.Lock()
	base := l.now
	l.mu.Unlock()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for {
		to := base.Add(time.Duration(float64(time.Since(began)) * speed))
		for _, d := range l.advance(to) {
			outlets[d.unit].enqueue(d)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}
