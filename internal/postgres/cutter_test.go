package postgres_test

import (
	"io"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"sync"
	"testing"
)

// cutter stands between a store and the server and can cut all connections
// without the server hearing of it.
type cutter struct {
	url    string
	target string
	wg     sync.WaitGroup

	mu    sync.Mutex
	down  bool
	ours  []net.Conn // towards the store
	outer []net.Conn // towards the server
}

func newCutter(t *testing.T, dsn string) *cutter {
	t.Helper()
	u, err := url.Parse(dsn)
	if err != nil {
		t.Fatal(err)
	}
	dir, err := os.MkdirTemp("", "wetside-cutter-") // short: it is a socket's path
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("unix", filepath.Join(dir, ".s.PGSQL.5432"))
	if err != nil {
		t.Fatal(err)
	}
	q := u.Query()
	c := &cutter{target: filepath.Join(q.Get("host"), ".s.PGSQL.5432")}
	q.Set("host", dir)
	u.RawQuery = q.Encode()
	c.url = u.String()
	c.wg.Go(func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			c.join(conn)
		}
	})
	t.Cleanup(func() {
		l.Close()
		c.cut()
		c.mu.Lock()
		for _, s := range c.outer {
			s.Close()
		}
		c.mu.Unlock()
		c.wg.Wait()
		os.RemoveAll(dir)
	})
	return c
}

func (c *cutter) join(conn net.Conn) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.down {
		conn.Close()
		return
	}
	server, err := net.Dial("unix", c.target)
	if err != nil {
		conn.Close()
		return
	}
	c.ours, c.outer = append(c.ours, conn), append(c.outer, server)
	c.wg.Go(func() { _, _ = io.Copy(server, conn) })
	c.wg.Go(func() { _, _ = io.Copy(conn, server); conn.Close() })
}

// cut breaks the connections on the store's side; the server's side stays.
func (c *cutter) cut() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.down = true
	for _, conn := range c.ours {
		conn.Close()
	}
	c.ours = nil
}

// mend lets new connections through.
func (c *cutter) mend() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.down = false
}
