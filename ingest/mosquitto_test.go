package ingest_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"wetside/ingest"
)

// TestMosquittoWillAndRetained: mosquitto's own client, not ours, publishes a
// status that is retained, then dies in silence with a will.
func TestMosquittoWillAndRetained(t *testing.T) {
	m, store := newMosquitto(t), newStore()
	const topic = "wetside/v1/tern-street/plover/status"
	m.pub(topic, nil, "-r", "-m", `{"at":"2026-03-01T10:30:00.000+01:00","boot":"b1","seq":1,"online":true,"model":"TS-6"}`)

	_, events := start(t, ingest.Config{Broker: m.url(), Store: store})
	expect(t, events, true)
	store.wait(t, "the retained copy", func() bool { return len(store.msgs) == 1 })
	if got := store.stored()[0]; !got.Retained || got.Status == nil || got.Status.Model != "TS-6" ||
		!got.At.Equal(time.Date(2026, 3, 1, 9, 30, 0, 0, time.UTC)) {
		t.Errorf("retained copy is %+v", got)
	}
	m.pub(topic, nil, "-r", "-m", `{"at":"2026-03-01t09:31:00z","boot":"b1","seq":2,"online":true}`)
	store.wait(t, "the live status", func() bool { return len(store.msgs) == 2 })
	if store.stored()[1].Retained {
		t.Error("a live message is marked as a retained copy")
	}

	m.dieWithWill(topic, `{"online":false}`)
	store.wait(t, "the will", func() bool { return len(store.msgs) == 3 })
	if will := store.stored()[2]; !will.Will || will.Retained || !will.At.Equal(will.Received) {
		t.Errorf("will is %+v", will)
	}
}

// TestMosquittoRetainedWill: who subscribes later gets the will as a copy.
func TestMosquittoRetainedWill(t *testing.T) {
	m, store := newMosquitto(t), newStore()
	const topic = "wetside/v1/tern-street/heron/status"
	watcher := newStore()
	_, watching := start(t, ingest.Config{Broker: m.url(), Store: watcher, ClientID: "watcher"})
	expect(t, watching, true)
	m.dieWithWill(topic, `{"online":false}`)
	watcher.wait(t, "the will", func() bool { return len(watcher.msgs) == 1 })
	_, events := start(t, ingest.Config{Broker: m.url(), Store: store})
	expect(t, events, true)
	store.wait(t, "the retained will", func() bool { return len(store.msgs) == 1 })
	if got := store.stored()[0]; !got.Will || !got.Retained {
		t.Errorf("got %+v", got)
	}
}

// TestMosquittoAtLeastOnce: messages go on while the service is stopped and
// started again, the store fails now and then, poison lies among them, and
// the broker itself is restarted. Each is stored exactly once, in order.
func TestMosquittoAtLeastOnce(t *testing.T) {
	m, store := newMosquitto(t), newStore()
	store.fail = func(try int) error {
		if try%40 == 5 {
			return errAway
		}
		return nil
	}
	cfg := ingest.Config{Broker: m.url(), Store: store, MaxBatch: 50, StoreGrace: 30 * time.Millisecond}
	const topic, round, rounds = "wetside/v1/tern-street/plover/temp", 300, 4
	seq := 0
	lines := func() []string {
		out := make([]string, 0, round+round/50)
		for i := range round {
			if i%50 == 10 {
				out = append(out, fmt.Sprintf("poison %d", seq))
			}
			seq++
			out = append(out, payload(seq))
		}
		return out
	}
	for i := range rounds {
		s, events := start(t, cfg)
		expect(t, events, true)
		m.pub(topic, lines())
		store.wait(t, "some of the round", func() bool { return len(store.order) > i*round+20 })
		s.Stop() // in the middle, or at the end: both happen
		m.pub(topic, lines())
		if i == rounds/2 {
			m.stop()
			m.start()
		}
		s, events = start(t, cfg)
		expect(t, events, true)
		store.wait(t, "the whole round", func() bool { return len(store.order) == seq })
		s.Stop()
	}
	for i, m := range store.stored() {
		if m.Seq != int64(i+1) {
			t.Fatalf("message %d has seq %d: out of order", i, m.Seq)
		}
	}
	poison := map[string]bool{}
	for _, q := range store.poison() {
		poison[string(q.Payload)] = true
	}
	if want := seq / 50; len(poison) != want {
		t.Errorf("%d poison messages in quarantine, want %d", len(poison), want)
	}
}

// TestMosquittoKilledService: a process that dies says no DISCONNECT and
// acknowledges nothing more: everything unacknowledged comes again.
func TestMosquittoKilledService(t *testing.T) {
	m, store := newMosquitto(t), newStore()
	gate := newCutter(t, "127.0.0.1:"+m.port)
	hold := make(chan struct{})
	dying := newStore()
	asked := make(chan struct{}, 100)
	dying.fail = func(int) error { asked <- struct{}{}; <-hold; return errAway }
	s, events := start(t, ingest.Config{Broker: "mqtt://" + gate.addr(), Store: dying, StopTimeout: time.Millisecond})
	expect(t, events, true)
	lines := make([]string, 500)
	for i := range lines {
		lines[i] = payload(i + 1)
	}
	m.pub("wetside/v1/tern-street/plover/temp", lines)
	<-asked    // a batch is in the store's hands
	gate.cut() // the socket is gone, as at kill -9
	expect(t, events, false)
	close(hold)
	s.Stop()
	_, events = start(t, ingest.Config{Broker: m.url(), Store: store})
	expect(t, events, true)
	store.wait(t, "all", func() bool { return len(store.order) == len(lines) })
}

// TestMosquittoReconnects: the broker goes and comes back; the service
// subscribes again, without being told.
func TestMosquittoReconnects(t *testing.T) {
	m, store := newMosquitto(t), newStore()
	s, events := start(t, ingest.Config{Broker: m.url(), Store: store})
	expect(t, events, true)
	m.stop()
	expect(t, events, false)
	m.start()
	expect(t, events, true)
	m.pub("wetside/v1/tern-street/plover/temp", []string{payload(1)})
	store.wait(t, "the message", func() bool { return len(store.order) == 1 })
	if !s.Connected() {
		t.Error("not connected")
	}
}

// TestMosquittoNotThereYet: a broker that comes up later is no error.
func TestMosquittoNotThereYet(t *testing.T) {
	m := newMosquitto(t)
	m.stop()
	s, events := start(t, ingest.Config{Broker: m.url(), Store: newStore()})
	if s.Connected() {
		t.Error("connected to nothing")
	}
	m.start()
	expect(t, events, true)
	ctx, cancel := context.WithTimeout(t.Context(), deadline)
	defer cancel()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for !s.CaughtUp() { // an idle lab is caught up a moment after the subscription
		select {
		case <-ctx.Done():
			t.Fatal("not caught up")
		case <-tick.C:
		}
	}
}
