package broker

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

// The packets of MQTT 3.1.1 (OASIS, section 2.2.1) that the gate looks at.
const (
	packetConnect    = 1
	packetConnack    = 2
	packetPublish    = 3
	packetPuback     = 4
	packetPubrec     = 5
	packetPubrel     = 6
	packetPubcomp    = 7
	packetSubscribe  = 8
	packetUnsub      = 10
	packetPingreq    = 12
	packetDisconnect = 14
)

const (
	// maxHeld bounds what of a packet is ever in memory: a CONNECT with will,
	// user and password may have as much, a payload that goes on has less.
	maxHeld = 300 << 10
	// keptOfHuge is how much is kept of a payload that is too large to go on.
	keptOfHuge   = 8 << 10
	keptOfTopic  = 4 << 10
	keptOfReason = 400
)

var errMalformed = errors.New("what came is no MQTT 3.1.1 packet")

// header is the fixed header of a packet.
type header struct {
	first byte // type and flags
	rest  int  // length of what follows
}

func (h header) kind() byte     { return h.first >> 4 }
func (h header) qos() byte      { return h.first >> 1 & 3 }
func (h header) retained() bool { return h.first&1 == 1 }

// readHeader reads a fixed header (section 2.2).
func readHeader(r *bufio.Reader) (h header, err error) {
	if h.first, err = r.ReadByte(); err != nil {
		return h, err
	}
	for shift := 0; ; shift += 7 {
		b, err := r.ReadByte()
		if err != nil {
			return h, err
		}
		h.rest |= int(b&0x7f) << shift
		if b&0x80 == 0 {
			return h, nil
		}
		if shift == 21 {
			return h, fmt.Errorf("%w: its length has more than four bytes", errMalformed)
		}
	}
}

// readRest reads what follows the header, where it is of a sane size.
func (h header) readRest(r *bufio.Reader) ([]byte, error) {
	if h.rest > maxHeld {
		return nil, fmt.Errorf("%w: a packet of type %d has %d bytes", errMalformed, h.kind(), h.rest)
	}
	b := make([]byte, h.rest)
	_, err := io.ReadFull(r, b)
	return b, err
}

// publish is a PUBLISH as it came. Of a payload beyond most only the
// beginning is there.
type publish struct {
	topic   string
	payload []byte
	size    int // of the whole payload
	qos     byte
	retain  bool
	dup     bool
	id      uint16
}

// readPublish reads a PUBLISH (section 3.3). What is beyond most bytes is
// passed over without being held.
func readPublish(r *bufio.Reader, h header, most int) (p publish, err error) {
	p = publish{qos: h.qos(), retain: h.retained(), dup: h.first&8 != 0}
	if p.qos == 3 {
		return p, fmt.Errorf("%w: a PUBLISH of QoS 3", errMalformed)
	}
	left := h.rest
	var two [2]byte
	field := func(b []byte) error {
		if left -= len(b); left < 0 {
			return fmt.Errorf("%w: a PUBLISH is shorter than it says", errMalformed)
		}
		_, err := io.ReadFull(r, b)
		return err
	}
	if err := field(two[:]); err != nil {
		return p, err
	}
	topic := make([]byte, binary.BigEndian.Uint16(two[:]))
	if err := field(topic); err != nil {
		return p, err
	}
	p.topic = string(topic)
	if p.qos > 0 {
		if err := field(two[:]); err != nil {
			return p, err
		}
		if p.id = binary.BigEndian.Uint16(two[:]); p.id == 0 {
			return p, fmt.Errorf("%w: a PUBLISH with the packet id 0", errMalformed)
		}
	}
	p.size = left
	p.payload = make([]byte, min(left, most))
	if err := field(p.payload); err != nil {
		return p, err
	}
	_, err = io.CopyN(io.Discard, r, int64(left))
	return p, err
}

// appendPublish writes a PUBLISH.
func appendPublish(b []byte, p publish) []byte {
	first := byte(packetPublish<<4) | p.qos<<1
	if p.retain {
		first |= 1
	}
	if p.dup {
		first |= 8
	}
	rest := 2 + len(p.topic) + len(p.payload)
	if p.qos > 0 {
		rest += 2
	}
	b = appendLength(append(b, first), rest)
	b = binary.BigEndian.AppendUint16(b, uint16(len(p.topic)))
	b = append(b, p.topic...)
	if p.qos > 0 {
		b = binary.BigEndian.AppendUint16(b, p.id)
	}
	return append(b, p.payload...)
}

func appendLength(b []byte, n int) []byte {
	for n >= 0x80 {
		b = append(b, byte(n)|0x80)
		n >>= 7
	}
	return append(b, byte(n))
}

// ack is an acknowledgement with a packet id. PUBREL has a flag of its own.
func ack(kind byte, id uint16) []byte {
	first := kind << 4
	if kind == packetPubrel {
		first |= 2
	}
	return []byte{first, 2, byte(id >> 8), byte(id)}
}
