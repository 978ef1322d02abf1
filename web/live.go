package web

import (
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"

	"github.com/gorilla/websocket"

	"wetside/internal/lab"
)

// origins are the origins of pages that may open the live socket and change
// things, besides those of the host that is asked.
type origins map[string]struct{}

func newOrigins(list []string) origins {
	o := origins{}
	for _, s := range list {
		o[strings.ToLower(s)] = struct{}{}
	}
	return o
}

// admits tells whether a page that a request comes from may open a socket. A
// request that names no origin comes from no page: it must bring a token,
// because a cookie is sent by browsers only.
func (o origins) admits(r *http.Request, who identity) bool {
	origin := r.Header.Get("Origin")
	if origin == "" {
		return who.token != ""
	}
	if _, ok := o[strings.ToLower(origin)]; ok {
		return true
	}
	u, err := url.Parse(origin)
	return err == nil && strings.EqualFold(u.Host, r.Host)
}

var writeBuffers sync.Pool

var upgrader = websocket.Upgrader{
	HandshakeTimeout: 10 * time.Second,
	ReadBufferSize:   1 << 10,
	WriteBufferSize:  8 << 10,
	WriteBufferPool:  &writeBuffers,
	CheckOrigin:      func(*http.Request) bool { return true }, // serveLive has looked
	Error: func(w http.ResponseWriter, _ *http.Request, status int, err error) {
		writeProblem(w, status, "the WebSocket handshake is not right: "+err.Error())
	},
}

// serveLive is GET /api/v1/live.
func (s *Server) serveLive(w http.ResponseWriter, r *http.Request) {
	who, err := s.authenticate(r)
	if err != nil {
		s.deny(w, r, err)
		return
	}
	if !who.may(lab.RoleViewer) {
		writeProblem(w, http.StatusForbidden, "the live view needs the role viewer")
		return
	}
	if !websocket.IsWebSocketUpgrade(r) {
		w.Header().Set("Upgrade", "websocket")
		writeProblem(w, http.StatusUpgradeRequired, "this is a WebSocket; its frames are described in "+apiBase+"/asyncapi.yaml")
		return
	}
	if !s.origins.admits(r, who) {
		writeProblem(w, http.StatusForbidden,
			"pages of origin "+quoteOrNone(r.Header.Get("Origin"))+" may not open the live view; add it to the origins in the configuration if they should")
		return
	}
	if why := s.hub.full(); why != "" {
		w.Header().Set("Retry-After", "5")
		writeProblem(w, http.StatusServiceUnavailable, why)
		return
	}
	conn, err := upgrader.Upgrade(w, r, nil)
	if err != nil {
		return // Upgrade has answered
	}
	s.hub.attend(newClient(s.hub, conn, who))
}

func quoteOrNone(origin string) string {
	if origin == "" {
		return "(none sent)"
	}
	return `"` + origin + `"`
}

// full says why no more sockets are taken, "" where they are.
func (h *hub) full() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	switch {
	case h.ended:
		return "wetside is stopping"
	case !h.loaded:
		return "the live view is not up yet; try again in a moment"
	case len(h.clients) >= h.s.cfg.Socket.MaxClients:
		return "too many live views are open"
	}
	return ""
}

// attend serves a client until it goes.
func (h *hub) attend(c *client) {
	h.mu.Lock()
	if h.ended {
		h.mu.Unlock()
		c.conn.Close()
		return
	}
	h.clients[c] = struct{}{}
	h.s.metrics.clients.Set(float64(len(h.clients)))
	h.wg.Add(1)
	h.mu.Unlock()
	defer h.wg.Done()

	written := make(chan struct{})
	go func() {
		defer close(written)
		c.write() // closes the connection, which ends the reader
	}()
	c.read()
	<-written

	h.mu.Lock()
	delete(h.clients, c)
	h.s.metrics.clients.Set(float64(len(h.clients)))
	h.mu.Unlock()
}
