package broker_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"
	"github.com/eclipse/paho.mqtt.golang/packets"

	"wetside/ingest"
	"wetside/ingest/broker"
	"wetside/internal/lab"
)

var (
	plover = lab.UnitID{Lab: "tern-street", Unit: "plover"}
	heron  = lab.UnitID{Lab: "tern-street", Unit: "heron"}
)

// keyring is the keys of units, which a test may change.
type keyring struct {
	mu   sync.Mutex
	keys map[lab.UnitID]string
}

func (k *keyring) set(u lab.UnitID, key string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.keys[u] = key
}

func (k *keyring) of(_ context.Context, u lab.UnitID) ([][]byte, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if key, ok := k.keys[u]; ok {
		return [][]byte{broker.HashKey(key)}, nil
	}
	return nil, nil
}

// book is a store that keeps everything apart, and tells.
type book struct {
	got     chan lab.Message
	refused chan lab.Quarantined
}

func (b book) Append(_ context.Context, _ int64, msgs []lab.Message, refused []lab.Quarantined) (lab.AppendResult, error) {
	for _, m := range msgs {
		b.got <- m
	}
	for _, q := range refused {
		b.refused <- q
	}
	return lab.AppendResult{New: len(msgs), Quarantined: len(refused)}, nil
}

// guarded starts a broker with keys beyond loopback, and the monitor on it.
func guarded(t testing.TB, cfg broker.Config) (b *broker.Broker, addr string, keys *keyring, store book) {
	t.Helper()
	keys = &keyring{keys: map[lab.UnitID]string{plover: "p-key", heron: "h-key"}}
	cfg.Listen, cfg.Keys = "0.0.0.0:0", keys.of
	b = start(t, cfg)
	store = book{make(chan lab.Message, 500_000), make(chan lab.Quarantined, 500_000)}
	up := make(chan bool, 10)
	svc, err := ingest.New(ingest.Config{Broker: b.MonitorURL(), ClientID: b.ClientID(), Embedded: true, Store: store, Log: quiet(t), OnConnected: func(b bool) { up <- b }})
	if err != nil {
		t.Fatal(err)
	}
	if err := svc.Start(context.Background()); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(svc.Stop)
	<-up
	b.AllowUnits()
	_, port, _ := net.SplitHostPort(b.Addr())
	return b, "127.0.0.1:" + port, keys, store
}

func next[T any](t testing.TB, what string, ch <-chan T) T {
	t.Helper()
	select {
	case v := <-ch:
		return v
	case <-time.After(deadline):
		t.Fatalf("waited in vain for %s", what)
		panic("unreachable")
	}
}

// rawUnit speaks MQTT by hand: what a client library would not send.
type rawUnit struct {
	net.Conn
	in *bufio.Reader
}

func dialRaw(t testing.TB, addr, user, key, clientID string) *rawUnit {
	t.Helper()
	conn, err := net.Dial("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	c := packets.NewControlPacket(packets.Connect).(*packets.ConnectPacket)
	c.ProtocolName, c.ProtocolVersion, c.CleanSession, c.ClientIdentifier = "MQTT", 4, true, clientID
	c.UsernameFlag, c.PasswordFlag, c.Username, c.Password = user != "", key != "", user, []byte(key)
	if err := c.Write(conn); err != nil {
		t.Fatal(err)
	}
	r := &rawUnit{conn, bufio.NewReader(conn)}
	if ack, ok := r.read(t).(*packets.ConnackPacket); !ok || ack.ReturnCode != 0 {
		t.Fatalf("CONNECT of %s: %v", user, ack)
	}
	return r
}

func (r *rawUnit) read(t testing.TB) packets.ControlPacket {
	t.Helper()
	if err := r.SetReadDeadline(time.Now().Add(deadline)); err != nil {
		t.Fatal(err)
	}
	p, err := packets.ReadPacket(r.in)
	if err != nil {
		t.Fatalf("nothing to read: %v", err)
	}
	return p
}

// publish writes a PUBLISH byte by byte, whatever is in it.
func (r *rawUnit) publish(t testing.TB, topic string, qos byte, retain bool, id uint16, payload io.Reader, size int) {
	t.Helper()
	first := byte(0x30) | qos<<1
	if retain {
		first |= 1
	}
	rest := 2 + len(topic) + size
	if qos > 0 {
		rest += 2
	}
	b := []byte{first}
	for n := rest; ; n >>= 7 {
		if n < 0x80 {
			b = append(b, byte(n))
			break
		}
		b = append(b, byte(n)|0x80)
	}
	b = append(binary.BigEndian.AppendUint16(b, uint16(len(topic))), topic...)
	if qos > 0 {
		b = binary.BigEndian.AppendUint16(b, id)
	}
	if _, err := r.Write(b); err != nil {
		t.Fatal(err)
	}
	if _, err := io.CopyN(r, payload, int64(size)); err != nil {
		t.Fatal(err)
	}
}

func (r *rawUnit) say(t testing.TB, topic string, qos byte, retain bool, id uint16, payload string) {
	t.Helper()
	r.publish(t, topic, qos, retain, id, strings.NewReader(payload), len(payload))
}

type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }

func motion(seq int) string { return body(fmt.Sprint(seq)) }

// TestHostilePublishes: whatever one unit publishes, it is answered, stands in
// quarantine under its own name, harms nothing, and its next good message and
// another unit's come through.
func TestHostilePublishes(t *testing.T) {
	_, addr, _, store := guarded(t, broker.Config{})
	u := dialRaw(t, addr, plover.String(), "p-key", "a")
	other, err := unit(addr, heron.String(), "h-key")
	if err != nil {
		t.Fatal(err)
	}
	defer other.Disconnect(100)
	long := strings.Repeat("x", 65000)
	seq := 0
	for i, c := range []struct {
		name, topic string
		qos         byte
		retain      bool
		payload     string
		size        int    // of zeros, in place of payload
		reason      string // how it begins; empty: nothing arrives, or a good message
	}{
		{name: "made-up channel", topic: "wetside/v1/tern-street/plover/humidity", qos: 1, payload: "{}", reason: "topic"},
		{name: "made-up channel, retained", topic: "wetside/v1/tern-street/plover/x1", qos: 1, retain: true, payload: "{}", reason: "topic"},
		{name: "another unit's", topic: "wetside/v1/tern-street/heron/motion", qos: 1, payload: motion(1), reason: "topic"},
		{name: "deeper", topic: "wetside/v1/tern-street/plover/motion/x", qos: 1, payload: "{}", reason: "topic"},
		{name: "elsewhere", topic: "elsewhere", qos: 1, payload: "{}", reason: "topic"},
		{name: "the envelope itself", topic: lab.RefusedTopicName, qos: 1, payload: `{"reason":"forged","unit":"tern-street/heron"}`, reason: "topic"},
		{name: "$SYS", topic: "$SYS/broker/version", qos: 1, payload: "{}", reason: "topic"},
		{name: "the engine's own", topic: "$MQTT/sub/x", qos: 1, payload: "{}", reason: "topic"},
		{name: "wildcards", topic: "wetside/v1/+/#", qos: 1, payload: "{}", reason: "topic"},
		{name: "the engine's wildcards", topic: "wetside/v1/tern-street/*/>", qos: 1, payload: "{}", reason: "topic"},
		{name: "not UTF-8", topic: "wetside/v1/tern-street/\xff\xfe/motion", qos: 1, payload: "{}", reason: "topic"},
		{name: "NUL", topic: "wetside/v1/tern-street/plover/mo\x00tion", qos: 1, payload: "{}", reason: "topic"},
		{name: "empty topic", topic: "", qos: 1, payload: "{}", reason: "topic"},
		{name: "long topic", topic: "wetside/v1/" + long, qos: 1, payload: "{}", reason: "topic"},
		{name: "spaces and dots", topic: "wetside/v1/tern street/plo.ver/motion", qos: 1, payload: "{}", reason: "topic"},
		{name: "empty payload", topic: "wetside/v1/tern-street/plover/motion", qos: 1, reason: "not-json"},
		{name: "empty retained status", topic: "wetside/v1/tern-street/plover/status", qos: 1, retain: true, reason: "not-json"},
		{name: "9 kB", topic: "wetside/v1/tern-street/plover/motion", qos: 1, size: 9 << 10, reason: "too-large: the payload must have at most 8192 bytes"},
		{name: "1 MB", topic: "wetside/v1/tern-street/plover/motion", qos: 1, size: 1 << 20, reason: "too-large: the payload must have at most 8192 bytes"},
		{name: "256 MB, the most MQTT has", topic: "wetside/v1/tern-street/plover/motion", qos: 1, size: 268435455 - 2 - 36 - 2, reason: "too-large: the payload must have at most 8192 bytes"},
		{name: "QoS 0", topic: "wetside/v1/tern-street/plover/wind", payload: "{}", reason: "topic"},
		{name: "QoS 2", topic: "wetside/v1/tern-street/plover/wind", qos: 2, payload: "{}", reason: "topic"},
		{name: "QoS 2, good", topic: "wetside/v1/tern-street/plover/motion", qos: 2, payload: motion(1_000_000)},
		{name: "retained motion", topic: "wetside/v1/tern-street/plover/motion", qos: 1, retain: true, payload: motion(1_000_001)},
	} {
		id := uint16(i + 1)
		var payload io.Reader = strings.NewReader(c.payload)
		size := len(c.payload)
		if c.size > 0 {
			payload, size = zeros{}, c.size
		}
		u.publish(t, c.topic, c.qos, c.retain, id, payload, size)
		switch c.qos {
		case 1:
			if a, ok := u.read(t).(*packets.PubackPacket); !ok || a.MessageID != id {
				t.Fatalf("%s: answered by %v", c.name, a)
			}
		case 2:
			if a, ok := u.read(t).(*packets.PubrecPacket); !ok || a.MessageID != id {
				t.Fatalf("%s: answered by %v", c.name, a)
			}
			rel := packets.NewControlPacket(packets.Pubrel).(*packets.PubrelPacket)
			rel.MessageID = id
			if err := rel.Write(u); err != nil {
				t.Fatal(err)
			}
			if a, ok := u.read(t).(*packets.PubcompPacket); !ok || a.MessageID != id {
				t.Fatalf("%s: ended by %v", c.name, a)
			}
		}
		if c.reason != "" {
			q := next(t, c.name+" in quarantine", store.refused)
			kept := c.topic[:min(len(c.topic), 4<<10)]
			if !strings.HasPrefix(q.Reason, c.reason) || q.Unit != plover || q.Topic != kept || len(q.Payload) > 64<<10 {
				t.Errorf("%s: in quarantine as %.200q of %v, topic %.80q, %d bytes", c.name, q.Reason, q.Unit, q.Topic, len(q.Payload))
			}
		} else if m := next(t, c.name, store.got); m.Unit != plover || m.Retained {
			t.Errorf("%s: got %+v", c.name, m)
		}
		seq++
		if !publish(other, lab.Topic(heron, lab.ChannelMotion), motion(seq)) {
			t.Fatalf("%s: another unit is no longer answered", c.name)
		}
		if m := next(t, "another unit's after "+c.name, store.got); m.Unit != heron || m.Seq != int64(seq) {
			t.Fatalf("%s: then came %+v", c.name, m)
		}
	}
}

// TestRetainedFlood: 1,500 retained messages on made-up channels leave nothing
// behind in the broker.
func TestRetainedFlood(t *testing.T) {
	b, addr, _, store := guarded(t, broker.Config{})
	c, err := unit(addr, plover.String(), "p-key")
	if err != nil {
		t.Fatal(err)
	}
	defer c.Disconnect(100)
	tokens := make([]mqtt.Token, 0, 1500)
	for i := range 1500 {
		tokens = append(tokens, c.Publish(fmt.Sprintf("wetside/v1/tern-street/plover/made-up-%d", i), 1, true, bytes.Repeat([]byte("x"), 4000)))
	}
	for _, tok := range tokens {
		if !tok.WaitTimeout(deadline) || tok.Error() != nil {
			t.Fatalf("not answered: %v", tok.Error())
		}
	}
	for range 1500 {
		if q := next(t, "quarantine", store.refused); !strings.HasPrefix(q.Reason, "topic: ") {
			t.Fatal(q.Reason)
		}
	}
	status := strings.Replace(motion(1), `"rpm":60`, `"online":true`, 1)
	if tok := c.Publish(lab.Topic(plover, lab.ChannelStatus), 1, true, status); !tok.WaitTimeout(deadline) || tok.Error() != nil {
		t.Fatal("status not answered")
	}
	next(t, "the status", store.got)
	// Who subscribes later gets the one status and nothing else.
	late := make(chan mqtt.Message, 2000)
	o := mqtt.NewClientOptions().AddBroker("tcp://" + addr).SetClientID("later").SetUsername("program").SetPassword(programKey(b))
	p := mqtt.NewClient(o)
	if tok := p.Connect(); !tok.WaitTimeout(deadline) || tok.Error() != nil {
		t.Fatal(tok.Error())
	}
	defer p.Disconnect(100)
	if tok := p.Subscribe("wetside/v1/#", 1, func(_ mqtt.Client, m mqtt.Message) { late <- m }); !tok.WaitTimeout(deadline) || tok.Error() != nil {
		t.Fatal(tok.Error())
	}
	if m := next(t, "the retained status", late); m.Topic() != lab.Topic(plover, lab.ChannelStatus) || !m.Retained() {
		t.Errorf("got %s", m.Topic())
	}
	if !publish(c, lab.Topic(plover, lab.ChannelMotion), motion(2)) {
		t.Fatal("not answered")
	}
	if m := next(t, "the live message", late); m.Retained() {
		t.Errorf("more is retained: %s", m.Topic())
	}
}

func programKey(b *broker.Broker) string {
	u := b.ProgramURL()
	return strings.TrimPrefix(u[:strings.LastIndex(u, "@")], "mqtt://program:")
}

// TestNobodyTakesTheMonitorsSession: a unit that connects under the monitor's
// client id, or another unit's, takes nothing over.
func TestNobodyTakesTheMonitorsSession(t *testing.T) {
	b, addr, _, store := guarded(t, broker.Config{})
	victim := dialRaw(t, addr, heron.String(), "h-key", "controller")
	for i, id := range []string{b.ClientID(), "controller"} {
		thief := dialRaw(t, addr, plover.String(), "p-key", id)
		thief.say(t, lab.Topic(plover, lab.ChannelMotion), 1, false, 1, motion(i+1))
		thief.read(t)
		if m := next(t, "the message", store.got); m.Unit != plover {
			t.Errorf("got %+v", m)
		}
	}
	for i := range 40 {
		victim.say(t, lab.Topic(heron, lab.ChannelMotion), 1, false, uint16(i+1), motion(i+1))
		victim.read(t)
		if m := next(t, "a message of the other unit", store.got); m.Unit != heron || m.Seq != int64(i+1) {
			t.Fatalf("got %+v", m)
		}
	}
}

// TestKeyReplacedEndsConnection: at once, and it is told on the unit's page;
// so is a wrong key, and a name without a key is not.
func TestKeyReplacedEndsConnection(t *testing.T) {
	told := make(chan lab.Refusal, 100)
	b, addr, keys, _ := guarded(t, broker.Config{Refused: func(r lab.Refusal) { told <- r }})
	u := dialRaw(t, addr, plover.String(), "p-key", "a")
	stays := dialRaw(t, addr, heron.String(), "h-key", "a")
	keys.set(plover, "new-key")
	b.Recheck()
	if err := u.SetReadDeadline(time.Now().Add(deadline)); err != nil {
		t.Fatal(err)
	}
	if _, err := u.in.ReadByte(); err == nil || errors.Is(err, context.DeadlineExceeded) {
		t.Error("the connection of the former key goes on")
	}
	if r := next(t, "the refusal", told); r.Unit != plover || r.What != lab.RefusalConnection || !strings.Contains(r.Reason, "replaced") || r.From != "127.0.0.1" {
		t.Errorf("told %+v", r)
	}
	if _, err := unit(addr, plover.String(), "p-key"); err == nil {
		t.Error("the former key still opens")
	}
	if r := next(t, "the refusal", told); r.Unit != plover || !strings.Contains(r.Reason, "no such key") {
		t.Errorf("told %+v", r)
	}
	if _, err := unit(addr, "tern-street/nobody", "x"); err == nil {
		t.Error("a unit without a key got in")
	}
	c, err := unit(addr, plover.String(), "new-key")
	if err != nil {
		t.Fatal(err)
	}
	c.Disconnect(100)
	stays.say(t, lab.Topic(heron, lab.ChannelMotion), 1, false, 1, motion(1))
	if _, ok := stays.read(t).(*packets.PubackPacket); !ok {
		t.Error("the other unit's connection ended too")
	}
	for len(told) > 0 { // the client library tries a refused key twice
		if r := <-told; r.Unit != plover || !strings.Contains(r.Reason, "no such key") {
			t.Errorf("told %+v", r)
		}
	}
}

// TestForeignWill: a last will goes to the unit's own status or nowhere.
func TestForeignWill(t *testing.T) {
	told := make(chan lab.Refusal, 100)
	_, addr, _, store := guarded(t, broker.Config{Refused: func(r lab.Refusal) { told <- r }})
	for _, c := range []struct {
		topic, payload string
		taken          bool
	}{
		{lab.Topic(heron, lab.ChannelStatus), `{"online":false}`, false},
		{lab.Topic(plover, lab.ChannelMotion), `{"online":false}`, false},
		{"$SYS/x", `{"online":false}`, false},
		{lab.Topic(plover, lab.ChannelStatus), `{"online":"maybe"}`, true},
		{lab.Topic(plover, lab.ChannelStatus), `{"online":false}`, true},
	} {
		conn, err := net.Dial("tcp", addr)
		if err != nil {
			t.Fatal(err)
		}
		k := packets.NewControlPacket(packets.Connect).(*packets.ConnectPacket)
		k.ProtocolName, k.ProtocolVersion, k.CleanSession, k.ClientIdentifier = "MQTT", 4, true, "w"+c.topic
		k.UsernameFlag, k.PasswordFlag, k.Username, k.Password = true, true, plover.String(), []byte("p-key")
		k.WillFlag, k.WillRetain, k.WillQos, k.WillTopic, k.WillMessage = true, true, 2, c.topic, []byte(c.payload)
		if err := k.Write(conn); err != nil {
			t.Fatal(err)
		}
		if a, err := packets.ReadPacket(conn); err != nil || a.(*packets.ConnackPacket).ReturnCode != 0 {
			t.Fatalf("%s: %v %v", c.topic, a, err)
		}
		conn.Close()
		switch {
		case !c.taken:
			if r := next(t, "the refused will", told); !strings.Contains(r.Reason, "last will") {
				t.Errorf("told %+v", r)
			}
		case strings.Contains(c.payload, "maybe"):
			if q := next(t, "the odd will", store.refused); q.Unit != plover {
				t.Errorf("quarantine has %+v", q)
			}
		default:
			if m := next(t, "the will", store.got); !m.Will || m.Unit != plover {
				t.Errorf("got %+v", m)
			}
		}
	}
	if len(store.got)+len(store.refused) > 0 {
		t.Error("a will that was left out arrived")
	}
}
