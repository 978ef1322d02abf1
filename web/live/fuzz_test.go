package live

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"net/http"
	"testing"
	"time"
)

// clientFrame writes a frame as a client does, masked.
func clientFrame(head byte, length int, payload []byte) []byte {
	out := []byte{head}
	switch {
	case length < 126:
		out = append(out, 0x80|byte(length))
	case length < 1<<16:
		out = binary.BigEndian.AppendUint16(append(out, 0x80|126), uint16(length))
	default:
		out = binary.BigEndian.AppendUint64(append(out, 0x80|127), uint64(length))
	}
	out = append(out, 0, 0, 0, 0) // a mask of zeros leaves the payload as it is
	return append(out, payload...)
}

// FuzzSocket: whatever a client sends on the live socket, the socket ends or
// stays, and the next client gets its snapshot.
func FuzzSocket(f *testing.F) {
	for _, b := range [][]byte{
		nil, clientFrame(0x81, 5, []byte("hello")), clientFrame(0x89, 4, []byte("ping")), clientFrame(0x8a, 0, nil),
		clientFrame(0x88, 2, []byte{0x03, 0xe8}), clientFrame(0x88, 1, []byte{0x03}), clientFrame(0x88, 2, []byte{0xff, 0xff}),
		clientFrame(0x81, 2, []byte{0xff, 0xfe}), clientFrame(0x82, 1<<62, nil), clientFrame(0x81, 70_000, make([]byte, 70_000)),
		clientFrame(0x89, 126, make([]byte, 126)), clientFrame(0x01, 1, []byte("a")), append(clientFrame(0x01, 1, []byte("a")), clientFrame(0x01, 1, []byte("b"))...),
		append(clientFrame(0x01, 1, []byte("a")), clientFrame(0x80, 1, []byte("b"))...), clientFrame(0x80, 1, []byte("a")), clientFrame(0xf1, 0, nil), clientFrame(0x83, 0, nil),
		{0x81, 0x05, 'h', 'e', 'l', 'l', 'o'}, {0x81, 0xff}, []byte("GET / HTTP/1.1\r\n\r\n"),
	} {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, sent []byte) {
		if len(sent) > 128<<10 {
			t.Skip()
		}
		x := newSite(t)
		conn, err := x.net.dial(t.Context(), "", "")
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close()
		_ = conn.SetDeadline(time.Now().Add(20 * time.Second))
		fmt.Fprintf(conn, "GET %s HTTP/1.1\r\nHost: 127.0.0.1:8080\r\nAuthorization: Bearer %s\r\nConnection: Upgrade\r\nUpgrade: websocket\r\n"+
			"Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n", path, x.token)
		r := bufio.NewReader(conn)
		resp, err := http.ReadResponse(r, nil)
		if err != nil || resp.StatusCode != http.StatusSwitchingProtocols {
			t.Fatalf("no handshake: %v %v", resp, err)
		}
		drained := make(chan struct{})
		go func() { defer close(drained); _, _ = io.Copy(io.Discard, r) }()
		_, _ = conn.Write(sent) // the server may hang up on it
		conn.Close()
		<-drained
		if first := next(t, x.open()); first.Type != "snapshot" {
			t.Fatalf("the next client gets %q first", first.Type)
		}
	})
}
