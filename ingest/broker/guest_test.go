package broker

import (
	"bufio"
	"context"
	"errors"
	"io"
	"net"
	"strings"
	"testing"

	"wetside/internal/lab"
)

// MQTT 3.1.1 numbers packets with 16 bits, none of them 0 (section 2.3.1): a
// unit may have 65,535 publishes of QoS 2 open. One more that it sends before
// it has ended any is against the protocol, and it is cut off.
func TestOpenPublishesOfQoS2AreBounded(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	g := &gate{shares: newShares(Rate, Burst, 1<<20), ctx: ctx}
	unit, engine := net.Pipe()
	defer unit.Close()
	go func() { _, _ = io.Copy(io.Discard, unit) }() // until it is closed
	v := newGuest(g, engine, "192.0.2.7")
	defer engine.Close()
	v.unit = lab.UnitID{Lab: "tern-street", Unit: "plover"}
	v.engine, v.toIt = engine, bufio.NewWriter(engine)
	p := publish{topic: "wetside/v1/tern-street/plover/temp", payload: []byte(`{}`), qos: 2}
	for id := range uint16(1<<16 - 2) {
		v.twice[id+1] = true
	}
	p.id = 1<<16 - 1
	if _, err := v.publishes(nil, p); err != nil || len(v.twice) != 1<<16-1 {
		t.Fatalf("the last number that is free: %v, %d open", err, len(v.twice))
	}
	p.id = 1
	if _, err := v.publishes(nil, p); !errors.Is(err, errMalformed) {
		t.Errorf("one more with all numbers open: %v; want %v", err, errMalformed)
	}
}

// A reason that is just as long as is kept is kept whole; a longer one is cut
// and says so.
func TestReasonsAreCut(t *testing.T) {
	for more, want := range map[int]int{0: keptOfReason, 1: keptOfReason + len("...")} {
		p := pass{publish: publish{topic: "x", payload: []byte("y")}, reason: strings.Repeat("r", keptOfReason+more)}.sealed()
		q, ok := lab.Unwrap(lab.Raw{Topic: p.topic, Payload: p.payload})
		if !ok || len(q.Reason) != want || strings.HasSuffix(q.Reason, "...") != (more > 0) {
			t.Errorf("%d bytes: %v, %d are kept; want %d", keptOfReason+more, ok, len(q.Reason), want)
		}
	}
}
