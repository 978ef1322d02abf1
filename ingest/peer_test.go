package ingest_test

import (
	"net"
	"sync"
	"testing"
	"time"

	"github.com/eclipse/paho.mqtt.golang/packets"
)

// peer is a broker's end of the wire, played by the test: it answers CONNECT
// and SUBSCRIBE, and the test sees each connection and every acknowledgement
// in order. Real brokers cannot be made to misbehave at the right moment.
type peer struct {
	t     testing.TB
	ln    net.Listener
	grant func(n int) byte // SUBACK of the nth connection
	conns chan *peerConn
	wg    sync.WaitGroup
}

type peerConn struct {
	net.Conn
	connect *packets.ConnectPacket
	topics  []string
	acks    chan uint16
	closed  chan struct{}
	polite  bool // closed is preceded by DISCONNECT; read after closed
}

func newPeer(t testing.TB) *peer {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &peer{t: t, ln: ln, grant: func(int) byte { return 1 }, conns: make(chan *peerConn, 100)}
	p.wg.Go(p.accept)
	t.Cleanup(func() { ln.Close(); p.wg.Wait() })
	return p
}

func (p *peer) url() string { return "mqtt://" + p.ln.Addr().String() }

func (p *peer) accept() {
	for n := 1; ; n++ {
		conn, err := p.ln.Accept()
		if err != nil {
			return
		}
		c := &peerConn{Conn: conn, acks: make(chan uint16, 100_000), closed: make(chan struct{})}
		p.wg.Go(func() { p.serve(c, n) })
	}
}

func (p *peer) serve(c *peerConn, n int) {
	defer close(c.closed)
	defer c.Close()
	for {
		cp, err := packets.ReadPacket(c)
		if err != nil {
			return
		}
		switch m := cp.(type) {
		case *packets.ConnectPacket:
			c.connect = m
			packets.NewControlPacket(packets.Connack).Write(c)
		case *packets.SubscribePacket:
			c.topics = m.Topics
			a := packets.NewControlPacket(packets.Suback).(*packets.SubackPacket)
			a.MessageID, a.ReturnCodes = m.MessageID, []byte{p.grant(n)}
			a.Write(c)
			p.conns <- c
		case *packets.PubackPacket:
			c.acks <- m.MessageID
		case *packets.PingreqPacket:
			packets.NewControlPacket(packets.Pingresp).Write(c)
		case *packets.DisconnectPacket:
			c.polite = true
			return
		}
	}
}

func (p *peer) next() *peerConn {
	p.t.Helper()
	select {
	case c := <-p.conns:
		return c
	case <-time.After(deadline):
		p.t.Fatal("no connection")
		return nil
	}
}

// send publishes with the packet id.
func (c *peerConn) send(t testing.TB, id int, payload string) {
	t.Helper()
	m := packets.NewControlPacket(packets.Publish).(*packets.PublishPacket)
	m.Qos, m.MessageID = 1, uint16(id)
	m.TopicName, m.Payload = "wetside/v1/tern-street/plover/temp", []byte(payload)
	if err := m.Write(c); err != nil {
		t.Logf("send %d: %v", id, err)
	}
}

func (c *peerConn) wantAck(t testing.TB, id int) {
	t.Helper()
	select {
	case got := <-c.acks:
		if int(got) != id {
			t.Fatalf("acknowledged %d, want %d", got, id)
		}
	case <-time.After(deadline):
		t.Fatalf("%d is not acknowledged", id)
	}
}

func (c *peerConn) wantClosed(t testing.TB) {
	t.Helper()
	select {
	case <-c.closed:
	case <-time.After(deadline):
		t.Fatal("the connection is not closed")
	}
}

func (c *peerConn) noAcks(t testing.TB) {
	t.Helper()
	if n := len(c.acks); n > 0 {
		t.Fatalf("%d acknowledged, want none", n)
	}
}
