package torture

import (
	"net"
	"net/url"
	"sync"
	"testing"
	"time"
)

// proxy stands between wetside and what it depends on, and can cut the cable
// or let everything vanish in it.
type proxy struct {
	network, to string
	listener    net.Listener
	mu          sync.Mutex
	hole        chan struct{} // open: nothing gets through, nobody is told; nil: it does
	delay       time.Duration // each way
	conns       map[net.Conn]bool
	wg          sync.WaitGroup
}

func newProxy(t testing.TB, network, to string) *proxy {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &proxy{network: network, to: to, listener: l, conns: map[net.Conn]bool{}}
	p.wg.Go(p.accept)
	t.Cleanup(func() {
		l.Close()
		p.through()
		p.cut()
		p.wg.Wait()
	})
	return p
}

func (p *proxy) addr() string { return p.listener.Addr().String() }

// database is the address of the database behind it.
func (p *proxy) database() string {
	return "postgres://wetside@" + p.addr() + "/wetside?sslmode=disable"
}

func socketOf(t testing.TB, database string) string {
	t.Helper()
	u, err := url.Parse(database)
	if err != nil {
		t.Fatal(err)
	}
	return u.Query().Get("host")
}

func (p *proxy) accept() {
	for {
		near, err := p.listener.Accept()
		if err != nil {
			return
		}
		p.keep(near, true)
		p.wg.Go(func() { p.join(near) })
	}
}

func (p *proxy) keep(c net.Conn, on bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if on {
		p.conns[c] = true
	} else {
		delete(p.conns, c)
	}
}

// join carries bytes both ways until one end closes.
func (p *proxy) join(near net.Conn) {
	defer near.Close()
	defer p.keep(near, false)
	p.wait()
	far, err := net.Dial(p.network, p.to)
	if err != nil {
		return
	}
	defer far.Close()
	p.keep(far, true)
	defer p.keep(far, false)
	var both sync.WaitGroup
	both.Go(func() { p.carry(far, near) })
	p.carry(near, far)
	both.Wait()
}

func (p *proxy) carry(to, from net.Conn) {
	defer to.Close()
	defer from.Close()
	buf := make([]byte, 32<<10)
	for {
		n, err := from.Read(buf)
		p.wait()
		if n > 0 {
			if _, err := to.Write(buf[:n]); err != nil {
				return
			}
		}
		if err != nil {
			return
		}
	}
}

// wait waits while everything vanishes.
func (p *proxy) wait() {
	p.mu.Lock()
	hole, delay := p.hole, p.delay
	p.mu.Unlock()
	if delay > 0 {
		time.Sleep(delay) // the length of the cable
	}
	if hole != nil {
		<-hole
	}
}

// far makes everything take so long each way; 0: no longer.
func (p *proxy) far(delay time.Duration) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.delay = delay
}

// vanish lets everything that is sent from now on stay away, with the
// connections open: a cable pulled out, a switch without power.
func (p *proxy) vanish() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.hole == nil {
		p.hole = make(chan struct{})
	}
}

// through ends it. What was held is lost with its connection.
func (p *proxy) through() {
	p.mu.Lock()
	hole := p.hole
	p.hole = nil
	p.mu.Unlock()
	if hole != nil {
		p.cut()
		close(hole)
	}
}

// cut ends all connections at once.
func (p *proxy) cut() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for c := range p.conns {
		if tcp, ok := c.(*net.TCPConn); ok {
			_ = tcp.SetLinger(0) // a reset, not a farewell
		}
		c.Close()
	}
}
