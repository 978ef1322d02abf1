package ingest_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/labtest"
)

func TestNewRefusesBadAddress(t *testing.T) {
	for _, address := range []string{"", "127.0.0.1:1883", "http://127.0.0.1", "mqtt://", "mqtt:///x", "mqtt://h:1883/topic", "mqtt://u:secret@h:port", "mqtt://u:secret@h:1883,", "mqtt://u:secret@,h"} {
		_, err := ingest.New(ingest.Config{Broker: address, ClientID: "x", Store: newStore()})
		if lab.KindOf(err) != lab.KindInvalid {
			t.Errorf("%q: %v, want an error of kind invalid", address, err)
		} else if !strings.Contains(err.Error(), "must be mqtt://") || strings.Contains(err.Error(), "secret") {
			t.Errorf("%q: %v", address, err)
		}
	}
	if _, err := ingest.New(ingest.Config{Broker: "mqtt://127.0.0.1"}); lab.KindOf(err) != lab.KindInvalid {
		t.Errorf("no store: %v", err)
	}
	for _, address := range []string{"mqtt://h", "tcp://h:1883", "mqtts://u:p@h", "ssl://h:8883/", "tls://[::1]:8883", "mqtt://u:p@h:1883,k:1884"} {
		if _, err := ingest.New(ingest.Config{Broker: address, ClientID: "x", Store: newStore()}); err != nil {
			t.Errorf("%q: %v", address, err)
		}
	}
}

// Of the servers of a cluster the first one that answers is taken, and the next one
// when that goes.
func TestServersOfACluster(t *testing.T) {
	a, b, store := newMosquitto(t), newMosquitto(t), newStore()
	a.stop()
	_, events := start(t, ingest.Config{Broker: a.url() + "," + strings.TrimPrefix(b.url(), "mqtt://"), Store: store})
	expect(t, events, true) // the second: the first is down
	a.start()
	b.stop()
	expect(t, events, false)
	expect(t, events, true)
	a.pub("wetside/v1/l/u/temp", []string{payload(1)})
	store.wait(t, "the message", func() bool { return len(store.msgs) == 1 })
}

func TestStopBeforeStartAndTwice(t *testing.T) {
	s, err := ingest.New(ingest.Config{Broker: "mqtt://127.0.0.1:1", ClientID: "x", Store: newStore(), Log: quietLog(t)})
	if err != nil {
		t.Fatal(err)
	}
	s.Stop()
	if s.Start(context.Background()) == nil {
		t.Error("started after Stop")
	}
	s.Stop()
}

// TestAcknowledgesAfterCommitInOrder: nothing is acknowledged while the store
// fails, and then everything in the order it was received, poison included.
func TestAcknowledgesAfterCommitInOrder(t *testing.T) {
	p, store := newPeer(t), newStore()
	store.fail = func(try int) error {
		if try <= 3 {
			return errAway
		}
		return nil
	}
	reg := prometheus.NewRegistry()
	s, events := start(t, ingest.Config{Broker: p.url(), Store: store, MaxBatch: 7, StoreGrace: time.Hour, Metrics: reg})
	c := p.next()
	expect(t, events, true)
	if c.connect.CleanSession || c.connect.ClientIdentifier != "wetside" || c.connect.ProtocolVersion != 4 {
		t.Errorf("connected with %v", c.connect)
	}
	if !slices.Equal(c.topics, []string{"wetside/v1/#"}) {
		t.Errorf("subscribed to %v", c.topics)
	}
	const n = 50
	for i := 1; i <= n; i++ {
		body := payload(i)
		if i%5 == 0 {
			body = "poison"
		}
		c.send(t, 1000-i, body) // packet ids that do not rise: the order is that of arrival
	}
	store.wait(t, "three tries", func() bool { return store.tries == 3 })
	c.noAcks(t)
	for i := 1; i <= n; i++ {
		c.wantAck(t, 1000-i)
	}
	store.wait(t, "all", func() bool { return len(store.order) == n*4/5 && len(store.refused) == n/5 })
	for i, m := range store.stored() {
		if want := int64(i + 1 + i/4); m.Seq != want {
			t.Fatalf("message %d has seq %d, want %d", i, m.Seq, want)
		}
	}
	for _, q := range store.poison() {
		if string(q.Payload) != "poison" || !strings.HasPrefix(q.Reason, "not-json: ") || q.Unit.String() != "tern-street/plover" {
			t.Fatalf("quarantined %+v", q)
		}
	}
	if st := s.Stats(); st.New != 40 || st.Quarantined != 10 || st.Committed != 50 {
		t.Errorf("stats %+v", st)
	}
	got, err := reg.Gather()
	if err != nil || len(got) < 8 {
		t.Errorf("%d metrics, %v", len(got), err)
	}
	for _, m := range got {
		if !strings.HasPrefix(m.GetName(), "wetside_ingest_") {
			t.Errorf("metric %s", m.GetName())
		}
	}
	s.Stop()
	c.wantClosed(t)
	if !c.polite {
		t.Error("left without DISCONNECT")
	}
}

// TestLeavesBrokerWhileStoreIsAway: after the grace the session is left, the
// batch in hand is kept and tried, and the service comes back with the store.
func TestLeavesBrokerWhileStoreIsAway(t *testing.T) {
	p, store := newPeer(t), newStore()
	store.fail = func(int) error { return errAway }
	s, events := start(t, ingest.Config{Broker: p.url(), Store: store, StoreGrace: 50 * time.Millisecond})
	c := p.next()
	expect(t, events, true)
	c.send(t, 1, payload(1))
	c.wantClosed(t)
	expect(t, events, false)
	if s.Connected() || s.CaughtUp() {
		t.Error("still connected, or caught up")
	}
	c.noAcks(t)
	store.setFail(nil)
	c = p.next()
	expect(t, events, true)
	c.send(t, 1, payload(1)) // the broker sends it again, as it must
	c.wantAck(t, 1)
	store.wait(t, "the message and its copy", func() bool { return store.seen["tern-street/plover b1 1"] == 2 && len(store.order) == 1 })
}

// TestStaleTermLeavesAtOnce: another holder has the session now.
func TestStaleTermLeavesAtOnce(t *testing.T) {
	p, store := newPeer(t), newStore()
	store.fail = func(int) error { return fmt.Errorf("commit: %w", lab.ErrStaleTerm) }
	_, events := start(t, ingest.Config{Broker: p.url(), Store: store, StoreGrace: time.Hour, StopTimeout: time.Millisecond})
	c := p.next()
	expect(t, events, true)
	c.send(t, 1, payload(1))
	expect(t, events, false)
	c.wantClosed(t)
	c.noAcks(t)
}

// TestFullQueueDisconnects: by count and by bytes. Nothing is dropped: what
// was taken is stored, what was not comes again.
func TestFullQueueDisconnects(t *testing.T) {
	for name, bound := range map[string]ingest.Config{
		"count": {MaxQueue: 10},
		"bytes": {MaxQueueBytes: 10 * (len(payload(1)) + len("wetside/v1/tern-street/plover/temp"))},
	} {
		t.Run(name, func(t *testing.T) {
			p, store := newPeer(t), newStore()
			release := make(chan struct{})
			store.fail = func(int) error { <-release; return nil }
			cfg := bound
			cfg.Broker, cfg.Store, cfg.MaxHold = p.url(), store, 50*time.Millisecond
			s, events := start(t, cfg)
			c := p.next()
			expect(t, events, true)
			for i := 1; i <= 30; i++ {
				c.send(t, i, payload(i))
			}
			c.wantClosed(t)
			expect(t, events, false)
			c.noAcks(t)
			if st := s.Stats(); st.Queued > 11 || st.Acknowledged > 0 {
				t.Errorf("%+v, want at most 10 queued and none acknowledged", st)
			}
			close(release)
			c = p.next()
			expect(t, events, true)
			for i := 1; i <= 30; i++ {
				c.send(t, i, payload(i))
				c.wantAck(t, i)
			}
			store.wait(t, "all 30", func() bool { return len(store.order) == 30 })
		})
	}
}

// TestFullQueueHoldsReads: while the store is merely slow, the service reads
// no more than it has room for and stays; nothing has to be sent twice.
func TestFullQueueHoldsReads(t *testing.T) {
	p, store := newPeer(t), newStore()
	asked, release := make(chan struct{}, 100), make(chan struct{})
	store.fail = func(int) error { asked <- struct{}{}; <-release; return nil }
	s, events := start(t, ingest.Config{Broker: p.url(), Store: store, MaxQueue: 10, MaxHold: deadline})
	c := p.next()
	expect(t, events, true)
	for i := 1; i <= 30; i++ {
		c.send(t, i, payload(i))
	}
	labtest.Receive(t, asked, "a batch in the store's hands")
	eventually(t, "the queue is full", func() bool { return s.Stats().Queued == 10 })
	close(release)
	for i := 1; i <= 30; i++ {
		c.wantAck(t, i) // over the same connection
	}
	if st := s.Stats(); st.New != 30 || st.Copies != 0 {
		t.Errorf("%+v, want 30 new and no copy", st)
	}
	if len(events) > 0 {
		t.Error("the service left the broker")
	}
}

// TestSubackIsChecked: 0x80 and a lower QoS are no subscription; it tries again.
func TestSubackIsChecked(t *testing.T) {
	p := newPeer(t)
	p.grant = func(n int) byte { return []byte{0x80, 0, 1}[min(n, 3)-1] }
	_, events := start(t, ingest.Config{Broker: p.url(), Store: newStore()})
	for range 2 {
		p.next().wantClosed(t)
		if len(events) > 0 {
			t.Fatal("connected without a subscription")
		}
	}
	p.next()
	expect(t, events, true)
}

// TestSubscribesAgain: in every connection.
func TestSubscribesAgain(t *testing.T) {
	p := newPeer(t)
	_, events := start(t, ingest.Config{Broker: p.url(), Store: newStore()})
	for range 3 {
		c := p.next()
		expect(t, events, true)
		if len(c.topics) != 1 {
			t.Fatalf("subscribed to %v", c.topics)
		}
		c.Close()
		expect(t, events, false)
	}
}

// TestStopFinishesTheBatch: what was received before Stop is committed and
// acknowledged before the connection is closed.
func TestStopFinishesTheBatch(t *testing.T) {
	p, store := newPeer(t), newStore()
	hold, asked := make(chan struct{}), make(chan struct{}, 100)
	store.fail = func(int) error { asked <- struct{}{}; <-hold; return nil }
	s, events := start(t, ingest.Config{Broker: p.url(), Store: store})
	c := p.next()
	expect(t, events, true)
	c.send(t, 1, payload(1))
	<-asked
	stopped := make(chan struct{})
	go func() { s.Stop(); close(stopped) }()
	expect(t, events, false)
	close(hold)
	c.wantAck(t, 1)
	<-stopped
	c.wantClosed(t)
	if len(store.order) != 1 || s.Stats().Acknowledged != 1 {
		t.Errorf("%d stored, %+v", len(store.order), s.Stats())
	}
}

// TestStopGivesUp: a store that does not come back cannot hold Stop for ever.
func TestStopGivesUp(t *testing.T) {
	p, store := newPeer(t), newStore()
	store.fail = func(int) error { return errAway }
	s, events := start(t, ingest.Config{Broker: p.url(), Store: store, StoreGrace: time.Hour, StopTimeout: 50 * time.Millisecond})
	c := p.next()
	expect(t, events, true)
	c.send(t, 1, payload(1))
	store.wait(t, "a try", func() bool { return store.tries > 0 })
	s.Stop()
	c.wantClosed(t)
	c.noAcks(t)
}
