package live

import (
	"fmt"
	"net/http"
	"sync"
	"time"

	"github.com/gorilla/websocket"

	"wetside/internal/lab"
	"wetside/web/problem"
)

var writeBuffers sync.Pool

var upgrader = websocket.Upgrader{
	HandshakeTimeout: 10 * time.Second,
	ReadBufferSize:   1 << 10,
	WriteBufferSize:  8 << 10,
	WriteBufferPool:  &writeBuffers,
	// Browsers offer it (RFC 7692). Used where a crowd looks on.
	EnableCompression: true,
	CheckOrigin:       func(*http.Request) bool { return true }, // ServeHTTP has looked
	Error: func(w http.ResponseWriter, _ *http.Request, status int, err error) {
		problem.Write(w, status, "the WebSocket handshake is not right: "+err.Error())
	},
}

// ServeHTTP opens a socket for who may look, and serves it until it goes.
func (h *Hub) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	asOf := h.withdrawn.Load()
	who, err := h.access.Authenticate(r)
	if err != nil {
		h.access.Deny(w, r, err)
		return
	}
	if !who.May(lab.RoleViewer) {
		problem.Write(w, http.StatusForbidden, "the live view needs the role viewer")
		return
	}
	if !websocket.IsWebSocketUpgrade(r) {
		w.Header().Set("Upgrade", "websocket")
		problem.Write(w, http.StatusUpgradeRequired, "this is a WebSocket; its frames are described in "+h.docs)
		return
	}
	if !h.access.MayOpenSocket(r, who) {
		problem.Write(w, http.StatusForbidden,
			"pages of origin "+quoteOrNone(r.Header.Get("Origin"))+" may not open the live view; add it to the origins in the configuration if they should")
		return
	}
	c := newClient(h, nil, who)
	if status, why := h.takePlace(c); why != "" {
		w.Header().Set("Retry-After", "5")
		problem.Write(w, status, why)
		return
	}
	defer h.leavePlace(c)
	to := &corking{ResponseWriter: w}
	conn, err := upgrader.Upgrade(to, r, nil)
	if err != nil {
		return // Upgrade has answered
	}
	c.conn, c.out, c.asOf = conn, to.conn, asOf
	h.attend(c)
}

func quoteOrNone(origin string) string {
	if origin == "" {
		return "(none sent)"
	}
	return `"` + origin + `"`
}

// takePlace counts a socket before its handshake, so that many that come at
// once are counted too. It says why no more are taken, "" where they are.
func (h *Hub) takePlace(c *client) (status int, why string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	switch {
	case h.ended:
		return http.StatusServiceUnavailable, "wetside is stopping"
	case !h.loaded:
		return http.StatusServiceUnavailable, "the live view is not up yet; try again in a moment"
	case len(h.places) >= h.timing.MaxClients:
		return http.StatusServiceUnavailable, "too many live views are open"
	}
	of := 0
	for other := range h.places {
		if other.who.Name == c.who.Name && other.who.ByToken() == c.who.ByToken() {
			of++
		}
	}
	if of >= h.timing.MaxOfOne {
		return http.StatusTooManyRequests, fmt.Sprintf("%s has %d live views open, and no more are taken; close some", c.who.Name, of)
	}
	h.places[c] = struct{}{}
	return 0, ""
}

func (h *Hub) leavePlace(c *client) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.places, c)
}

// attend serves a client until it goes.
func (h *Hub) attend(c *client) {
	h.mu.Lock()
	if h.ended {
		h.mu.Unlock()
		c.conn.Close()
		return
	}
	h.clients[c] = struct{}{}
	h.counts.clients.Set(float64(len(h.clients)))
	h.wg.Add(1)
	h.mu.Unlock()
	defer h.wg.Done()
	if h.withdrawn.Load() != c.asOf { // something was withdrawn after we looked: maybe this
		h.recheckNow()
	}

	written := make(chan struct{})
	go func() {
		defer close(written)
		c.write() // closes the connection, which ends the reader
	}()
	c.read()
	<-written

	h.mu.Lock()
	delete(h.clients, c)
	h.counts.clients.Set(float64(len(h.clients)))
	h.mu.Unlock()
}
