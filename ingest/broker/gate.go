package broker

import (
	"context"
	"crypto/tls"
	"errors"
	"log/slog"
	"net"
	"sync"
	"time"

	"wetside/internal/lab"
	"wetside/internal/service"
)

// gate is where units and the lab's programs connect. It reads every packet
// before the engine does, and lets through only what they may do: the engine's
// own permissions know no retain flag, no client ids, no share of a unit, and
// say nothing of what they refuse. The engine itself listens on loopback and
// knows two users only, the monitor and the gate.
type gate struct {
	listener net.Listener
	engine   string // address of the engine
	secret   string // by which the engine knows the gate
	auth     *authenticator
	shares   *shares
	retained *retained
	refused  func(lab.Refusal)
	log      *slog.Logger

	ctx    context.Context
	cancel context.CancelFunc
	wg     sync.WaitGroup

	mu       sync.Mutex
	guests   map[*guest]bool
	knocks   map[string]int // connections by address that have not signed in
	knocking int            // all of them
	perUnit  map[lab.UnitID]int
}

const (
	// mostGuests bounds the connections, mostOfUnit those of one unit's key,
	// mostKnocks those of one address that have not signed in yet.
	mostGuests = 4096
	mostOfUnit = 16
	mostKnocks = 1024
	// signInWithin is how long a connection may take to say who it is.
	signInWithin = 10 * time.Second
)

// serve takes connections until close.
func (g *gate) serve() {
	defer g.wg.Done()
	for {
		conn, err := g.listener.Accept()
		if err != nil {
			if errors.Is(err, net.ErrClosed) || g.ctx.Err() != nil {
				return
			}
			g.log.Error("broker: cannot take a connection", "error", err)
			if !service.Pause(g.ctx, 100*time.Millisecond) {
				return
			}
			continue
		}
		from := hostOf(conn.RemoteAddr())
		if !g.knock(from) {
			conn.Close()
			continue
		}
		g.wg.Go(func() { g.welcome(conn, from) })
	}
}

func hostOf(a net.Addr) string {
	host, _, err := net.SplitHostPort(a.String())
	if err != nil {
		return a.String()
	}
	return host
}

// knock counts a connection that has not signed in; false: too many of them.
func (g *gate) knock(from string) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.knocks[from] >= mostKnocks || g.knocking >= mostGuests {
		return false
	}
	g.knocks[from]++
	g.knocking++
	return true
}

func (g *gate) knocked(from string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.knocking--
	if g.knocks[from]--; g.knocks[from] <= 0 {
		delete(g.knocks, from)
	}
}

// welcome looks after one connection from its first byte to its last.
func (g *gate) welcome(conn net.Conn, from string) {
	defer conn.Close()
	stop := context.AfterFunc(g.ctx, func() { conn.Close() })
	defer stop()
	v := newGuest(g, conn, from)
	err := v.signIn()
	g.knocked(from)
	if err == nil {
		err = v.run()
	}
	v.leave()
	if err != nil && !errors.Is(err, net.ErrClosed) {
		g.log.Debug("broker: a connection ended", "user", v.user, "from", from, "why", err)
	}
}

// enter takes a guest in; the reason where there is no room.
func (g *gate) enter(v *guest) string {
	g.mu.Lock()
	defer g.mu.Unlock()
	switch {
	case len(g.guests) >= mostGuests:
		return "too many connections at once"
	case v.unit.Valid() && g.perUnit[v.unit] >= mostOfUnit:
		return "too many connections with this unit's key at once; at most 16 are allowed"
	}
	g.guests[v] = true
	if v.unit.Valid() {
		g.perUnit[v.unit]++
	}
	return ""
}

func (g *gate) left(v *guest) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if !g.guests[v] {
		return
	}
	delete(g.guests, v)
	if v.unit.Valid() {
		if g.perUnit[v.unit]--; g.perUnit[v.unit] <= 0 {
			delete(g.perUnit, v.unit)
		}
	}
}

// recheck ends the connections whose key no longer is the unit's. Where the
// keys cannot be looked up nobody is thrown out.
func (g *gate) recheck() {
	g.mu.Lock()
	units := map[lab.UnitID][]*guest{}
	for v := range g.guests {
		if v.unit.Valid() {
			units[v.unit] = append(units[v.unit], v)
		}
	}
	g.mu.Unlock()
	for unit, guests := range units {
		hashes, err := g.auth.lookUp(unit)
		if err != nil {
			return
		}
		for _, v := range guests {
			if !holds(hashes, v.keyHash) {
				g.tell(v, lab.RefusalConnection, "its key was replaced or withdrawn; the connection was ended")
				v.conn.Close()
			}
		}
	}
}

// tell says that something was refused: in the log, and where it concerns a
// unit on that unit's page.
func (g *gate) tell(v *guest, what, reason string) {
	g.log.Warn("broker: refused", "what", what, "user", v.user, "from", v.from, "why", reason)
	unit := v.unit
	if !unit.Valid() {
		unit = v.named
	}
	if g.refused == nil || !unit.Valid() {
		return
	}
	now := lab.At(time.Now())
	g.refused(lab.Refusal{Unit: unit, What: what, Reason: reason, From: v.from, FirstAt: now, LastAt: now, Count: 1})
}

// close ends all connections.
func (g *gate) close() {
	g.cancel()
	g.listener.Close()
	g.wg.Wait()
}

// listen opens the gate's listener, with TLS where it is given.
func listen(addr string, secure *tls.Config) (net.Listener, error) {
	l, err := net.Listen("tcp", addr)
	if err != nil || secure == nil {
		return l, err
	}
	return tls.NewListener(l, secure), nil
}
