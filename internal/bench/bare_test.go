package bench

import (
	"strings"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"github.com/jackc/pgx/v5"

	"wetside/ingest"
	"wetside/internal/lab"
)

// bare is the ceiling of taking telemetry in: subscribe, decode, write what
// the contract's envelope has and the payload, commit, acknowledge. It tells no
// copies apart, gives no numbers, judges nothing.
type bare struct {
	t      testing.TB
	conn   *pgx.Conn
	client mqtt.Client
	queue  chan mqtt.Message
}

const bareTable = `CREATE TABLE bare (unit text, boot text, seq bigint, at timestamptz, received_at timestamptz, channel text, payload bytea, PRIMARY KEY (unit, boot, seq))`

func newBare(t testing.TB, broker string) *bare {
	t.Helper()
	b := &bare{t: t, conn: connect(t, freshDatabase(t)), queue: make(chan mqtt.Message, 1_000_000)}
	if _, err := b.conn.Exec(t.Context(), bareTable); err != nil {
		t.Fatal(err)
	}
	o := mqtt.NewClientOptions().AddBroker(strings.Replace(broker, "mqtt://", "tcp://", 1)).SetClientID("bare").SetCleanSession(false).SetOrderMatters(true).SetAutoReconnect(false)
	o.SetAutoAckDisabled(true)
	o.SetDefaultPublishHandler(func(_ mqtt.Client, m mqtt.Message) { b.queue <- m })
	b.client = mqtt.NewClient(o)
	return b
}

// connect opens the session, which the broker keeps when it is left.
func (b *bare) connect() { b.await(b.client.Connect()) }

// subscribe has the broker keep telemetry for the session.
func (b *bare) subscribe() { b.await(b.client.Subscribe(lab.TopicPrefix+"#", 1, nil)) }

func (b *bare) await(t mqtt.Token) {
	b.t.Helper()
	if !t.WaitTimeout(patience) || t.Error() != nil {
		b.t.Fatal("the bare loop's session: ", t.Error())
	}
}

func (b *bare) leave() { b.client.Disconnect(50) }

// drain takes n messages in.
func (b *bare) drain(n int) {
	b.t.Helper()
	for n > 0 {
		batch := b.batch(min(n, 1000))
		msgs := make([]lab.Message, 0, len(batch))
		for _, m := range batch {
			d, err := ingest.Decode(lab.Raw{Topic: m.Topic(), Payload: m.Payload(), Received: time.Now()})
			if err != nil {
				b.t.Fatal(err)
			}
			msgs = append(msgs, d)
		}
		if err := copyRows(b.t.Context(), b.conn, msgs); err != nil {
			b.t.Fatal(err)
		}
		for _, m := range batch {
			m.Ack()
		}
		n -= len(batch)
	}
}

// batch is what there is, at least one message.
func (b *bare) batch(most int) (batch []mqtt.Message) {
	for len(batch) < most {
		if len(batch) > 0 && len(b.queue) == 0 {
			return batch
		}
		select {
		case m := <-b.queue:
			batch = append(batch, m)
		case <-time.After(patience):
			b.t.Fatalf("nothing arrives; %d are there", len(batch))
		}
	}
	return batch
}
