package live

import (
	"bufio"
	"net"
	"net/http"
	"sync"
	"time"
)

// corkMost is how much is held back at most before it is sent all the same.
const corkMost = 64 << 10

// corked is a connection whose frames of one round go out in one call of the
// system: with a thousand boards open, calls are what a round costs.
type corked struct {
	net.Conn
	mu   sync.Mutex
	on   bool
	held *[]byte // of heldBuffers; nil: nothing is held
}

// heldBuffers are shared: only for moments does a board hold anything.
var heldBuffers = sync.Pool{New: func() any { return new(make([]byte, 0, corkMost)) }}

// Write implements net.Conn.
func (c *corked) Write(b []byte) (int, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.on && c.holds()+len(b) <= corkMost {
		if c.held == nil {
			c.held = heldBuffers.Get().(*[]byte)
		}
		*c.held = append(*c.held, b...)
		return len(b), nil
	}
	if err := c.send(); err != nil {
		return 0, err
	}
	return c.Conn.Write(b)
}

// cork holds back what is written from here on.
func (c *corked) cork() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.on = true
}

// uncork sends what was held back, within a time.
func (c *corked) uncork(within time.Duration) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.on = false
	if c.held == nil {
		return nil
	}
	if err := c.SetWriteDeadline(time.Now().Add(within)); err != nil {
		return err
	}
	return c.send()
}

func (c *corked) holds() int {
	if c.held == nil {
		return 0
	}
	return len(*c.held)
}

func (c *corked) send() error {
	if c.held == nil {
		return nil
	}
	_, err := c.Conn.Write(*c.held)
	*c.held = (*c.held)[:0]
	heldBuffers.Put(c.held)
	c.held = nil
	return err
}

// corking gives the handshake a connection that can be corked.
type corking struct {
	http.ResponseWriter
	conn *corked
}

// Hijack implements http.Hijacker.
func (w *corking) Hijack() (net.Conn, *bufio.ReadWriter, error) {
	conn, rw, err := http.NewResponseController(w.ResponseWriter).Hijack()
	if err != nil {
		return nil, nil, err
	}
	w.conn = &corked{Conn: conn}
	return w.conn, rw, nil
}
