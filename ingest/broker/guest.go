package broker

import (
	"bufio"
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"net"
	"sync"
	"time"

	"github.com/eclipse/paho.mqtt.golang/packets"

	"wetside/internal/lab"
)

// guest is one connection through the gate. reads belongs to one goroutine,
// the pump to another; mu guards what both write to.
type guest struct {
	visitor
	gate    *gate
	conn    net.Conn // to the unit
	from    string
	in      *bufio.Reader
	user    string
	named   lab.UnitID // the unit it says to be, and has no key of
	keyHash []byte
	keep    time.Duration // without a packet for so long it is gone

	engine net.Conn
	fromIt *bufio.Reader
	toIt   *bufio.Writer // of the goroutine that reads
	back   *bufio.Writer // to the unit; mu guards it
	ctx    context.Context
	cancel context.CancelFunc
	told   map[string]time.Time // what was told, so that a flood is told once

	mu    sync.Mutex
	twice map[uint16]bool          // publishes of QoS 2 that the engine has not taken yet
	hand  map[uint16]chan struct{} // publishes that the engine has in hand, and whose slots they hold
}

func newGuest(g *gate, conn net.Conn, from string) *guest {
	v := &guest{gate: g, conn: conn, from: from, in: bufio.NewReaderSize(conn, 16<<10), twice: map[uint16]bool{}, hand: map[uint16]chan struct{}{}, told: map[string]time.Time{}}
	v.ctx, v.cancel = context.WithCancel(g.ctx)
	return v
}

const writeWithin = 20 * time.Second

// signIn reads the CONNECT, decides on it, and brings it to the engine.
func (v *guest) signIn() error {
	if err := v.conn.SetDeadline(time.Now().Add(signInWithin)); err != nil {
		return err
	}
	h, err := readHeader(v.in)
	if err != nil {
		return err
	}
	if h.kind() != packetConnect {
		return fmt.Errorf("%w: the first packet is of type %d, not CONNECT", errMalformed, h.kind())
	}
	rest, err := h.readRest(v.in)
	if err != nil {
		return err
	}
	frame := append(appendLength([]byte{h.first}, len(rest)), rest...)
	packet, err := packets.ReadPacket(bytes.NewReader(frame))
	if err != nil {
		return errors.Join(errMalformed, err)
	}
	connect, ok := packet.(*packets.ConnectPacket)
	if !ok {
		return errMalformed
	}
	v.user = connect.Username
	if code := connect.Validate(); code != packets.Accepted {
		return v.turnAway(code, fmt.Sprintf("its CONNECT is not one of MQTT 3.1.1 (code %d)", code))
	}
	if code, reason := v.gate.auth.admit(v, connect.Username, string(connect.Password)); reason != "" {
		return v.turnAway(code, reason)
	}
	if reason := v.gate.enter(v); reason != "" {
		return v.turnAway(packets.ErrRefusedServerUnavailable, reason)
	}
	v.keep = time.Duration(connect.Keepalive) * time.Second * 3 / 2
	return v.introduce(connect)
}

func (v *guest) turnAway(code byte, reason string) error {
	v.gate.tell(v, lab.RefusalConnection, reason)
	_, err := v.conn.Write([]byte{packetConnack << 4, 2, 0, code})
	return errors.Join(errors.New(reason), err)
}

// introduce connects to the engine as what the guest may be there. Its client
// id is made of the user's name and its own: nobody can take the session of
// another, let alone the monitor's. It is a session that ends with the
// connection: a unit has nothing to be kept for it, and what a program leaves
// waiting would fill the store.
func (v *guest) introduce(connect *packets.ConnectPacket) (err error) {
	if v.engine, err = net.DialTimeout("tcp", v.gate.engine, 5*time.Second); err != nil {
		_, err2 := v.conn.Write([]byte{packetConnack << 4, 2, 0, packets.ErrRefusedServerUnavailable})
		return errors.Join(err, err2)
	}
	v.fromIt, v.toIt = bufio.NewReaderSize(v.engine, 16<<10), bufio.NewWriterSize(v.engine, 16<<10)
	v.back = bufio.NewWriterSize(v.conn, 4<<10)
	if connect.WillFlag {
		if reason := v.willOf(connect.WillTopic, len(connect.WillMessage)); reason != "" {
			v.gate.tell(v, lab.RefusalPublish, reason)
			connect.WillFlag, connect.WillRetain, connect.WillQos = false, false, 0
			connect.WillTopic, connect.WillMessage = "", nil
		} else if connect.WillRetain && !v.gate.retained.take(connect.WillTopic) {
			connect.WillRetain = false
		}
		connect.WillQos = min(connect.WillQos, 1)
	}
	if connect.ClientIdentifier == "" {
		connect.ClientIdentifier = rand.Text()
	}
	id := sha256.Sum256([]byte(connect.Username + "\x00" + connect.ClientIdentifier))
	connect.ClientIdentifier = "guest-" + hex.EncodeToString(id[:12])
	connect.CleanSession = true
	connect.UsernameFlag, connect.Username = true, gateUnitUser
	if v.program {
		connect.Username = gateProgramUser
	}
	connect.PasswordFlag, connect.Password = true, []byte(v.gate.secret)
	return connect.Write(v.engine)
}

// run passes packets both ways until one end is gone.
func (v *guest) run() error {
	if err := v.conn.SetDeadline(time.Time{}); err != nil {
		return err
	}
	pumped := make(chan error, 1)
	go func() {
		err := v.pump()
		v.cancel()
		v.conn.Close()
		pumped <- err
	}()
	err := v.reads()
	v.cancel()
	v.engine.Close() // without DISCONNECT the engine publishes the will
	return errors.Join(err, <-pumped)
}

func (v *guest) leave() {
	v.cancel()
	if v.engine != nil {
		v.engine.Close()
	}
	v.gate.left(v)
	v.mu.Lock()
	defer v.mu.Unlock()
	for id := range v.hand {
		v.answered(id)
	}
}

// reads takes the unit's packets, one after the other.
func (v *guest) reads() error {
	var out []byte
	for {
		if v.keep > 0 {
			if err := v.conn.SetReadDeadline(time.Now().Add(v.keep)); err != nil {
				return err
			}
		}
		h, err := readHeader(v.in)
		if err != nil {
			return err
		}
		switch h.kind() {
		case packetPublish:
			p, err := readPublish(v.in, h, maxPayload)
			if err != nil {
				return err
			}
			if out, err = v.publishes(out[:0], p); err != nil {
				return err
			}
			continue
		case packetConnect, packetConnack:
			return fmt.Errorf("%w: a packet of type %d within a session", errMalformed, h.kind())
		}
		rest, err := h.readRest(v.in)
		if err != nil {
			return err
		}
		if h.kind() == packetPubrel && len(rest) == 2 {
			// The engine took the message before PUBREC was answered.
			if err := v.answer(ack(packetPubcomp, uint16(rest[0])<<8|uint16(rest[1]))); err != nil {
				return err
			}
			continue
		}
		if (h.kind() == packetSubscribe || h.kind() == packetUnsub) && !v.program {
			v.once(lab.RefusalPublish, "a unit has nothing to subscribe to")
		}
		out = append(appendLength(append(out[:0], h.first), len(rest)), rest...)
		if err := v.pass(out); err != nil {
			return err
		}
		if h.kind() == packetDisconnect {
			return nil
		}
	}
}

// publishes passes a publish on when it is the unit's turn. The engine knows
// QoS 1 at most: what came as QoS 2 is answered as such once it is taken, and
// may come twice, which the key of a message makes harmless.
func (v *guest) publishes(out []byte, p publish) ([]byte, error) {
	out = out[:0]
	passed := v.judge(p, maxPayload)
	slowed, err := v.gate.shares.take(v.ctx, passed.unit, len(passed.topic)+len(passed.payload), v.flush)
	if err != nil {
		return out, err
	}
	if slowed {
		v.once(lab.RefusalSlowed, fmt.Sprintf("over %d messages a second: read no faster than that", v.gate.shares.rate))
	}
	if passed.reason != "" {
		v.once(lab.RefusalPublish, passed.reason)
	}
	if passed.retain && !v.gate.retained.take(passed.topic) {
		passed.retain = false
		v.once(lab.RefusalPublish, "too many units have a retained status; this one is not retained")
	}
	if err := v.inHand(passed); err != nil {
		return out, err
	}
	if p.qos == 2 {
		v.mu.Lock()
		full := len(v.twice) >= 1<<16-1
		v.twice[p.id] = true
		v.mu.Unlock()
		if full {
			return out, errMalformed
		}
		passed.qos = 1
	}
	out = appendPublish(out, passed.publish)
	return out, v.pass(out)
}

// inHand waits until the engine may be given a publish that it will answer.
func (v *guest) inHand(p pass) error {
	if p.qos == 0 {
		return nil
	}
	v.mu.Lock()
	_, again := v.hand[p.id]
	v.mu.Unlock()
	if again { // the unit repeats what was not answered yet
		return nil
	}
	slot, err := v.gate.shares.slot(v.ctx, p.unit, v.flush)
	if err != nil {
		return err
	}
	v.mu.Lock()
	v.hand[p.id] = slot
	v.mu.Unlock()
	return nil
}

// answered gives the slot of a publish back; mu is held.
func (v *guest) answered(id uint16) {
	if slot, ok := v.hand[id]; ok {
		delete(v.hand, id)
		<-slot
	}
}

// once tells a thing once in a minute and connection.
func (v *guest) once(what, reason string) {
	const most = 32
	now := time.Now()
	if at, ok := v.told[what+reason]; ok && now.Sub(at) < time.Minute || !ok && len(v.told) >= most {
		return
	}
	v.told[what+reason] = now
	v.gate.tell(v, what, reason)
}

// pass writes to the engine; what more there is to be read goes with it.
func (v *guest) pass(b []byte) error {
	if err := v.engine.SetWriteDeadline(time.Now().Add(writeWithin)); err != nil {
		return err
	}
	if _, err := v.toIt.Write(b); err != nil || v.in.Buffered() > 0 {
		return err
	}
	return v.toIt.Flush()
}

// flush is called before the unit has to wait.
func (v *guest) flush() error { return v.toIt.Flush() }

// answer writes to the unit.
func (v *guest) answer(b []byte) error {
	v.mu.Lock()
	defer v.mu.Unlock()
	return errors.Join(v.write(b), v.back.Flush())
}

func (v *guest) write(b []byte) error {
	if err := v.conn.SetWriteDeadline(time.Now().Add(writeWithin)); err != nil {
		return err
	}
	_, err := v.back.Write(b)
	return err
}

// pump brings what the engine says to the unit.
func (v *guest) pump() error {
	var out []byte
	for {
		h, err := readHeader(v.fromIt)
		if err != nil {
			return err
		}
		rest, err := h.readRest(v.fromIt)
		if err != nil {
			return err
		}
		out = append(appendLength(append(out[:0], h.first), len(rest)), rest...)
		v.mu.Lock()
		if h.kind() == packetPuback && len(rest) == 2 {
			id := uint16(rest[0])<<8 | uint16(rest[1])
			v.answered(id)
			if v.twice[id] {
				delete(v.twice, id)
				out[0] = packetPubrec << 4
			}
		}
		err = v.write(out)
		if v.fromIt.Buffered() == 0 {
			err = errors.Join(err, v.back.Flush())
		}
		v.mu.Unlock()
		if err != nil {
			return err
		}
	}
}
