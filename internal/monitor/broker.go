package monitor

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"syscall"
	"time"

	"wetside/ingest/broker"
	"wetside/internal/lab"
)

// openBroker starts the embedded broker. It refuses units until the monitor
// is subscribed.
func (p *Program) openBroker(ctx context.Context) (err error) {
	if p.cfg.Broker != Embedded || p.broker != nil {
		return nil
	}
	secure, err := p.cfg.MQTT.embeddedTLS()
	if err != nil {
		return err
	}
	p.refused = newRefusals(p.store.AddRefusals, p.log)
	p.broker, err = broker.Start(ctx, broker.Config{
		Listen: p.cfg.MQTTListen, DataDir: brokerDir(p.cfg.Data), Log: p.log, Keys: p.unitKeys,
		TLS: secure, Refused: p.refused.add,
		Drained: func() bool { in := p.ingest.Load(); return in != nil && in.CaughtUp() },
	})
	if errors.Is(err, syscall.EADDRINUSE) {
		err = fmt.Errorf("%w; another broker may use it, choose another address with --mqtt-listen", err)
	}
	return err
}

// unitKeys gives the hashes of the keys that hold for a unit.
func (p *Program) unitKeys(ctx context.Context, unit lab.UnitID) ([][]byte, error) {
	keys, err := p.keys.get(ctx, p.store.UnitKeys)
	if hash, ok := keys[unit]; ok && err == nil {
		return [][]byte{hash}, nil
	}
	return nil, err
}

// keyCache spares the database a query for each unit when all are looked up.
type keyCache struct {
	mu   sync.Mutex
	at   time.Time
	keys map[lab.UnitID][]byte
}

const keysHold = 200 * time.Millisecond

func (c *keyCache) get(ctx context.Context, read func(context.Context) (map[lab.UnitID][]byte, error)) (map[lab.UnitID][]byte, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.keys != nil && time.Since(c.at) < keysHold {
		return c.keys, nil
	}
	began := time.Now()
	keys, err := read(ctx)
	if err != nil {
		return nil, err
	}
	c.keys, c.at = keys, began
	return keys, nil
}

// brokerFailed is closed when the embedded broker has given its store up.
func (p *Program) brokerFailed() <-chan struct{} {
	if p.broker == nil {
		return nil
	}
	return p.broker.Failed()
}

// closeBroker ends the embedded broker; the next leader starts it again.
func (p *Program) closeBroker() {
	if p.broker != nil {
		p.broker.Close()
	}
	if p.refused != nil {
		p.refused.close()
	}
	p.broker, p.refused = nil, nil
}
