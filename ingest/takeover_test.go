package ingest_test

import (
	"context"
	"testing"

	"wetside/ingest"
)

// TestFormerSessionIsTakenOver: what the broker keeps under the client id that
// everybody knew is stored, once, before the new session goes on; then the
// former one is gone, and what comes later waits under the new one only.
func TestFormerSessionIsTakenOver(t *testing.T) {
	m := newMosquitto(t)
	old, events := start(t, ingest.Config{Broker: m.url(), ClientID: "wetside", Store: newStore()})
	expect(t, events, true)
	old.Stop()
	lines := make([]string, 300)
	for i := range lines {
		lines[i] = payload(i + 1)
	}
	const topic = "wetside/v1/tern-street/plover/temp"
	m.pub(topic, lines) // acknowledged by the broker, and waiting
	store, done := newStore(), make(chan struct{}, 1)
	cfg := ingest.Config{Broker: m.url(), ClientID: "of-this-lab", Store: store, FormerClientID: "wetside",
		FormerDone: func(context.Context) error { done <- struct{}{}; return nil }}
	s, events := start(t, cfg)
	expect(t, events, true)
	<-done
	store.wait(t, "what waited", func() bool { return len(store.order) == len(lines) })
	for i, got := range store.stored() {
		if got.Seq != int64(i+1) {
			t.Fatalf("message %d has seq %d", i, got.Seq)
		}
	}
	s.Stop()
	m.pub(topic, []string{payload(301)})
	// Nobody holds the former session any more: who connects with that id now
	// finds nothing.
	thief := newStore()
	ts, events := start(t, ingest.Config{Broker: m.url(), ClientID: "wetside", Store: thief})
	expect(t, events, true)
	cfg.FormerClientID = ""
	_, events = start(t, cfg)
	expect(t, events, true)
	store.wait(t, "what came later", func() bool { return len(store.order) == 301 })
	ts.Stop()
	if n := len(thief.stored()); n > 0 {
		t.Errorf("%d messages waited under the former id", n)
	}
}

// TestNoFormerSession: a lab that begins anew has nothing to take.
func TestNoFormerSession(t *testing.T) {
	m, store, done := newMosquitto(t), newStore(), make(chan struct{}, 1)
	_, events := start(t, ingest.Config{Broker: m.url(), ClientID: "of-this-lab", Store: store, FormerClientID: "wetside",
		FormerDone: func(context.Context) error { done <- struct{}{}; return nil }})
	expect(t, events, true)
	<-done
	m.pub("wetside/v1/tern-street/plover/temp", []string{payload(1)})
	store.wait(t, "the message", func() bool { return len(store.order) == 1 })
}
