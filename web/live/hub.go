package live

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gorilla/websocket"

	"wetside/internal/lab"
)

// The least time between two rounds: what changes within it goes out once.
// With many boards open a round is dear, and nobody at one of them sees a
// quarter of a second.
const (
	fanOutPause  = 4 * time.Millisecond
	crowdedPause = 250 * time.Millisecond
	crowd        = 100 // more boards than this
)

// storeWait bounds one reading of the store by the hub.
const storeWait = 2 * time.Second

// Hub tells open sockets what changed.
//
// Why no change is lost, and none goes backward:
//
//   - Publishing only notes which units and alerts changed. A second note of
//     the same thing takes the place of the first, so noting never has to wait.
//   - One goroutine, loop, turns notes into frames. A person and the worker
//     may write one alert at the same time; loop reads each alert from the
//     store, one after the other, so frames follow the order of the store.
//   - loop updates the state first and marks the clients afterwards. A client
//     that wants a snapshot does it the other way round: it drops its marks
//     first and reads the state afterwards. Whatever happens in between is
//     then either in the snapshot already or still marked, and follows it.
type Hub struct {
	units  Units
	store  Alerts
	access Access
	docs   string
	clock  lab.Clock
	log    *slog.Logger
	timing Timing
	counts metrics

	wake chan struct{} // capacity 1, coalesces
	look chan struct{} // capacity 1, coalesces: look at sign-ins now

	withdrawn atomic.Int64 // counts what was withdrawn: see client.asOf

	noteMu      sync.Mutex // held for moments only
	notedUnits  map[string]lab.Unit
	notedAlerts map[string]struct{} // ids to be read

	mu      sync.Mutex
	open    openAlerts
	loaded  bool
	clients map[*client]struct{}
	places  map[*client]struct{} // clients, and those in their handshake
	ended   bool

	crowded    atomic.Bool  // more than crowd sockets: frames are packed, which is done once for all
	generation atomic.Int64 // counts changes of the state
	snapshots  snapshotCache
	beats      beatCache

	cancel context.CancelFunc
	wg     sync.WaitGroup
}

// New makes a Hub. It asks nothing of the store yet.
func New(cfg Config) *Hub {
	return &Hub{
		units: cfg.Units, store: cfg.Alerts, access: cfg.Access, docs: cfg.Docs,
		clock: cfg.Clock, log: cfg.Log, timing: cfg.Timing.complete(), counts: newMetrics(cfg.Registerer),
		wake: make(chan struct{}, 1), look: make(chan struct{}, 1),
		notedUnits: map[string]lab.Unit{}, notedAlerts: map[string]struct{}{},
		open: openAlerts{}, clients: map[*client]struct{}{}, places: map[*client]struct{}{},
		cancel: func() {},
	}
}

// Start reads the open alerts and begins. It fails when they cannot be read.
func (h *Hub) Start(ctx context.Context) error {
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

// Stop closes every socket and waits for all goroutines.
func (h *Hub) Stop() {
	h.mu.Lock()
	h.ended = true
	h.cancel()
	for c := range h.clients {
		c.close(websocket.CloseGoingAway, "wetside is stopping")
	}
	h.mu.Unlock()
	h.wg.Wait()
}

// PublishUnits tells open sockets how units stand now. It never blocks.
func (h *Hub) PublishUnits(units []lab.Unit) {
	h.noteMu.Lock()
	for _, u := range units {
		h.notedUnits[u.ID] = u
	}
	h.noteMu.Unlock()
	h.nudge()
}

// PublishAlerts tells open sockets that alerts changed. It never blocks. The
// values are a hint only: what is sent is read from the store, because a
// person and the worker may change one alert at the same time.
func (h *Hub) PublishAlerts(alerts []lab.Alert) {
	h.noteMu.Lock()
	for _, a := range alerts {
		h.notedAlerts[a.ID] = struct{}{}
	}
	h.noteMu.Unlock()
	h.nudge()
}

func (h *Hub) nudge() {
	select {
	case h.wake <- struct{}{}:
	default: // a nudge is waiting already
	}
}

func (h *Hub) takeNotes() (map[string]lab.Unit, map[string]struct{}) {
	h.noteMu.Lock()
	defer h.noteMu.Unlock()
	units, alerts := h.notedUnits, h.notedAlerts
	h.notedUnits, h.notedAlerts = map[string]lab.Unit{}, map[string]struct{}{}
	return units, alerts
}

func (h *Hub) loop(ctx context.Context) {
	reload := time.NewTicker(h.timing.Reload)
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
		pause.Reset(h.pause())
		select {
		case <-pause.C:
		case <-ctx.Done():
			return
		}
	}
}

func (h *Hub) pause() time.Duration {
	h.mu.Lock()
	h.crowded.Store(len(h.clients) > crowd)
	h.mu.Unlock()
	if h.crowded.Load() {
		return crowdedPause
	}
	return fanOutPause
}

// round sends on what the notes name.
func (h *Hub) round(ctx context.Context) {
	units, ids := h.takeNotes()
	changed := h.readAlerts(ctx, ids)
	h.send(units, changed)
}

// reloadRound reads everything again, in case a note was lost on its way
// (an alert changed by another process, a setting by hand).
func (h *Hub) reloadRound(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, storeWait)
	defer cancel()
	changed, err := h.reload(ctx)
	if err = errors.Join(err, h.units.Reload(ctx)); err != nil {
		h.log.Warn("cannot read the open alerts again; trying later", "error", err)
	}
	h.send(nil, changed)
}

// send encodes what changed and marks it for every client, alerts before the
// units that name them.
func (h *Hub) send(units map[string]lab.Unit, changed []lab.Alert) {
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
		if u, ok := h.units.Unit(id); ok {
			units[a.Unit] = u
		}
	}
	h.generation.Add(1)
	now := lab.At(h.clock.Now())
	frames := make([]*frame, 0, len(changed)+len(units))
	for _, a := range changed {
		frames = h.encode(frames, "alert/"+a.ID, alertFrame{Type: "alert", At: now, Alert: a})
	}
	for id, u := range units {
		frames = h.encode(frames, "unit/"+id, unitFrame{Type: "unit", At: now, Unit: h.units.View(u)})
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	for c := range h.clients {
		c.mark(frames)
	}
}

func (h *Hub) encode(frames []*frame, key string, v any) []*frame {
	f, err := newFrame(key, v)
	if err != nil {
		h.log.Error("cannot encode a live frame", "key", key, "error", err)
		return frames
	}
	return append(frames, f)
}
