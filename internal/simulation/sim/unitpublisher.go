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
	window   = 64    // messages that are not yet acknowledged, at most
	backlog  = 50000 // messages kept while the broker is away; the oldest go
	ackWait  = 20 * time.Second
	retryMin = 200 * time.Millisecond
	retryMax = 10 * time.Second
)

// unitPublisher publishes the messages of one unit: enqueue fills its queue, run
// empties it.
type unitPublisher struct {
	p     *publishing
	id    lab.UnitID
	keep  time.Duration
	log   *slog.Logger
	mu    sync.Mutex
	queue []delivery
	more  chan struct{} // a hint that the queue is not empty; may coalesce

	// Only run uses these.
	connection     *connection
	unacknowledged []pendingMessage
	status         delivery // the last status: it goes out again when a connection was lost
}

// pendingMessage is a message that the broker has not acknowledged yet.
type pendingMessage struct {
	d     delivery
	token mqtt.Token
}

func newUnitPublisher(p *publishing, id lab.UnitID, keep time.Duration) *unitPublisher {
	return &unitPublisher{p: p, id: id, keep: keep, log: p.cfg.Log.With("unit", id.String()), more: make(chan struct{}, 1)}
}

// enqueue queues a delivery; it never blocks.
func (o *unitPublisher) enqueue(d delivery) {
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

func (o *unitPublisher) dequeue() (delivery, bool) {
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
func (o *unitPublisher) run(ctx context.Context) {
	defer func() { o.cutConnection() }()
	for ctx.Err() == nil {
		d, ok := o.dequeue()
		switch {
		case ok:
			o.handle(ctx, d)
		case len(o.unacknowledged) > 0:
			o.awaitAck(ctx)
		default:
			select {
			case <-ctx.Done():
			case <-o.more:
			}
		}
	}
}

func (o *unitPublisher) handle(ctx context.Context, d delivery) {
	switch d.event {
	case evConnect:
		for len(o.unacknowledged) > 0 && ctx.Err() == nil {
			o.awaitAck(ctx)
		}
		if o.connection != nil {
			o.connection.disconnect() // a short cut: the broker never noticed
			o.connection = nil
		}
		o.connect(ctx)
	case evWill:
		for len(o.unacknowledged) > 0 && ctx.Err() == nil {
			o.awaitAck(ctx)
		}
		o.log.Info("connection dropped: the unit is cut off")
		o.cutConnection()
	case evMessage:
		o.publish(ctx, d)
	}
}

func (o *unitPublisher) publish(ctx context.Context, d delivery) {
	for len(o.unacknowledged) >= window && ctx.Err() == nil {
		o.awaitAck(ctx)
	}
	if o.connection == nil && !o.reconnect(ctx) {
		return
	}
	retain := bytes.Contains(d.raw.Payload, []byte(`"online":true`))
	if retain {
		o.status = d
	}
	o.unacknowledged = append(o.unacknowledged, pendingMessage{d, o.connection.client.Publish(d.raw.Topic, 1, retain, d.raw.Payload)})
}

// awaitAck waits for the oldest message on its way. Where the connection was
// lost instead, everything unacknowledged is sent again, in order.
func (o *unitPublisher) awaitAck(ctx context.Context) {
	f := o.unacknowledged[0]
	late := time.NewTimer(ackWait)
	defer late.Stop()
	select {
	case <-ctx.Done():
		return
	case <-f.token.Done():
		if f.token.Error() == nil {
			o.unacknowledged = o.unacknowledged[1:]
			if n := o.p.total.Add(1); o.p.cfg.Published != nil {
				o.p.cfg.Published(n)
			}
			return
		}
	case <-o.connection.lost:
	case <-late.C:
		o.log.Warn("the broker acknowledges nothing; connecting again", "waited", ackWait)
	}
	again := o.unacknowledged
	o.unacknowledged = nil
	o.cutConnection()
	if !o.reconnect(ctx) {
		return
	}
	for _, f := range again {
		o.publish(ctx, f.d)
	}
}

// reconnect connects after the connection was lost. The retained will that
// the broker then published is put right by a copy of the unit's status.
func (o *unitPublisher) reconnect(ctx context.Context) bool {
	if !o.connect(ctx) {
		return false
	}
	if s := o.status; s.raw.Payload != nil {
		o.unacknowledged = append(o.unacknowledged, pendingMessage{s, o.connection.client.Publish(s.raw.Topic, 1, true, s.raw.Payload)})
	}
	return true
}

// connect tries until it succeeds or ctx ends.
func (o *unitPublisher) connect(ctx context.Context) bool {
	for wait := retryMin; ctx.Err() == nil; wait = min(2*wait, retryMax) {
		w, err := dial(o)
		if err == nil {
			o.p.reached.Store(true)
			o.connection = w
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

// cutConnection ends the connection without a farewell.
func (o *unitPublisher) cutConnection() {
	if o.connection != nil {
		o.connection.cut()
		o.connection = nil
	}
}
