package monitortest

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/postgres"
	"wetside/internal/replay"
	"wetside/internal/simulation/sim"
)

// faults are simulated once: the same seed gives the same bytes.
var faults = sync.OnceValues(func() ([]lab.Raw, error) { return Simulated(45 * time.Minute) })

// FaultyDay is three quarters of an hour of the demonstration's lab, in which
// most of what can go wrong does, with copies and messages out of order.
func FaultyDay(t testing.TB) []lab.Raw {
	t.Helper()
	raws, err := faults()
	if err != nil {
		t.Fatal(err)
	}
	return raws
}

// Simulated ends just now, so that no clock is off when it is sent at once.
func Simulated(d time.Duration) ([]lab.Raw, error) {
	start := time.Now().Add(-d).UTC().Truncate(time.Second)
	plan := sim.DemoPlan(11, start)
	for _, u := range plan.Units {
		plan.Faults = append(plan.Faults,
			sim.Fault{Kind: sim.Duplicated, Unit: u.Name, At: start, Strength: 0.02},
			sim.Fault{Kind: sim.Reordered, Unit: u.Name, At: start, Strength: 0.01})
	}
	l, err := sim.New(sim.Config{Lab: sim.DemoLab, Seed: 11, Start: start, Schedule: plan})
	if err != nil {
		return nil, err
	}
	return l.Advance(start.Add(d)), nil
}

// WriteCapture writes a capture into a file of the test.
func WriteCapture(t testing.TB, name string, raws []lab.Raw) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	w := lab.NewCaptureWriter(f)
	for _, raw := range raws {
		if err := w.Write(raw); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// ReadCapture reads a capture to its end.
func ReadCapture(t testing.TB, r io.Reader) (raws []lab.Raw) {
	t.Helper()
	c := lab.NewCaptureReader("capture", r)
	for {
		raw, err := c.Next()
		if err == io.EOF {
			return raws
		}
		if err != nil {
			t.Fatal(err)
		}
		raws = append(raws, raw)
	}
}

// Publisher is a client that publishes as a unit does: QoS 1, each message
// again until it is acknowledged.
type Publisher struct {
	t      testing.TB
	client mqtt.Client
	tokens []mqtt.Token
}

// NewPublisher connects one.
func NewPublisher(t testing.TB, url string) *Publisher {
	t.Helper()
	o := mqtt.NewClientOptions().AddBroker(strings.Replace(url, "mqtt://", "tcp://", 1)).
		SetClientID(fmt.Sprintf("test-%d", time.Now().UnixNano())).SetCleanSession(true).SetWriteTimeout(labtest.Patience)
	c := mqtt.NewClient(o)
	if token := c.Connect(); !token.WaitTimeout(labtest.Patience) || token.Error() != nil {
		t.Fatalf("publisher does not connect: %v", token.Error())
	}
	p := &Publisher{t: t, client: c}
	t.Cleanup(func() { c.Disconnect(100) })
	return p
}

// Send publishes one message and waits for nothing.
func (p *Publisher) Send(raw lab.Raw) {
	p.tokens = append(p.tokens, p.client.Publish(raw.Topic, 1, false, raw.Payload))
	if len(p.tokens) >= 2000 {
		p.Settle()
	}
}

// Settle waits until the broker has acknowledged everything.
func (p *Publisher) Settle() {
	p.t.Helper()
	for _, token := range p.tokens {
		if !token.WaitTimeout(labtest.Patience) {
			p.t.Fatal("the broker does not acknowledge")
		}
		if token.Error() != nil {
			p.t.Fatal(token.Error())
		}
	}
	p.tokens = p.tokens[:0]
}

// Named is what tells a message for ever, "" for a last will or what is refused.
func Named(raw lab.Raw) string {
	var e struct {
		Boot string `json:"boot"`
		Seq  int64  `json:"seq"`
	}
	if json.Unmarshal(raw.Payload, &e) != nil || e.Boot == "" {
		return ""
	}
	unit, _, _ := lab.ParseTopic(raw.Topic)
	return fmt.Sprintf("%s %s %d", unit, e.Boot, e.Seq)
}

// Uniquely gives the messages by name, the good ones, with their payloads.
func Uniquely(t testing.TB, raws []lab.Raw) map[string][]byte {
	t.Helper()
	kept, all := replay.NewTelemetry(), map[string][]byte{}
	for _, raw := range raws {
		if a, ok := kept.Take(raw); ok && a.Message != nil && !a.Message.Will {
			all[Named(raw)] = raw.Payload
		}
	}
	return all
}

// AwaitStored waits until every good message is in the database.
func AwaitStored(t *testing.T, store *postgres.Store, want map[string][]byte) {
	t.Helper()
	seen, cursor := 0, int64(0)
	labtest.Poll(t, fmt.Sprintf("%d messages are stored", len(want)), func() bool {
		arrivals, err := store.ArrivalsAfter(t.Context(), cursor, 10_000)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range arrivals {
			cursor = a.Number()
			if a.Message != nil && !a.Message.Will {
				seen++
			}
		}
		return seen >= len(want)
	})
}

// CheckExactlyOnce compares an export with what was sent.
func CheckExactlyOnce(t *testing.T, exported []lab.Raw, want map[string][]byte) {
	t.Helper()
	times := map[string]int{}
	for _, raw := range exported {
		if name := Named(raw); name != "" {
			times[name]++
			if !bytes.Equal(want[name], raw.Payload) {
				t.Errorf("%s is not what was sent: %s; want %s", name, raw.Payload, want[name])
			}
		}
	}
	wrong := 0
	for name := range want {
		if times[name] != 1 {
			if wrong++; wrong <= 5 {
				t.Errorf("%s is there %d times; want once", name, times[name])
			}
		}
	}
	if wrong > 5 {
		t.Errorf("%d messages in all are not there just once", wrong)
	}
}
