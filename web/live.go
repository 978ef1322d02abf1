package web

import (
	"fmt"
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
	asOf := s.hub.withdrawn.Load()
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
	c := newClient(s.hub, nil, who)
	if status, why := s.hub.takePlace(c); why != "" {
		w.Header().Set("Retry-After", "5")
		writeProblem(w, status, why)
		return
	}
	defer s.hub.leavePlace(c)
	conn, err := upgrader.Upgrade(w, r, nil)
	if err != nil {
		return // Upgrade has answered
	}
	c.conn, c.asOf = conn, asOf
	s.hub.attend(c)
}

func quoteOrNone(origin string) string {
	if origin == "" {
		return "(none sent)"
	}
	return `"` + origin + `"`
}

// takePlace counts a socket before its handshake, so that many that come at
// once are counted too. It says why no more are taken, "" where they are.
func (h *hub) takePlace(c *client) (status int, why string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	switch {
	case h.ended:
		return http.StatusServiceUnavailable, "wetside is stopping"
	case !h.loaded:
		return http.StatusServiceUnavailable, "the live view is not up yet; try again in a moment"
	case len(h.places) >= h.s.cfg.Socket.MaxClients:
		return http.StatusServiceUnavailable, "too many live views are open"
	}
	of := 0
	for other := range h.places {
		if other.who.Name == c.who.Name && (other.who.token == "") == (c.who.token == "") {
			of++
		}
	}
	if of >= h.s.cfg.Socket.MaxOfOne {
		return http.StatusTooManyRequests, fmt.Sprintf("%s has %d live views open, and no more are taken; close some", c.who.Name, of)
	}
	h.places[c] = struct{}{}
	return 0, ""
}

func (h *hub) leavePlace(c *client) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.places, c)
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
	if h.withdrawn.Load() != c.asOf { // something was withdrawn in between
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
	h.s.metrics.clients.Set(float64(len(h.clients)))
	h.mu.Unlock()
}
