package web

import (
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/prometheus/client_golang/prometheus"

	"wetside/internal/lab"
)

// pipes is a network without buffers: what is not read is not written, so
// that a slow client is slow at once. It works under testing/synctest.
type pipes struct {
	conns chan net.Conn
	once  sync.Once
	done  chan struct{}
}

func newPipes() *pipes { return &pipes{conns: make(chan net.Conn), done: make(chan struct{})} }

func (p *pipes) Accept() (net.Conn, error) {
	select {
	case c := <-p.conns:
		return c, nil
	case <-p.done:
		return nil, net.ErrClosed
	}
}

func (p *pipes) Close() error { p.once.Do(func() { close(p.done) }); return nil }

func (p *pipes) Addr() net.Addr { return &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 8080} }

func (p *pipes) dial(context.Context, string, string) (net.Conn, error) {
	client, server := net.Pipe()
	select {
	case p.conns <- tcpNamed{server}:
		return client, nil
	case <-p.done:
		return nil, net.ErrClosed
	}
}

// tcpNamed gives a pipe an address like that of a real connection.
type tcpNamed struct{ net.Conn }

func (tcpNamed) RemoteAddr() net.Addr { return &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 50000} }

// liveSite is a server on pipes, for use inside a synctest bubble.
type liveSite struct {
	*shop
	t      *testing.T
	srv    *Server
	net    *pipes
	token  string
	served chan error
}

func newLiveSite(t *testing.T, edit ...func(*Config)) *liveSite {
	t.Helper()
	s := newShop().stock()
	s.users["Wren"] = lab.User{Name: "Wren", Role: lab.RoleViewer, PasswordHash: "of old"}
	cfg := Config{Store: s, Live: s, Desk: s, Sessions: sessionTable{s}, Registerer: prometheus.NewRegistry(),
		Log: slog.New(slog.NewTextHandler(t.Output(), nil))}
	for _, f := range edit {
		f(&cfg)
	}
	srv, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	if err := srv.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	x := &liveSite{shop: s, t: t, srv: srv, net: newPipes(), served: make(chan error, 1)}
	if x.token, err = CreateToken(t.Context(), s, "board", lab.RoleViewer, time.Time{}); err != nil {
		t.Fatal(err)
	}
	go func() { x.served <- srv.Serve(x.net) }()
	t.Cleanup(func() {
		if err := srv.Stop(context.Background()); err != nil {
			t.Error(err)
		}
		if err := <-x.served; err != nil {
			t.Error(err)
		}
	})
	return x
}

func (x *liveSite) dial(h http.Header) (*websocket.Conn, *http.Response, error) {
	d := websocket.Dialer{NetDialContext: x.net.dial, HandshakeTimeout: time.Minute}
	return d.DialContext(x.t.Context(), "ws://127.0.0.1:8080"+apiBase+"/live", h)
}

// open opens a socket with the token and closes it at the end.
func (x *liveSite) open() *websocket.Conn {
	x.t.Helper()
	return x.openWith(http.Header{"Authorization": {"Bearer " + x.token}})
}

func (x *liveSite) openWith(h http.Header) *websocket.Conn {
	x.t.Helper()
	c, _, err := x.dial(h)
	if err != nil {
		x.t.Fatal(err)
	}
	x.t.Cleanup(func() { c.Close() })
	return c
}

// session opens a session of Wren's and gives the header that shows it.
func (x *liveSite) session() http.Header {
	x.t.Helper()
	cookie, err := x.srv.openSession(x.t.Context(), &http.Request{Host: "127.0.0.1:8080"}, x.users["Wren"])
	if err != nil {
		x.t.Fatal(err)
	}
	return http.Header{"Cookie": {cookie.Name + "=" + cookie.Value}, "Origin": {"http://127.0.0.1:8080"}}
}

// heard is any frame.
type heard struct {
	Type   string
	At     lab.Time
	Units  []lab.Unit
	Alerts []lab.Alert
	Unit   lab.Unit
	Alert  lab.Alert
	raw    []byte
}

func hear(c *websocket.Conn) (heard, error) {
	var f heard
	_, b, err := c.ReadMessage()
	if err != nil {
		return f, err
	}
	f.raw = b
	return f, json.Unmarshal(b, &f)
}

// patience is how long a test listens for a frame that is not a beat: longer
// than anything that the server does on its own.
const patience = 15 * time.Minute

// next hears the next frame but beats. Beats come for ever, so waiting ends.
func next(t *testing.T, c *websocket.Conn) heard {
	t.Helper()
	for began := time.Now(); ; {
		f, err := hear(c)
		if err != nil {
			t.Fatal(err)
		}
		if f.Type != "beat" {
			return f
		}
		if time.Since(began) > patience {
			t.Fatalf("nothing but beats for %s", patience)
		}
	}
}

// heater changes plover's bath and publishes it.
func (x *liveSite) heat(c float64) {
	x.mu.Lock()
	u := x.units["tern-street/plover"]
	u.Bath.C = &c
	x.units[u.ID] = u
	x.mu.Unlock()
	x.srv.PublishUnits([]lab.Unit{u})
}

// raise puts an alert into the store and publishes it.
func (x *liveSite) raise(a lab.Alert) {
	x.mu.Lock()
	x.alerts[a.ID] = a
	x.mu.Unlock()
	x.srv.PublishAlerts([]lab.Alert{a})
}

func closeCode(err error) int {
	if ce, ok := errors.AsType[*websocket.CloseError](err); ok {
		return ce.Code
	}
	return 0
}
