package ingest_test

import (
	"context"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"wetside/ingest"
	"wetside/internal/lab"
)

// nullStore takes everything at once.
type nullStore struct {
	n    atomic.Int64
	want int64
	done chan struct{}
}

func (s *nullStore) Append(_ context.Context, _ int64, msgs []lab.Message, _ []lab.Quarantined) (lab.AppendResult, error) {
	if n := s.n.Add(int64(len(msgs))); n >= s.want && n-int64(len(msgs)) < s.want {
		close(s.done)
	}
	return lab.AppendResult{New: len(msgs)}, nil
}

// BenchmarkPath: mosquitto, decode, a store that costs nothing, acknowledge.
// BenchmarkCount beside it only counts what mosquitto delivers: the ceiling.
func BenchmarkPath(b *testing.B) {
	m := newMosquitto(b)
	store := &nullStore{want: int64(b.N), done: make(chan struct{})}
	_, events := start(b, ingest.Config{Broker: m.url(), Store: store})
	expect(b, events, true)
	flood(b, m, store.done)
}

func BenchmarkCount(b *testing.B) {
	m := newMosquitto(b)
	done := make(chan struct{})
	var n atomic.Int64
	o := mqtt.NewClientOptions().AddBroker(m.url()).SetClientID("counter").SetCleanSession(false).SetOrderMatters(true)
	c := mqtt.NewClient(o)
	if tok := c.Connect(); tok.Wait() && tok.Error() != nil {
		b.Fatal(tok.Error())
	}
	defer c.Disconnect(100)
	tok := c.Subscribe("wetside/v1/#", 1, func(mqtt.Client, mqtt.Message) {
		if n.Add(1) == int64(b.N) {
			close(done)
		}
	})
	if tok.Wait(); tok.Error() != nil {
		b.Fatal(tok.Error())
	}
	flood(b, m, done)
}

// flood publishes b.N messages with a bounded number on their way.
func flood(b *testing.B, m *mosquitto, done <-chan struct{}) {
	c := mqtt.NewClient(mqtt.NewClientOptions().AddBroker(m.url()).SetClientID("flood"))
	if tok := c.Connect(); tok.Wait() && tok.Error() != nil {
		b.Fatal(tok.Error())
	}
	defer c.Disconnect(100)
	at := time.Now().UTC().Format(time.RFC3339Nano)
	b.ResetTimer()
	const window = 500
	tokens := make([]mqtt.Token, 0, window)
	for i := range b.N {
		if len(tokens) == window {
			for _, t := range tokens {
				t.Wait()
			}
			tokens = tokens[:0]
		}
		body := fmt.Sprintf(`{"at":%q,"boot":"b1","seq":%d,"up_s":12.5,"bath_c":37.8,"preheat_c":38.1}`, at, i+1)
		tokens = append(tokens, c.Publish("wetside/v1/tern-street/plover/temp", 1, false, body))
	}
	select {
	case <-done:
	case <-time.After(time.Minute):
		b.Fatal("not all arrived")
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "msg/s")
}
