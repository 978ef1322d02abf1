package main

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/postgres"
	"wetside/internal/simulation/sim"
)

// faults is three quarters of an hour of the demonstration's lab, in which
// most of what can go wrong does, with copies and messages out of order.
// Simulated once: the same seed gives the same bytes.
var faults = sync.OnceValues(func() ([]lab.Raw, error) { return simulated(45 * time.Minute) })

func faultyDay(t testing.TB) []lab.Raw {
	t.Helper()
	raws, err := faults()
	if err != nil {
		t.Fatal(err)
	}
	return raws
}

// simulated ends just now, so that no clock is off when it is sent at once.
func simulated(d time.Duration) ([]lab.Raw, error) {
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

func writeCapture(t testing.TB, name string, raws []lab.Raw) string {
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

func readCapture(t testing.TB, r io.Reader) (raws []lab.Raw) {
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

// publisher is a client that publishes as a unit does: QoS 1, each message
// again until it is acknowledged.
type publisher struct {
	t      testing.TB
	client mqtt.Client
	tokens []mqtt.Token
}

func newPublisher(t testing.TB, url string) *publisher {
	t.Helper()
	o := mqtt.NewClientOptions().AddBroker(strings.Replace(url, "mqtt://", "tcp://", 1)).
		SetClientID(fmt.Sprintf("test-%d", time.Now().UnixNano())).SetCleanSession(true).SetWriteTimeout(labtest.Patience)
	c := mqtt.NewClient(o)
	if token := c.Connect(); !token.WaitTimeout(labtest.Patience) || token.Error() != nil {
		t.Fatalf("publisher does not connect: %v", token.Error())
	}
	p := &publisher{t: t, client: c}
	t.Cleanup(func() { c.Disconnect(100) })
	return p
}

func (p *publisher) send(raw lab.Raw) {
	p.tokens = append(p.tokens, p.client.Publish(raw.Topic, 1, false, raw.Payload))
	if len(p.tokens) >= 2000 {
		p.settle()
	}
}

// settle waits until the broker has acknowledged everything.
func (p *publisher) settle() {
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

// named is what tells a message for ever, "" for a last will or what is refused.
func named(raw lab.Raw) string {
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

// uniquely gives the messages by name, the good ones, with their payloads.
func uniquely(t testing.TB, raws []lab.Raw) map[string][]byte {
	t.Helper()
	kept, all := newTelemetry(), map[string][]byte{}
	for _, raw := range raws {
		if a, ok := kept.take(raw); ok && a.Message != nil && !a.Message.Will {
			all[named(raw)] = raw.Payload
		}
	}
	return all
}

// awaitStored waits until every good message is in the database.
func awaitStored(t *testing.T, store *postgres.Store, want map[string][]byte) {
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

// checkExactlyOnce compares an export with what was sent.
func checkExactlyOnce(t *testing.T, exported []lab.Raw, want map[string][]byte) {
	t.Helper()
	times := map[string]int{}
	for _, raw := range exported {
		if name := named(raw); name != "" {
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

// facts of an alert that the contract's proof compares.
type facts struct {
	Rule, Unit, Step  string
	Raised, ClearedAt string
}

func factsOf(a lab.Alert) facts {
	f := facts{Rule: a.Rule, Unit: a.Unit, Step: a.Step, Raised: a.RaisedAt.String()}
	if a.ClearedAt != nil {
		f.ClearedAt = a.ClearedAt.String()
	}
	return f
}

// onArrival are judged by when things arrive: sent all at once, they differ.
var onArrival = []string{"unit-silent", "clock-off", "telemetry-refused"}

// lastOccurrences gives the facts of the latest occurrence of each alert, as
// the API shows it, without the rules named, in an order of its own.
func lastOccurrences(list []lab.Alert, without ...string) []facts {
	last := map[string]lab.Alert{}
	for _, a := range list {
		if old, ok := last[a.ID]; !slices.Contains(without, a.Rule) && !a.Withdrawn && (!ok || old.RaisedAt.Before(a.RaisedAt.Time)) {
			last[a.ID] = a
		}
	}
	var out []facts
	for _, a := range last {
		out = append(out, factsOf(a))
	}
	slices.SortFunc(out, func(a, b facts) int {
		return cmp.Or(cmp.Compare(a.Raised, b.Raised), cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.Step, b.Step))
	})
	return out
}

func alertsOf(lines []replayLine) (out []lab.Alert) {
	for _, l := range lines {
		if l.Alert != nil {
			out = append(out, *l.Alert)
		}
	}
	return out
}
