package labtest

import (
	"net"
	"net/url"
	"path/filepath"
	"sync"
	"testing"
	"time"
)

// Proxy stands between a program and a server and does to their connections
// what a network does: it delays, it swallows everything without a word, it
// cuts. It speaks TCP; what it forwards to may be a Unix socket. Make it with
// NewProxy.
type Proxy struct {
	listener      net.Listener
	network, addr string

	mu    sync.Mutex
	moved *sync.Cond // delay or hole changed, or it ended
	delay time.Duration
	hole  bool
	ended bool
	conns map[net.Conn]struct{}
	wg    sync.WaitGroup
}

// NewProxy listens on this machine and forwards to addr; it ends with the test.
func NewProxy(t testing.TB, network, addr string) *Proxy {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &Proxy{listener: l, network: network, addr: addr, conns: map[net.Conn]struct{}{}}
	p.moved = sync.NewCond(&p.mu)
	p.wg.Go(p.accept)
	t.Cleanup(p.close)
	return p
}

// Addr is where it listens.
func (p *Proxy) Addr() string { return p.listener.Addr().String() }

// Delay makes everything take so long, each way. It holds for what comes from
// now on.
func (p *Proxy) Delay(d time.Duration) { p.set(func() { p.delay = d }) }

// Hole swallows everything from now on and leaves all connections open, new
// ones too: neither end hears anything. Heal forgets those connections without
// a word and lets new ones pass.
func (p *Proxy) Hole() { p.set(func() { p.hole = true }) }

// Heal lets new connections pass; those that fell into the hole stay there.
func (p *Proxy) Heal() { p.set(func() { p.hole = false }) }

// Cut closes all connections; new ones pass.
func (p *Proxy) Cut() {
	p.set(func() {
		for c := range p.conns {
			c.Close()
		}
	})
}

func (p *Proxy) set(change func()) {
	p.mu.Lock()
	defer p.mu.Unlock()
	change()
	p.moved.Broadcast()
}

func (p *Proxy) close() {
	p.listener.Close()
	p.set(func() {
		p.ended = true
		for c := range p.conns {
			c.Close()
		}
	})
	p.wg.Wait()
}

func (p *Proxy) accept() {
	for {
		client, err := p.listener.Accept()
		if err != nil {
			return
		}
		p.wg.Go(func() { p.serve(client) })
	}
}

// link is one connection with its two ends.
type link struct {
	client, server net.Conn
	lost           bool // it fell into a hole
}

func (p *Proxy) serve(client net.Conn) {
	l := &link{client: client}
	if !p.keep(client) {
		return
	}
	defer p.drop(client)
	if p.await(l) {
		return
	}
	server, err := net.Dial(p.network, p.addr)
	if err != nil {
		return
	}
	l.server = server
	if !p.keep(server) {
		return
	}
	defer p.drop(server)
	var both sync.WaitGroup
	both.Go(func() { p.pump(l, client, server) })
	both.Go(func() { p.pump(l, server, client) })
	both.Wait()
}

func (p *Proxy) keep(c net.Conn) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.ended {
		c.Close()
		return false
	}
	p.conns[c] = struct{}{}
	return true
}

func (p *Proxy) drop(c net.Conn) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.conns, c)
	c.Close()
}

// await holds a link that fell into a hole until the end, and tells so.
func (p *Proxy) await(l *link) (lost bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	l.lost = l.lost || p.hole
	for l.lost && !p.ended {
		p.moved.Wait()
	}
	return l.lost
}

// piece is what came at once, and when it may go on.
type piece struct {
	b   []byte
	due time.Time
}

// pump carries one direction. What comes while another piece is delayed waits
// beside it, so that a delay is a distance and no narrow pipe.
func (p *Proxy) pump(l *link, from, to net.Conn) {
	pieces := make(chan piece, 1024)
	p.wg.Go(func() {
		defer close(pieces)
		buf := make([]byte, 32<<10)
		for {
			n, err := from.Read(buf)
			if p.await(l) {
				return
			}
			if n > 0 {
				p.mu.Lock()
				due := time.Now().Add(p.delay)
				p.mu.Unlock()
				pieces <- piece{append([]byte(nil), buf[:n]...), due}
			}
			if err != nil {
				return
			}
		}
	})
	failed := false
	for x := range pieces {
		if wait := time.Until(x.due); wait > 0 && !failed {
			time.Sleep(wait) // the distance itself, nothing is waited for
		}
		if failed = failed || p.await(l); failed {
			continue
		}
		if _, err := to.Write(x.b); err != nil {
			failed = true
		}
	}
	if half, ok := to.(interface{ CloseWrite() error }); ok && !failed {
		_ = half.CloseWrite() // it may be gone
		return
	}
	to.Close()
}

// BeforeDatabase puts a network between a program and the database of dbURL: the
// proxy, and the URL that leads through it. The database is one that listens
// on a Unix socket, as those of the tests do.
func BeforeDatabase(t testing.TB, dbURL string) (*Proxy, string) {
	t.Helper()
	u, err := url.Parse(dbURL)
	if err != nil {
		t.Fatal(err)
	}
	q := u.Query()
	p := NewProxy(t, "unix", filepath.Join(q.Get("host"), ".s.PGSQL."+q.Get("port")))
	host, port, err := net.SplitHostPort(p.Addr())
	if err != nil {
		t.Fatal(err)
	}
	q.Set("host", host)
	q.Set("port", port)
	u.RawQuery = q.Encode()
	return p, u.String()
}
