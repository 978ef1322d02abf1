package live

import (
	"encoding/json"
	"sync"
	"time"

	"github.com/gorilla/websocket"

	"wetside/internal/lab"
)

// The frames of the live socket. At is wetside's clock when the frame was
// made, by which a page can tell how old a reading is.
type (
	snapshotFrame struct {
		Type   string      `json:"type"`
		At     lab.Time    `json:"at"`
		Units  []lab.Unit  `json:"units"`
		Alerts []lab.Alert `json:"alerts"`
	}
	unitFrame struct {
		Type string   `json:"type"`
		At   lab.Time `json:"at"`
		Unit lab.Unit `json:"unit"`
	}
	alertFrame struct {
		Type  string    `json:"type"`
		At    lab.Time  `json:"at"`
		Alert lab.Alert `json:"alert"`
	}
	beatFrame struct {
		Type string   `json:"type"`
		At   lab.Time `json:"at"`
	}
)

// frame is one encoded message, shared by all clients. Key names what it is
// of: a newer frame of one key takes the place of an older one.
type frame struct {
	key  string
	kind string
	msg  *websocket.PreparedMessage
}

func newFrame(key string, v any) (*frame, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	msg, err := websocket.NewPreparedMessage(websocket.TextMessage, b)
	if err != nil {
		return nil, err
	}
	kind := "beat"
	switch v.(type) {
	case snapshotFrame:
		kind = "snapshot"
	case unitFrame:
		kind = "unit"
	case alertFrame:
		kind = "alert"
	}
	return &frame{key: key, kind: kind, msg: msg}, nil
}

// snapshotCache lets clients that come at once share one snapshot.
type snapshotCache struct {
	mu         sync.Mutex
	frame      *frame
	generation int64
	made       time.Time
}

// snapshotAge is how long a snapshot may be shared while nothing changed: it
// carries the time when it was made, and pages show how old readings are by it.
const snapshotAge = time.Second

// beatCache lets clients share a heartbeat.
type beatCache struct {
	mu    sync.Mutex
	frame *frame
	made  time.Time
}

// beatAge is how old a heartbeat may be: it says what time it is by our clock.
const beatAge = 100 * time.Millisecond

func (h *Hub) beat() (*frame, error) {
	c := &h.beats
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.frame != nil && time.Since(c.made) < beatAge {
		return c.frame, nil
	}
	f, err := newFrame("", beatFrame{Type: "beat", At: lab.At(h.clock.Now())})
	if err == nil {
		c.frame, c.made = f, time.Now()
	}
	return f, err
}

// snapshot gives the whole state, no older than the call.
func (h *Hub) snapshot() (*frame, error) {
	c := &h.snapshots
	c.mu.Lock()
	defer c.mu.Unlock()
	generation := h.generation.Load() // before the state is read
	if c.frame != nil && c.generation == generation && time.Since(c.made) < snapshotAge {
		return c.frame, nil
	}
	units := h.units.Views()
	h.mu.Lock()
	alerts := h.open.list()
	h.mu.Unlock()
	f, err := newFrame("", snapshotFrame{
		Type: "snapshot", At: lab.At(h.clock.Now()), Units: units, Alerts: alerts})
	if err != nil {
		return nil, err
	}
	c.frame, c.generation, c.made = f, generation, time.Now()
	return f, nil
}
