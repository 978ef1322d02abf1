package ingest

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/url"
	"sync"
	"sync/atomic"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"wetside/internal/lab"
)

// topics is what the service subscribes to.
const topics = lab.TopicPrefix + "#"

const keepAlive = 15 * time.Second

// link is one connection to the broker. Each has a client of its own: what
// was received over a link can be acknowledged over no other, and a client
// that has left does not come back on its own.
type link struct {
	s      *Service
	client mqtt.Client
	deaf   atomic.Bool   // takes nothing more
	gone   atomic.Bool   // can acknowledge nothing more
	ended  chan struct{} // closed at the first cause to end it

	mu    sync.Mutex
	cause error
	conn  net.Conn
}

// newLink makes a link; clean ends the session with it.
func (s *Service) newLink(ctx context.Context, clientID string, clean bool) *link {
	l := &link{s: s, ended: make(chan struct{})}
	o := mqtt.NewClientOptions()
	o.Servers = servers(s.broker)
	o.SetClientID(clientID).SetUsername(s.cfg.Username).SetPassword(s.cfg.Password)
	o.SetProtocolVersion(4)
	o.SetCleanSession(clean)
	o.SetAutoReconnect(false)
	o.SetConnectRetry(false)
	o.SetConnectTimeout(dialTimeout)
	o.SetWriteTimeout(writeTimeout)
	o.SetKeepAlive(keepAlive)
	o.SetPingTimeout(10 * time.Second)
	o.SetOrderMatters(true)
	o.SetAutoAckDisabled(true)
	// One handler for everything: a session that is resumed may deliver
	// before it is subscribed again.
	o.SetDefaultPublishHandler(func(_ mqtt.Client, m mqtt.Message) { l.receive(m) })
	o.SetConnectionLostHandler(func(_ mqtt.Client, err error) {
		l.gone.Store(true)
		l.end(fmt.Errorf("connection lost: %w", err))
	})
	o.SetCustomOpenConnectionFn(func(u *url.URL, _ mqtt.ClientOptions) (net.Conn, error) {
		return l.open(ctx, u)
	})
	l.client = mqtt.NewClient(o)
	return l
}

func (l *link) open(ctx context.Context, u *url.URL) (net.Conn, error) {
	conn, err := dial(ctx, u, l.s.cfg.TLS)
	if err != nil {
		return nil, err
	}
	// Until the broker has answered, a deadline: the client sets none.
	if err := conn.SetReadDeadline(time.Now().Add(dialTimeout)); err != nil {
		conn.Close()
		return nil, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.conn = conn
	return conn, nil
}

// end notes the first cause to end the link and lets the session know.
func (l *link) end(cause error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.cause == nil {
		l.cause = cause
		l.deaf.Store(true)
		close(l.ended)
	}
}

func (l *link) why() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.cause
}

// receive is the MQTT client's handler: it only enqueues. What it does not
// take stays unacknowledged and comes again over the next link.
func (l *link) receive(m mqtt.Message) {
	if l.deaf.Load() {
		return
	}
	it := item{
		raw: lab.Raw{
			Topic: m.Topic(), Payload: m.Payload(), Retained: m.Retained(),
			Received: l.s.cfg.Clock.Now().UTC().Truncate(time.Millisecond),
		},
		came: time.Now(), link: l, ack: m.Ack, again: m.Qos() > 0,
	}
	if !l.s.queue.push(it) && !l.hold(it) {
		l.end(errQueueFull)
	}
}

// hold waits for room in the queue, and so reads nothing more meanwhile: the
// broker slows down instead of sending again what it has sent. false: there was
// none for so long that the broker would soon count us as gone.
func (l *link) hold(it item) bool {
	q := l.s.queue
	full := time.NewTimer(l.s.cfg.MaxHold)
	defer full.Stop()
	for {
		select {
		case <-q.room:
			if q.push(it) {
				return true
			}
		case <-l.ended:
			signal(q.room) // it may have been for the next link
			return true    // deaf: it comes again
		case <-full.C:
			return false
		}
	}
}

var (
	errQueueFull = errors.New("the queue is full: leaving the broker until it is stored")
	errStoreAway = errors.New("the store is unavailable: leaving the broker until it is back")
	errStopping  = errors.New("stopping")
)

// connect opens the session and subscribes.
func (l *link) connect(ctx context.Context) error {
	stop := context.AfterFunc(ctx, l.sever)
	defer stop()
	if _, err := l.resume(); err != nil {
		return err
	}
	sub := l.client.Subscribe(topics, 1, nil).(*mqtt.SubscribeToken)
	if !sub.WaitTimeout(dialTimeout) {
		return fmt.Errorf("subscribe to %s: no answer from broker in %v", topics, dialTimeout)
	}
	if err := sub.Error(); err != nil {
		return fmt.Errorf("subscribe to %s: %w", topics, err)
	}
	if qos, ok := sub.Result()[topics]; !ok || qos != 1 {
		return fmt.Errorf("subscribe to %s: QoS 1 is needed; the broker grants 0x%02x. Look at the access rules of user %q",
			topics, qos, l.s.cfg.Username)
	}
	return l.settled()
}

// resume opens the session; present tells whether the broker had one.
func (l *link) resume() (present bool, err error) {
	token := l.client.Connect().(*mqtt.ConnectToken)
	token.Wait() // bounded by the deadlines of dial and open
	if err := token.Error(); err != nil {
		return false, fmt.Errorf("connect to broker %s: %w", l.s.broker.Redacted(), err)
	}
	return token.SessionPresent(), nil
}

// settled lifts the deadline of the time before the broker had answered.
func (l *link) settled() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.conn.SetReadDeadline(time.Time{})
}

// sever closes the socket under the client.
func (l *link) sever() {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.conn != nil {
		l.conn.Close()
	}
}

// close leaves the broker; the session stays there.
func (l *link) close() {
	l.end(errStopping)
	l.client.Disconnect(250)
	l.gone.Store(true)
	l.sever()
}
