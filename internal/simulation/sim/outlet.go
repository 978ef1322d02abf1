package sim

import (
	"bytes"
	"context"
	"log/slog"
	"sync"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"wetside/internal/lab"
)

const (
	window   = 64    // messages on their way at once
	backlog  = 50000 // messages kept while the broker is away; the oldest go
	ackWait  = 20 * time.Second
	retryMin = 200 * time.Millisecond
	retryMax = 10 * time.Second
)

// outlet is one unit's way out: a queue that give fills and run empties.
type outlet struct {
	p     *published
	id    lab.UnitID
	keep  time.Duration
	log   *slog.Logger
	mu    sync.Mutex
	queue []delivery
	more  chan struct{} // a hint that the queue is not empty; may coalesce

	// Only run uses these.
	wire   *wire
	flying []flight
	status delivery // the last status: it goes out again when a connection was lost
}

// flight is a message that the broker has not acknowledged yet.
type flight struct {
	d     delivery
	token mqtt.Token
}

func newOutlet(p *published, id lab.UnitID, keep time.Duration) *outlet {
	return &outlet{p: p, id: id, keep: keep, log: p.cfg.Log.With("unit", id.String()), more: make(chan struct{}, 1)}
}

// give queues a delivery; it never blocks.
func (o *outlet) give(d delivery) {
	o.mu.Lock()
	o.queue = append(o.queue, d)
	if len(o.queue) > backlog {
		o.queue = o.queue[1:]
	}
	o.mu.Unlock()
	select {
	case o.more <- struct{}{}:
	default:
	}
}

func (o *outlet) take() (delivery, bool) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if len(o.queue) == 0 {
		return delivery{}, false
	}
	d := o.queue[0]
	o.queue = o.queue[1:]
	return d, true
}

// run publishes until ctx ends, then drops the connection.
func (o *outlet) run(ctx context.Context) {
	defer func() { o.drop() }()
	for ctx.Err() == nil {
		d, ok := o.take()
		switch {
		case ok:
			o.do(ctx, d)
		case len(o.flying) > 0:
			o.land(ctx)
		default:
			select {
			case <-ctx.Done():
			case <-o.more:
			}
		}
	}
}

func (o *outlet) do(ctx context.Context, d delivery) {
	switch d.event {
	case evConnect:
		for len(o.flying) > 0 && ctx.Err() == nil {
			o.land(ctx)
		}
		if o.wire != nil {
			o.wire.farewell() // a short cut: the broker never noticed
			o.wire = nil
		}
		o.connect(ctx)
	case evWill:
		for len(o.flying) > 0 && ctx.Err() == nil {
			o.land(ctx)
		}
		o.log.Info("connection dropped: the unit is cut off")
		o.drop()
	case evMessage:
		o.publish(ctx, d)
	}
}

func (o *outlet) publish(ctx context.Context, d delivery) {
	for len(o.flying) >= window && ctx.Err() == nil {
		o.land(ctx)
	}
	if o.wire == nil && !o.reconnect(ctx) {
		return
	}
	retain := bytes.Contains(d.raw.Payload, []byte(`"online":true`))
	if retain {
		o.status = d
	}
	o.flying = append(o.flying, flight{d, o.wire.client.Publish(d.raw.Topic, 1, retain, d.raw.Payload)})
}

// land waits for the oldest message on its way. Where the connection was
// lost instead, everything unacknowledged is sent again, in order.
func (o *outlet) land(ctx context.Context) {
	f := o.flying[0]
	late := time.NewTimer(ackWait)
	defer late.Stop()
	select {
	case <-ctx.Done():
		return
	case <-f.token.Done():
		if f.token.Error() == nil {
			o.flying = o.flying[1:]
			if n := o.p.total.Add(1); o.p.cfg.Published != nil {
				o.p.cfg.Published(n)
			}
			return
		}
	case <-o.wire.lost:
	case <-late.C:
		o.log.Warn("the broker acknowledges nothing; connecting again", "waited", ackWait)
	}
	again := o.flying
	o.flying = nil
	o.drop()
	if !o.reconnect(ctx) {
		return
	}
	for _, f := range again {
		o.publish(ctx, f.d)
	}
}

// reconnect connects after the connection was lost. The retained will that
// the broker then published is put right by a copy of the unit's status.
func (o *outlet) reconnect(ctx context.Context) bool {
	if !o.connect(ctx) {
		return false
	}
	if s := o.status; s.raw.Payload != nil {
		o.flying = append(o.flying, flight{s, o.wire.client.Publish(s.raw.Topic, 1, true, s.raw.Payload)})
	}
	return true
}

// connect tries until it succeeds or ctx ends.
func (o *outlet) connect(ctx context.Context) bool {
	for wait := retryMin; ctx.Err() == nil; wait = min(2*wait, retryMax) {
		w, err := dial(o)
		if err == nil {
			o.p.reached.Store(true)
			o.wire = w
			o.log.Info("connected")
			return true
		}
		if !o.p.reached.Load() {
			o.p.fail(lab.Errorf(lab.KindUnavailable, "connecting to broker %s as %s: %w", o.p.url.Host, o.id, err))
			return false
		}
		o.log.Warn("cannot connect; trying again", "error", err, "in", wait)
		t := time.NewTimer(wait)
		select {
		case <-ctx.Done():
		case <-t.C:
		}
		t.Stop()
	}
	return false
}

// drop ends the connection without a farewell.
func (o *outlet) drop() {
	if o.wire != nil {
		o.wire.cut()
		o.wire = nil
	}
}
