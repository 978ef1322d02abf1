package ingest_test

import (
	"context"
	"log/slog"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/eclipse/paho.mqtt.golang/packets"

	"wetside/ingest"
	"wetside/internal/labtest"
)

// TestNotCaughtUpWhileMessagesWait: what was received and is not committed is
// told, for silence is judged only by who has read everything.
func TestNotCaughtUpWhileMessagesWait(t *testing.T) {
	p, store := newPeer(t), newStore()
	hold, asked := make(chan struct{}), make(chan struct{}, 100)
	store.fail = func(int) error { asked <- struct{}{}; <-hold; return nil }
	s, events := start(t, ingest.Config{Broker: p.url(), Store: store, StoreGrace: time.Hour})
	release := sync.OnceFunc(func() { close(hold) })
	t.Cleanup(release) // a failure must not hang in Stop
	c := p.next()
	expect(t, events, true)
	eventually(t, "an idle lab is caught up", s.CaughtUp)
	c.send(t, 1, payload(1))
	<-asked
	eventually(t, "a message that waits is told", func() bool { return !s.CaughtUp() })
	// It stays so for as long as it waits, however quiet the line is.
	for until := time.Now().Add(1500 * time.Millisecond); time.Now().Before(until); {
		if s.CaughtUp() {
			t.Fatal("caught up though a message waits for its commit")
		}
		<-time.After(20 * time.Millisecond)
	}
	release()
	c.wantAck(t, 1)
	eventually(t, "caught up again", s.CaughtUp)
}

// TestQoS0SurvivesALostLink: the broker does not send a message of QoS 0
// again, so what came over a link that is gone is stored all the same.
func TestQoS0SurvivesALostLink(t *testing.T) {
	p, store := newPeer(t), newStore()
	hold, asked := make(chan struct{}), make(chan struct{}, 100)
	store.fail = func(try int) error {
		asked <- struct{}{}
		if try == 1 {
			<-hold
		}
		return nil
	}
	s, events := start(t, ingest.Config{Broker: p.url(), Store: store, StoreGrace: time.Hour, MaxBatch: 1})
	release := sync.OnceFunc(func() { close(hold) })
	t.Cleanup(release) // a failure must not hang in Stop
	c := p.next()
	expect(t, events, true)
	c.send(t, 1, payload(1)) // in the store's hands
	<-asked
	c.sendQoS0(t, payload(2)) // waits in the queue
	c.send(t, 3, payload(3))  // waits in the queue, and comes again
	eventually(t, "both wait", func() bool { return s.Stats().Queued == 3 })
	c.Close()
	expect(t, events, false)
	release()
	c2 := p.next()
	expect(t, events, true)
	store.wait(t, "the message of QoS 0", func() bool { return store.seen["tern-street/plover b1 2"] == 1 })
	c2.send(t, 3, payload(3))
	c2.wantAck(t, 3)
	store.wait(t, "the message that came again", func() bool { return store.seen["tern-street/plover b1 3"] > 0 }) // twice where the writer had it
}

func (c *peerConn) sendQoS0(t testing.TB, payload string) {
	t.Helper()
	m := packets.NewControlPacket(packets.Publish).(*packets.PublishPacket)
	m.TopicName, m.Payload = "wetside/v1/tern-street/plover/temp", []byte(payload)
	if err := m.Write(c); err != nil {
		t.Fatal(err)
	}
}

// eventually polls a condition that nobody signals.
func eventually(t testing.TB, what string, ok func() bool) {
	t.Helper()
	timeout := time.After(deadline)
	for !ok() {
		select {
		case <-timeout:
			t.Fatalf("waited in vain: %s", what)
		case <-time.After(5 * time.Millisecond):
		}
	}
}

// waits gives the waits before the next try to connect that a log tells of.
type waits struct {
	slog.Handler
	told chan string
}

func (w waits) Enabled(context.Context, slog.Level) bool { return true }

func (w waits) Handle(_ context.Context, r slog.Record) error {
	if r.Message == "ingest: not connected" || strings.HasPrefix(r.Message, "ingest: the session under the former") {
		r.Attrs(func(a slog.Attr) bool {
			if a.Key == "again_in" {
				w.told <- a.Value.String()
			}
			return true
		})
	}
	return nil
}

// TestWaitsToReconnectAreBounded: a broker that is away is asked again soon,
// then less often, and never less often than the most that was set.
func TestWaitsToReconnectAreBounded(t *testing.T) {
	for _, former := range []string{"", "wetside-before"} { // the latter's session is taken over first
		log := waits{slog.DiscardHandler, make(chan string, 100)}
		s, err := ingest.New(ingest.Config{Broker: "mqtt://127.0.0.1:1", ClientID: "wetside", FormerClientID: former, Store: newStore(),
			Log: slog.New(log), MaxReconnect: 300 * time.Millisecond})
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Start(t.Context()); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(s.Stop)
		for i, want := range []string{"200ms", "300ms", "300ms"} {
			if got := labtest.Receive(t, log.told, "a try to connect"); got != want {
				t.Errorf("former %q, try %d: again in %s; want %s", former, i+1, got, want)
			}
		}
	}
}
