package delivery

import (
	"context"
	"encoding/json"
	"fmt"
	"sync"
	"time"

	"wetside/internal/lab"
	"wetside/internal/service"
)

// HeartbeatConfig says where the heartbeat goes, and what it tells.
type HeartbeatConfig struct {
	// Post sends one. Defaults to none: no heartbeat.
	Post func(ctx context.Context, id string, body []byte) error
	// Every is how often. Defaults to 1 min.
	Every time.Duration
	// Ages tells how old the last sign of life of the other parts is.
	// Defaults to nothing known.
	Ages func() Ages
	// Silent is how old a part may be before the heartbeat stays away, so
	// that a watcher which only listens for it notices. Defaults to 90 s.
	Silent time.Duration
}

// Ages is how long ago each part showed that it works.
type Ages struct{ Ingest, Rules time.Duration }

// beatBody is a heartbeat.
type beatBody struct {
	Type      string   `json:"type"`
	Timestamp lab.Time `json:"timestamp"`
	Data      beatData `json:"data"`
}

type beatData struct {
	Term      int64   `json:"term"`
	IngestS   float64 `json:"ingest_age_s"`
	RulesS    float64 `json:"rules_age_s"`
	DatabaseS float64 `json:"database_age_s"`
	OutboxS   float64 `json:"outbox_age_s"` // of the oldest page that should have gone out
	Waiting   int     `json:"outbox_waiting"`
}

// beat is how the heartbeat goes.
type beat struct {
	mu      sync.Mutex
	flying  bool
	begun   time.Time // of the last one
	took    time.Time // when the other end last took one
	detail  string
	healthy bool
}

// heartbeat sends one where it is due. It is called at the end of a whole
// loop: the database answered, and cases and people were looked at.
func (w *Worker) heartbeat(ctx context.Context, now time.Time) error {
	h := w.cfg.Heartbeat
	if h.Post == nil {
		return nil
	}
	w.beat.mu.Lock()
	due := !w.beat.flying && now.Sub(w.beat.begun) >= h.Every
	w.beat.mu.Unlock()
	if !due {
		return nil
	}
	began := time.Now()
	n, oldest, err := w.cfg.Store.PagesOverdue(ctx, now)
	if err != nil {
		return err
	}
	data := beatData{Term: w.cfg.Term, DatabaseS: time.Since(began).Seconds(), Waiting: n}
	if !oldest.IsZero() {
		data.OutboxS = max(0, now.Sub(oldest).Seconds())
	}
	if h.Ages != nil {
		ages := h.Ages()
		data.IngestS, data.RulesS = ages.Ingest.Seconds(), ages.Rules.Seconds()
	}
	if late := w.late(data); late != "" {
		w.beat.note(time.Time{}, "held back: "+late, false)
		return nil
	}
	body, err := json.Marshal(beatBody{"heartbeat", lab.At(now), data})
	if err != nil {
		return err
	}
	w.beat.mu.Lock()
	w.beat.flying, w.beat.begun = true, now
	w.beat.mu.Unlock()
	// beside the loop: a watcher that hangs must not hold up pages
	w.senderWG.Go(func() {
		err := h.Post(ctx, newID(), body)
		if err != nil {
			w.beat.note(time.Time{}, err.Error(), false)
			w.cfg.Log.Warn("the heartbeat was not taken", "error", err)
			return
		}
		w.beat.note(w.now(), "", true)
	})
	return nil
}

// late names the part that has shown no life for too long.
func (w *Worker) late(d beatData) string {
	silent := service.Positive(w.cfg.Heartbeat.Silent, 90*time.Second).Seconds()
	for _, p := range []struct {
		name string
		age  float64
	}{{"telemetry in", d.IngestS}, {"the rules", d.RulesS}} {
		if p.age > silent {
			return fmt.Sprintf("%s showed no life for %.0f s", p.name, p.age)
		}
	}
	return ""
}

func (b *beat) note(took time.Time, detail string, ok bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.flying, b.detail, b.healthy = false, detail, ok
	if !took.IsZero() {
		b.took = took
	}
}

func (b *beat) now(on bool) lab.HeartbeatNow {
	b.mu.Lock()
	defer b.mu.Unlock()
	return lab.HeartbeatNow{On: on, LastAt: lab.AtPtr(b.took), Detail: b.detail}
}
