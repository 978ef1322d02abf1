package sim

import (
	"crypto/tls"
	"errors"
	"io"
	"net"
	"net/url"
	"sync"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"wetside/internal/lab"
)

// connection is one connection of one unit.
type connection struct {
	client mqtt.Client
	mu     sync.Mutex
	conn   net.Conn
	lost   chan struct{} // closed when the connection is lost
}

const dialWait = 5 * time.Second

// dial connects a unit with its own will, with a clean session and without the
// client's automatic reconnection: the publisher decides when to connect.
func dial(o *unitPublisher) (*connection, error) {
	w := &connection{lost: make(chan struct{})}
	user, password := o.p.cfg.Username, o.p.cfg.Password
	if o.p.cfg.Credentials != nil {
		user, password = o.p.cfg.Credentials(o.id.Unit)
	}
	opts := mqtt.NewClientOptions().AddBroker(o.p.url.String()).
		SetClientID("unit-"+o.id.Lab+"-"+o.id.Unit).SetProtocolVersion(4).
		SetUsername(user).SetPassword(password).
		SetCleanSession(true).SetAutoReconnect(false).SetConnectRetry(false).
		SetKeepAlive(o.keep).SetPingTimeout(o.keep/3).
		SetConnectTimeout(dialWait).SetWriteTimeout(dialWait).
		SetBinaryWill(lab.Topic(o.id, lab.ChannelStatus), will, 1, true).
		SetConnectionLostHandler(func(mqtt.Client, error) { close(w.lost) }).
		SetCustomOpenConnectionFn(func(u *url.URL, _ mqtt.ClientOptions) (net.Conn, error) { return w.open(u, o.p.cfg.TLS) })
	w.client = mqtt.NewClient(opts)
	token := w.client.Connect()
	if !token.WaitTimeout(2 * dialWait) {
		w.cut()
		return nil, errors.New("no answer to CONNECT")
	}
	if err := token.Error(); err != nil {
		w.cut()
		return nil, err
	}
	return w, nil
}

// open dials, and keeps the socket so that it can be cut.
func (w *connection) open(u *url.URL, secure *tls.Config) (net.Conn, error) {
	d := &net.Dialer{Timeout: dialWait}
	var conn net.Conn
	var err error
	switch u.Scheme {
	case "tcp", "mqtt":
		conn, err = d.Dial("tcp", withPort(u, "1883"))
	default:
		config := &tls.Config{MinVersion: tls.VersionTLS12}
		if secure != nil {
			config = secure.Clone()
		}
		config.ServerName = u.Hostname()
		conn, err = tls.DialWithDialer(d, "tcp", withPort(u, "8883"), config)
	}
	if err != nil {
		return nil, err
	}
	w.mu.Lock()
	w.conn = conn
	w.mu.Unlock()
	return cuttableConn{conn}, nil
}

// cuttableConn reports, once it is cut, the end of the stream in place of a
// closed socket: an error of a closed socket the client would take for its own
// doing, and wait.
type cuttableConn struct{ net.Conn }

// Read implements net.Conn.
func (c cuttableConn) Read(b []byte) (int, error) {
	n, err := c.Conn.Read(b)
	if errors.Is(err, net.ErrClosed) {
		err = io.EOF
	}
	return n, err
}

// Write implements net.Conn.
func (c cuttableConn) Write(b []byte) (int, error) {
	n, err := c.Conn.Write(b)
	if errors.Is(err, net.ErrClosed) {
		err = io.ErrClosedPipe
	}
	return n, err
}

func withPort(u *url.URL, port string) string {
	if p := u.Port(); p != "" {
		port = p
	}
	return net.JoinHostPort(u.Hostname(), port)
}

// cut closes the socket under the client, as a broken cable does: the broker
// hears no farewell and publishes the will.
func (w *connection) cut() {
	w.mu.Lock()
	conn := w.conn
	w.mu.Unlock()
	if conn != nil {
		_ = conn.Close() // it is to be gone; how does not matter
	}
	if w.client.IsConnected() {
		select {
		case <-w.lost:
		case <-time.After(dialWait):
		}
	}
	w.client.Disconnect(0) // what is left of the client's goroutines
}

// disconnect disconnects in order: the broker forgets the will.
func (w *connection) disconnect() { w.client.Disconnect(250) }
