package live

import (
	"sync"
	"time"

	"github.com/gorilla/websocket"

	"wetside/web/access"
)

// CloseSignedOut is the close code of a socket whose sign-in ended, from the
// range that RFC 6455 section 7.4.2 leaves to applications.
const CloseSignedOut = 4401

// readLimit bounds what a client may send: nothing is expected of it.
const readLimit = 4 << 10

// client is one open socket, with one goroutine that reads and one that
// writes. It holds no queue but a set: for each thing that changed, the newest
// frame of it.
type client struct {
	hub  *Hub
	conn *websocket.Conn
	out  *corked // under conn
	who  access.Identity
	asOf int64 // hub.withdrawn just before who was authenticated: see attend

	wake chan struct{} // capacity 1, coalesces
	done chan struct{} // closed by close

	mu    sync.Mutex
	fresh bool // a snapshot is due; marks are not kept until then
	dirty map[string]*mark
	order []*mark // of dirty, by since

	once   sync.Once
	code   int
	reason string
}

// mark is one thing that this client has not been told yet.
type mark struct {
	frame *frame
	since time.Time
}

func newClient(h *Hub, conn *websocket.Conn, who access.Identity) *client {
	c := &client{hub: h, conn: conn, who: who, fresh: true,
		wake: make(chan struct{}, 1), done: make(chan struct{}), dirty: map[string]*mark{}}
	c.wake <- struct{}{}
	return c
}

// mark notes frames for the client. It never blocks.
func (c *client) mark(frames []*frame) {
	c.mu.Lock()
	if !c.fresh {
		now := time.Now()
		for _, f := range frames {
			if m, ok := c.dirty[f.key]; ok {
				m.frame = f
				continue
			}
			m := &mark{frame: f, since: now}
			c.dirty[f.key] = m
			c.order = append(c.order, m)
		}
	}
	c.mu.Unlock()
	select {
	case c.wake <- struct{}{}:
	default:
	}
}

// next gives what to send next: a snapshot for a client that is new or fell
// behind, else the oldest change; nil when it has been told all.
func (c *client) next() (*frame, error) {
	c.mu.Lock()
	if !c.fresh && len(c.order) > 0 && time.Since(c.order[0].since) > c.hub.timing.Lag {
		c.fresh = true
		c.hub.counts.lagged.Inc()
	}
	if c.fresh {
		// The marks are dropped before the state is read, never after: see Hub.
		c.fresh = false
		c.order = nil
		clear(c.dirty)
		c.mu.Unlock()
		return c.hub.snapshot()
	}
	defer c.mu.Unlock()
	if len(c.order) == 0 {
		return nil, nil
	}
	m := c.order[0]
	c.order = c.order[1:]
	delete(c.dirty, m.frame.key)
	return m.frame, nil
}

// close ends the socket; the writer tells the client why.
func (c *client) close(code int, reason string) {
	c.once.Do(func() {
		c.code, c.reason = code, reason
		close(c.done)
		// A writer stuck in a frame would hold up whoever waits for it: Stop.
		_ = c.conn.NetConn().SetWriteDeadline(time.Now().Add(time.Second))
	})
}

// write is the writer goroutine.
func (c *client) write() {
	cfg := c.hub.timing
	beat := time.NewTicker(cfg.Beat)
	defer beat.Stop()
	ping := time.NewTicker(cfg.Ping)
	defer ping.Stop()
	defer c.conn.Close()
	for {
		ok := true
		select {
		case <-c.done:
			c.farewell()
			return
		case <-c.wake:
			ok = c.flush()
		case <-beat.C:
			ok = c.beat()
		case <-ping.C:
			ok = c.conn.WriteControl(websocket.PingMessage, nil, time.Now().Add(cfg.WriteWait)) == nil
		}
		if !ok {
			c.close(websocket.CloseAbnormalClosure, "")
			return
		}
	}
}

// flush sends until the client has been told all or the socket is closed, in
// as few writes as it takes.
func (c *client) flush() bool {
	c.out.cork()
	ok := c.sendAll()
	within := c.hub.timing.WriteWait
	select {
	case <-c.done:
		within = min(within, time.Second) // whoever waits for the end is not held up
	default:
	}
	return c.out.uncork(within) == nil && ok
}

func (c *client) sendAll() bool {
	for {
		select {
		case <-c.done:
			return true // write sees it too, and tells the client why
		default:
		}
		f, err := c.next()
		if err != nil {
			c.hub.log.Error("cannot make a snapshot", "error", err)
			return false
		}
		if f == nil {
			return true
		}
		if !c.put(f) {
			return false
		}
	}
}

func (c *client) beat() bool {
	f, err := c.hub.beat()
	return err == nil && c.put(f)
}

func (c *client) put(f *frame) bool {
	if c.conn.SetWriteDeadline(time.Now().Add(c.hub.timing.WriteWait)) != nil {
		return false
	}
	c.conn.EnableWriteCompression(c.hub.crowded.Load())
	if c.conn.WritePreparedMessage(f.msg) != nil {
		return false
	}
	c.hub.counts.frames.WithLabelValues(f.kind).Inc()
	return true
}

func (c *client) farewell() {
	if c.code == websocket.CloseAbnormalClosure {
		return // the connection is gone
	}
	msg := websocket.FormatCloseMessage(c.code, c.reason)
	_ = c.conn.WriteControl(websocket.CloseMessage, msg, time.Now().Add(time.Second)) // it may be gone
}

// read is the reader goroutine: it sees pongs and the end of the connection.
func (c *client) read() {
	defer c.close(websocket.CloseAbnormalClosure, "")
	wait := c.hub.timing.PongWait
	c.conn.SetReadLimit(readLimit)
	extend := func(string) error { return c.conn.SetReadDeadline(time.Now().Add(wait)) }
	c.conn.SetPongHandler(extend)
	if extend("") != nil {
		return
	}
	for {
		if _, _, err := c.conn.ReadMessage(); err != nil {
			return
		}
	}
}
