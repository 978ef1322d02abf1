package live

import (
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"maps"
	"net"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/goleak"

	"wetside/internal/lab"
	"wetside/web/access"
	"wetside/web/access/accesstest"
)

func TestMain(m *testing.M) {
	accesstest.CheapPasswords()
	goleak.VerifyTestMain(m)
}

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

// site is a hub on pipes, over people, units and alerts in memory, for use
// inside a synctest bubble.
type site struct {
	*accesstest.Store
	alerts  map[string]lab.Alert
	units   map[string]lab.Unit
	onUnits func() // called once, after the units were read

	t      *testing.T
	hub    *Hub
	access *access.Authenticator
	net    *pipes
	token  string
}

const path = "/api/v1/live"

func newSite(t *testing.T, edit ...func(*Config)) *site {
	t.Helper()
	x := &site{Store: accesstest.New(), t: t, net: newPipes(), alerts: map[string]lab.Alert{"a-1": someAlert("a-1")}, units: map[string]lab.Unit{
		"tern-street/plover": {ID: "tern-street/plover", Name: "plover", Bath: lab.Bath{C: new(37.9)}},
		"tern-street/heron":  {ID: "tern-street/heron", Name: "heron"},
	}}
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	cfg := Config{Units: x, Alerts: x, Docs: "/api/v1/asyncapi.yaml", Registerer: prometheus.NewRegistry(), Clock: lab.SystemClock{}, Log: log}
	x.access = access.New(access.Config{Store: x, Sessions: accesstest.Sessions{Store: x.Store}, Registerer: prometheus.NewRegistry(),
		Clock: lab.SystemClock{}, Log: log, Origins: []string{"https://board.example"}, Key: []byte("of a test")})
	cfg.Access = x.access
	for _, f := range edit {
		f(&cfg)
	}
	x.hub = New(cfg)
	var err error
	if err := access.CreateUser(t.Context(), x, "Wren", lab.RoleViewer, "correct horse"); err != nil {
		t.Fatal(err)
	}
	if x.token, err = access.CreateToken(t.Context(), x, "board", lab.RoleViewer, time.Time{}); err != nil {
		t.Fatal(err)
	}
	if err := x.hub.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.Handle("GET "+path, x.hub)
	srv, served := &http.Server{Handler: mux}, make(chan error, 1)
	go func() { served <- srv.Serve(x.net) }()
	t.Cleanup(func() {
		x.hub.Stop()
		if err := srv.Shutdown(context.Background()); err != nil {
			t.Error(err)
		}
		if err := <-served; !errors.Is(err, http.ErrServerClosed) {
			t.Error(err)
		}
	})
	return x
}

func (x *site) Alerts(_ context.Context, f lab.AlertFilter) ([]lab.Alert, error) {
	defer x.Lock()()
	if x.Broken != nil {
		return nil, x.Broken
	}
	var out []lab.Alert
	for _, a := range x.alerts {
		if (a.State != lab.Closed) == *f.Open {
			out = append(out, a)
		}
	}
	slices.SortFunc(out, newestFirst)
	return out[:min(len(out), f.Limit)], nil
}

func (x *site) Alert(_ context.Context, id string) (lab.Alert, error) {
	defer x.Lock()()
	a, ok := x.alerts[id]
	if x.Broken != nil {
		return a, x.Broken
	}
	if !ok {
		return a, lab.Errorf(lab.KindNotFound, "there is no alert %q", id)
	}
	return a, nil
}

func (x *site) Unit(id lab.UnitID) (lab.Unit, bool) {
	defer x.Lock()()
	u, ok := x.units[id.String()]
	return u, ok
}

func (x *site) View(u lab.Unit) lab.Unit {
	if ids, ok := x.hub.OpenAlerts(u.ID); ok {
		u.OpenAlerts = ids
	}
	return u
}

func (x *site) Views() []lab.Unit {
	x.Mu.Lock()
	all := slices.SortedFunc(maps.Values(x.units), func(a, b lab.Unit) int { return strings.Compare(a.ID, b.ID) })
	hook := x.onUnits
	x.onUnits = nil
	x.Mu.Unlock()
	if hook != nil {
		hook()
	}
	for i := range all {
		all[i] = x.View(all[i])
	}
	return all
}

func (x *site) Reload(context.Context) error { return nil }

// acknowledge does so in the store, and publishes nothing.
func (x *site) acknowledge(id, by string) {
	defer x.Lock()()
	a := x.alerts[id]
	a.State, a.AcknowledgedAt, a.AcknowledgedBy = lab.Acknowledged, lab.AtPtr(t0), by
	x.alerts[id] = a
}

var t0 = time.Date(2026, 3, 1, 9, 30, 0, 0, time.UTC)

var errStore = errors.New("the database is away: secret particulars")

func someAlert(id string) lab.Alert {
	return lab.Alert{ID: id, Rule: "bath-temperature", Unit: "tern-street/plover", Run: "run-1", Step: "developer",
		Priority: lab.Urgent, State: lab.Unacknowledged, Occurrence: 1, RaisedAt: lab.At(t0), NoticedAt: lab.At(t0),
		Message: "The developer is too warm.", Consequence: "The film is being pushed.", Response: "Cool it.", Facts: map[string]any{"c": 38.4}}
}

func (x *site) dial(h http.Header) (*websocket.Conn, *http.Response, error) {
	d := websocket.Dialer{NetDialContext: x.net.dial, HandshakeTimeout: time.Minute}
	return d.DialContext(x.t.Context(), "ws://127.0.0.1:8080"+path, h)
}

// byToken is what a program sends.
func byToken(token string) http.Header { return http.Header{"Authorization": {"Bearer " + token}} }

// open opens a socket with the token and closes it at the end.
func (x *site) open() *websocket.Conn {
	x.t.Helper()
	return x.openWith(byToken(x.token))
}

func (x *site) openWith(h http.Header) *websocket.Conn {
	x.t.Helper()
	c, _, err := x.dial(h)
	if err != nil {
		x.t.Fatal(err)
	}
	x.t.Cleanup(func() { c.Close() })
	return c
}

// session signs Wren in and gives the header that shows it, and who it is.
func (x *site) session() (http.Header, access.Identity) {
	x.t.Helper()
	in, err := x.access.SignIn(httptest.NewRequest("POST", "http://127.0.0.1:8080/", nil), "Wren", "correct horse")
	if err != nil {
		x.t.Fatal(err)
	}
	return http.Header{"Cookie": {in.Cookies[0].Name + "=" + in.Cookies[0].Value}, "Origin": {"http://127.0.0.1:8080"}}, in.Who
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

// heat changes plover's bath and publishes it.
func (x *site) heat(c float64) {
	x.Mu.Lock()
	u := x.units["tern-street/plover"]
	u.Bath.C = &c
	x.units[u.ID] = u
	x.Mu.Unlock()
	x.hub.PublishUnits([]lab.Unit{u})
}

// raise puts an alert into the store and publishes it.
func (x *site) raise(a lab.Alert) {
	x.Mu.Lock()
	x.alerts[a.ID] = a
	x.Mu.Unlock()
	x.hub.PublishAlerts([]lab.Alert{a})
}

func closeCode(err error) int {
	if ce, ok := errors.AsType[*websocket.CloseError](err); ok {
		return ce.Code
	}
	return 0
}
