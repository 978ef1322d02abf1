package ingest

import (
	"bufio"
	"net"
	"sync"
	"time"
)

const (
	writeTimeout = 10 * time.Second
	ackPause     = 2 * time.Millisecond // an acknowledgment waits so long for others at most
	ackRoom      = 4 << 10              // bytes of them
)

// bufferedConn reads through a buffer, which drains a backlog nearly twice as
// fast, and lets acknowledgments go out together: one by one they cost us and
// the broker a call of the system each. Every write has a deadline: the MQTT
// client sets none for acknowledgments, and a peer that no longer reads would
// hold them for ever.
type bufferedConn struct {
	net.Conn
	r *bufio.Reader

	mu    sync.Mutex
	acks  []byte // written by the client, not sent yet
	flush *time.Timer
	err   error // of the first write that failed
}

func newBufferedConn(conn net.Conn) *bufferedConn {
	c := &bufferedConn{Conn: conn, r: bufio.NewReaderSize(conn, 64<<10)}
	c.flush = time.AfterFunc(time.Hour, c.sendAcks)
	c.flush.Stop()
	return c
}

func (c *bufferedConn) Read(b []byte) (int, error) { return c.r.Read(b) }

// Write sends at once whatever is no acknowledgment, behind those that wait.
func (c *bufferedConn) Write(b []byte) (int, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	first := len(c.acks) == 0
	c.acks = append(c.acks, b...)
	if c.err == nil && isAck(b) && len(c.acks) < ackRoom {
		if first {
			c.flush.Reset(ackPause)
		}
		return len(b), nil
	}
	if c.send(); c.err != nil {
		return 0, c.err
	}
	return len(b), nil
}

// isAck tells whether b is one PUBACK (MQTT 3.1.1, section 3.4).
func isAck(b []byte) bool { return len(b) == 4 && b[0] == 0x40 && b[1] == 2 }

func (c *bufferedConn) sendAcks() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.send(); c.err != nil {
		c.Conn.Close() // the client hears of it by its read
	}
}

func (c *bufferedConn) send() {
	if c.err != nil || len(c.acks) == 0 {
		return
	}
	if c.err = c.SetWriteDeadline(time.Now().Add(writeTimeout)); c.err == nil {
		_, c.err = c.Conn.Write(c.acks)
	}
	c.acks = c.acks[:0]
}

// Close implements net.Conn.
func (c *bufferedConn) Close() error {
	c.flush.Stop()
	return c.Conn.Close()
}
