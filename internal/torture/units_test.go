package torture

import (
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"wetside/ingest"
	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
)

// telemetry is n messages of sixteen simulated units with things going wrong,
// the last of them sent just now.
func telemetry(t testing.TB, n int) []lab.Raw {
	t.Helper()
	length := max(5*time.Minute, time.Duration(n)*180*time.Millisecond) // they send six to nine a second
	start := time.Now().Add(-length).UTC().Truncate(time.Second)
	l, err := sim.New(sim.Config{Lab: sim.DemoLab, Seed: uint64(seed), Start: start, Schedule: sim.EndlessPlan(uint64(seed), 16, 0.6)})
	if err != nil {
		t.Fatal(err)
	}
	raws := l.Advance(start.Add(length))
	if len(raws) < n {
		t.Fatalf("only %d messages; want %d", len(raws), n)
	}
	return raws[:n]
}

// named is what tells a message for ever, "" for a last will or what is refused.
func named(raw lab.Raw) string {
	raw.Received = time.Now() // the decoder wants one
	m, err := ingest.Decode(raw)
	if err != nil || m.Will {
		return ""
	}
	return fmt.Sprintf("%s %s %d", m.Unit, m.Boot, m.Seq)
}

// ack is a message that the broker acknowledged.
type ack struct {
	raw lab.Raw
	at  time.Time
}

// line is a connection that publishes as units do: in order, at QoS 1, and
// after a lost connection again what was not acknowledged.
type line struct {
	broker string
	id     string
	queue  chan lab.Raw
	done   chan struct{}
	quit   chan struct{}
	acked  atomic.Int64
	mu     sync.Mutex
	acks   []ack // in order
	once   sync.Once
}

// inFlight is how many messages wait for their acknowledgement at once.
const inFlight = 100

func newLine(t testing.TB, broker string) *line {
	l := &line{broker: strings.Replace(broker, "mqtt://", "tcp://", 1), id: fmt.Sprintf("torture-%d", time.Now().UnixNano()),
		queue: make(chan lab.Raw, 200_000), done: make(chan struct{}), quit: make(chan struct{})}
	go l.run()
	t.Cleanup(l.close)
	return l
}

func (l *line) send(raw lab.Raw) { l.queue <- raw }

func (l *line) close() {
	l.once.Do(func() { close(l.quit) })
	<-l.done
}

func (l *line) ended() bool {
	select {
	case <-l.quit:
		return true
	default:
		return false
	}
}

// run works through connection after connection.
func (l *line) run() {
	defer close(l.done)
	var waiting []lab.Raw // sent, not acknowledged
	for !l.ended() {
		w, err := l.dial()
		if err != nil {
			select {
			case <-l.quit:
			case <-time.After(100 * time.Millisecond): // the pause of a unit between its tries
			}
			continue
		}
		waiting = l.publish(w, waiting)
		w.client.Disconnect(50)
	}
}

// wire is one connection.
type wire struct {
	client mqtt.Client
	lost   chan struct{}
}

func (l *line) dial() (*wire, error) {
	w := &wire{lost: make(chan struct{})}
	var once sync.Once
	o := mqtt.NewClientOptions().AddBroker(l.broker).SetClientID(l.id).SetCleanSession(true).SetAutoReconnect(false).
		SetConnectTimeout(2 * time.Second).SetWriteTimeout(2 * time.Second).SetKeepAlive(5 * time.Second).SetPingTimeout(2 * time.Second).
		SetConnectionLostHandler(func(mqtt.Client, error) { once.Do(func() { close(w.lost) }) }).
		SetCustomOpenConnectionFn(func(u *url.URL, _ mqtt.ClientOptions) (net.Conn, error) {
			return net.DialTimeout("tcp", u.Host, 2*time.Second)
		})
	w.client = mqtt.NewClient(o)
	token := w.client.Connect()
	if !token.WaitTimeout(4 * time.Second) {
		return nil, errors.New("no answer to CONNECT")
	}
	return w, token.Error()
}

// publish sends what waits again, then what comes, until the connection is
// lost; it gives what was not acknowledged.
func (l *line) publish(w *wire, again []lab.Raw) (waiting []lab.Raw) {
	var tokens []mqtt.Token
	put := func(raw lab.Raw) {
		waiting = append(waiting, raw)
		tokens = append(tokens, w.client.Publish(raw.Topic, 1, false, raw.Payload))
	}
	for i, raw := range again {
		put(raw)
		if len(tokens) >= inFlight && !l.land(w, &waiting, &tokens) {
			return append(waiting, again[i+1:]...)
		}
	}
	for {
		select {
		case <-l.quit:
			return waiting
		case <-w.lost:
			return waiting
		case raw := <-l.queue:
			put(raw)
			if len(tokens) < inFlight {
				continue
			}
		case <-first(tokens):
		}
		if !l.land(w, &waiting, &tokens) {
			return waiting
		}
	}
}

// first is closed when the oldest message is acknowledged; nil where none waits.
func first(tokens []mqtt.Token) <-chan struct{} {
	if len(tokens) == 0 {
		return nil
	}
	return tokens[0].Done()
}

// land waits for the oldest acknowledgement; false: the connection is lost.
func (l *line) land(w *wire, waiting *[]lab.Raw, tokens *[]mqtt.Token) bool {
	select {
	case <-(*tokens)[0].Done():
		if (*tokens)[0].Error() != nil {
			return false
		}
		l.mu.Lock()
		l.acks = append(l.acks, ack{(*waiting)[0], time.Now()})
		l.mu.Unlock()
		*waiting, *tokens = (*waiting)[1:], (*tokens)[1:]
		l.acked.Add(1)
		return true
	case <-w.lost:
	case <-l.quit:
	case <-time.After(10 * time.Second): // nobody answers: a unit connects again
	}
	return false
}

// settle waits until n messages in all have been acknowledged.
func (l *line) settle(t testing.TB, n int) {
	t.Helper()
	if !growsTo(n, func() int { return int(l.acked.Load()) }) {
		t.Fatalf("%d of %d messages are acknowledged, and no more for %v", l.acked.Load(), n, patience)
	}
}

// hand is a unit that is driven by hand.
type hand struct {
	line *line
	unit string
	seq  int
	run  int
	sent []lab.Raw
}

func (h *hand) say(channel string, fields map[string]any) {
	h.seq++
	fields["at"], fields["boot"], fields["seq"] = lab.At(time.Now()).String(), "boot-"+h.unit, h.seq
	b, err := json.Marshal(fields)
	if err != nil {
		panic(err) // numbers and words only
	}
	raw := lab.Raw{Topic: "wetside/v1/" + sim.DemoLab + "/" + h.unit + "/" + channel, Payload: b}
	h.sent = append(h.sent, raw)
	h.line.send(raw)
}

func (h *hand) step(phase string) {
	h.say("step", map[string]any{"phase": phase, "run": fmt.Sprintf("run-%d", h.run), "process": "c41", "push": 0,
		"step": "developer", "n": 1, "of": 6, "set_s": 195, "elapsed_s": 3})
}

// abort is an urgent alert with no hold: a run stops with film in its developer.
func (h *hand) abort() {
	h.run++
	h.step("filling")
	h.step("in-bath")
	h.step("aborted")
}
