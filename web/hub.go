package web

import (
	"context"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gorilla/websocket"

	"wetside/internal/lab"
)

// fanOutPause is the least time between two rounds: what changes within it
// goes out once.
const fanOutPause = 20 * time.Millisecond

// storeWait bounds one reading of the store by the hub.
const storeWait = 2 * time.Second

// hub tells open sockets what changed.
//
// The worker leaves notes (pending: coalesces, never blocks, never drops the
// newest). One goroutine, loop, turns them into frames. It reads every alert
// from the store, one after the other, so that what it sends only ever goes
// forward however many wrote. It brings the state up to date first and marks
// the clients after; a client takes its marks away first and reads the state
// after. So a change is in the snapshot or follows it, never neither.
type hub struct {
	s    *Server
	wake chan struct{} // capacity 1, coalesces
	look chan struct{} // capacity 1, coalesces: look at sign-ins now

	withdrawn atomic.Int64 // counts what was withdrawn: see client.asOf

	noteMu sync.Mutex // held for moments only
	units  map[string]lab.Unit
	alerts map[string]struct{} // ids to be read

	mu      sync.Mutex
	open    openAlerts
	loaded  bool
	clients map[*client]struct{}
	places  map[*client]struct{} // clients, and those in their handshake
	ended   bool

	generation atomic.Int64 // counts changes of the state
	snapshots  snapshotCache

	cancel context.CancelFunc
	wg     sync.WaitGroup
}

func newHub(s *Server) *hub {
	return &hub{
		s: s, wake: make(chan struct{}, 1), look: make(chan struct{}, 1),
		units: map[string]lab.Unit{}, alerts: map[string]struct{}{},
		open: openAlerts{}, clients: map[*client]struct{}{}, places: map[*client]struct{}{},
		cancel: func() {},
	}
}

// start reads the open alerts and begins.
func (h *hub) start(ctx context.Context) error {
	if _, err := h.reload(ctx); err != nil {
		return err
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.ended {
		return lab.Errorf(lab.KindConflict, "web: started after it was stopped")
	}
	h.loaded = true
	run, cancel := context.WithCancel(context.WithoutCancel(ctx))
	h.cancel = cancel
	h.wg.Go(func() { h.loop(run) })
	h.wg.Go(func() { h.recheck(run) })
	return nil
}

// stop closes every socket and waits for all goroutines.
func (h *hub) stop() {
	h.mu.Lock()
	h.ended = true
	h.cancel()
	for c := range h.clients {
		c.close(websocket.CloseGoingAway, "wetside is stopping")
	}
	h.mu.Unlock()
	h.wg.Wait()
}

func (h *hub) publishUnits(units []lab.Unit) {
	h.noteMu.Lock()
	for _, u := range units {
		h.units[u.ID] = u
	}
	h.noteMu.Unlock()
	h.nudge()
}

func (h *hub) publishAlerts(alerts []lab.Alert) {
	h.noteMu.Lock()
	for _, a := range alerts {
		h.alerts[a.ID] = struct{}{}
	}
	h.noteMu.Unlock()
	h.nudge()
}

func (h *hub) nudge() {
	select {
	case h.wake <- struct{}{}:
	default: // a nudge is waiting already
	}
}

func (h *hub) takeNotes() (map[string]lab.Unit, map[string]struct{}) {
	h.noteMu.Lock()
	defer h.noteMu.Unlock()
	units, alerts := h.units, h.alerts
	h.units, h.alerts = map[string]lab.Unit{}, map[string]struct{}{}
	return units, alerts
}

func (h *hub) loop(ctx context.Context) {
	reload := time.NewTicker(h.s.cfg.Socket.Reload)
	defer reload.Stop()
	pause := time.NewTimer(0)
	defer pause.Stop()
	for {
		select {
		case <-h.wake:
			h.round(ctx)
		case <-reload.C:
			h.reloadRound(ctx)
		case <-ctx.Done():
			return
		}
		pause.Reset(fanOutPause)
		select {
		case <-pause.C:
		case <-ctx.Done():
			return
		}
	}
}

// round sends on what the notes name.
func (h *hub) round(ctx context.Context) {
	units, ids := h.takeNotes()
	changed := h.readAlerts(ctx, ids)
	h.send(units, changed)
}

// reloadRound reads everything again, in case a note was lost on its way
// (an alert changed by another process, a setting by hand).
func (h *hub) reloadRound(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, storeWait)
	defer cancel()
	changed, err := h.reload(ctx)
	if err == nil {
		err = h.s.settings.load(ctx)
	}
	if err != nil {
		h.s.log.Warn("cannot read the open alerts again; trying later", "error", err)
	}
	h.send(nil, changed)
	h.s.gatesChanged(ctx) // a day ended, or a unit was heard for the first time
}

// send encodes what changed and marks it for every client, alerts before the
// units that name them.
func (h *hub) send(units map[string]lab.Unit, changed []lab.Alert) {
	if units == nil {
		units = map[string]lab.Unit{}
	}
	for _, a := range changed {
		if _, ok := units[a.Unit]; ok {
			continue
		}
		id, err := lab.ParseUnitID(a.Unit)
		if err != nil {
			continue // an alert of no unit
		}
		if u, ok := h.s.cfg.Live.Unit(id); ok {
			units[a.Unit] = u
		}
	}
	h.generation.Add(1)
	now := lab.At(h.s.cfg.Clock.Now())
	frames := make([]*frame, 0, len(changed)+len(units))
	for _, a := range changed {
		frames = h.encode(frames, "alert/"+a.ID, alertFrame{Type: "alert", At: now, Alert: a})
	}
	for id, u := range units {
		frames = h.encode(frames, "unit/"+id, unitFrame{Type: "unit", At: now, Unit: h.s.view(u)})
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	for c := range h.clients {
		c.mark(frames)
	}
}

func (h *hub) encode(frames []*frame, key string, v any) []*frame {
	f, err := newFrame(key, v)
	if err != nil {
		h.s.log.Error("cannot encode a live frame", "key", key, "error", err)
		return frames
	}
	return append(frames, f)
}

// recheck looks again at the sign-ins behind open sockets.
func (h *hub) recheck(ctx context.Context) {
	tick := time.NewTicker(h.s.cfg.Socket.Recheck)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			h.recheckOnce(ctx)
		case <-h.look:
			h.recheckOnce(ctx)
		case <-ctx.Done():
			return
		}
	}
}

func (h *hub) recheckOnce(ctx context.Context) {
	byCredential := map[identity][]*client{}
	h.mu.Lock()
	for c := range h.clients {
		key := identity{token: c.who.token, session: c.who.session}
		byCredential[key] = append(byCredential[key], c)
	}
	h.mu.Unlock()
	for credential, clients := range byCredential {
		ctx, cancel := context.WithTimeout(ctx, storeWait)
		id, err := h.s.identify(ctx, credential)
		cancel()
		switch {
		case err == nil && id.may(lab.RoleViewer):
		case err == nil || lab.KindOf(err) == lab.KindForbidden:
			for _, c := range clients {
				c.close(closeSignedOut, "signed out")
			}
		default: // the store is away: those who are in stay in
			h.s.log.Warn("cannot look at a sign-in again; trying later", "error", err)
		}
	}
}

// endSession closes the sockets of a session that signed out.
func (h *hub) endSession(session string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for c := range h.clients {
		if c.who.session == session {
			c.close(closeSignedOut, "signed out")
		}
	}
}

// recheckSoon looks at all sign-ins now: something was withdrawn.
func (h *hub) recheckSoon() {
	h.withdrawn.Add(1)
	h.recheckNow()
}

func (h *hub) recheckNow() {
	select {
	case h.look <- struct{}{}:
	default: // a look is waiting already
	}
}
