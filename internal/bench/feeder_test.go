package bench

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"net"
	"strings"
	"sync/atomic"
	"testing"
)

// feeder publishes at QoS 1 and does no more than that, so that it takes
// little of the machine: MQTT 3.1.1 (OASIS standard, 2014), sections 3.1 to 3.4.
type feeder struct {
	t     testing.TB
	conn  net.Conn
	w     *bufio.Writer
	room  chan struct{} // a place for each message that waits for its acknowledgment
	acked atomic.Int64
	sent  int64
	lost  chan struct{} // closed when the connection is gone
}

// newFeeder connects; most are the messages that may wait at once.
func newFeeder(t testing.TB, broker, id string, most int) *feeder {
	t.Helper()
	conn, err := net.Dial("tcp", strings.TrimPrefix(broker, "mqtt://"))
	if err != nil {
		t.Fatal(err)
	}
	f := &feeder{t: t, conn: conn, w: bufio.NewWriterSize(conn, 64<<10), room: make(chan struct{}, most), lost: make(chan struct{})}
	t.Cleanup(f.close)
	head := []byte{0, 4, 'M', 'Q', 'T', 'T', 4, 2, 0, 0} // a clean session, no keep-alive
	head = append(binary.BigEndian.AppendUint16(head, uint16(len(id))), id...)
	f.packet(0x10, head)
	f.flush()
	var answer [4]byte
	if _, err := io.ReadFull(conn, answer[:]); err != nil || answer[0] != 0x20 || answer[3] != 0 {
		t.Fatalf("the broker does not let %s in: % x, %v", id, answer, err)
	}
	go f.read()
	return f
}

func (f *feeder) close() {
	f.conn.Close()
	<-f.lost
}

// read counts acknowledgments.
func (f *feeder) read() {
	defer close(f.lost)
	r := bufio.NewReader(f.conn)
	for {
		var ack [4]byte
		if _, err := io.ReadFull(r, ack[:]); err != nil || ack[0] != 0x40 {
			return
		}
		f.acked.Add(1)
		<-f.room
	}
}

func (f *feeder) packet(kind byte, body []byte) {
	var length []byte
	for n := len(body); ; {
		b := byte(n & 0x7f)
		if n >>= 7; n > 0 {
			length = append(length, b|0x80)
			continue
		}
		length = append(length, b)
		break
	}
	_ = f.w.WriteByte(kind) // errors stay with the writer: flush tells
	_, _ = f.w.Write(length)
	_, _ = f.w.Write(body)
}

func (f *feeder) flush() {
	if err := f.w.Flush(); err != nil {
		f.t.Errorf("publish: %v", err)
	}
}

// publish sends one message, once there is room for it; false: the broker has
// closed the connection.
func (f *feeder) publish(topic, payload string) bool {
	select {
	case f.room <- struct{}{}:
	default:
		f.flush()
		select {
		case f.room <- struct{}{}:
		case <-f.lost:
			return false
		}
	}
	f.sent++
	body := make([]byte, 0, len(topic)+len(payload)+4)
	body = append(binary.BigEndian.AppendUint16(body, uint16(len(topic))), topic...)
	body = binary.BigEndian.AppendUint16(body, uint16(1+f.sent%65535))
	f.packet(0x32, append(body, payload...))
	return true
}

// settle waits until everything is acknowledged.
func (f *feeder) settle() error {
	f.flush()
	for range cap(f.room) {
		select {
		case f.room <- struct{}{}:
		case <-f.lost:
			return fmt.Errorf("the broker closed the connection: %d of %d messages acknowledged", f.acked.Load(), f.sent)
		}
	}
	for range cap(f.room) {
		<-f.room
	}
	return nil
}
