package live

import (
	"bytes"
	"errors"
	"math/rand/v2"
	"net"
	"testing"
	"time"
)

// writes is the far end of a connection: each write as it came.
type writes struct {
	net.Conn
	all [][]byte
	err error
}

func (w *writes) Write(b []byte) (int, error) {
	w.all = append(w.all, bytes.Clone(b))
	return len(b), w.err
}

func (w *writes) SetWriteDeadline(time.Time) error { return nil }

// However it is corked, all that is written goes out once and in order.
func TestCorkedKeepsTheOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	far := &writes{}
	c := &corked{Conn: far}
	var want []byte
	for n := range 2000 {
		switch r.IntN(6) {
		case 0:
			c.cork()
		case 1:
			if err := c.uncork(time.Second); err != nil {
				t.Fatal(err)
			}
		default:
			b := bytes.Repeat([]byte{byte(n)}, 1+r.IntN(corkMost/8))
			if r.IntN(50) == 0 {
				b = bytes.Repeat(b, 20) // more than is ever held back
			}
			want = append(want, b...)
			if _, err := c.Write(b); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := c.uncork(time.Second); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(bytes.Join(far.all, nil), want) {
		t.Error("what came out is not what went in")
	}
}

// The frames of a round are one write.
func TestCorkedWritesOnce(t *testing.T) {
	far := &writes{}
	c := &corked{Conn: far}
	c.cork()
	for range 40 {
		if _, err := c.Write([]byte("a frame")); err != nil {
			t.Fatal(err)
		}
	}
	if len(far.all) != 0 {
		t.Fatalf("%d writes while corked", len(far.all))
	}
	if err := c.uncork(time.Second); err != nil || len(far.all) != 1 {
		t.Errorf("%d writes, %v; want one", len(far.all), err)
	}
	far.err = errors.New("gone")
	c.cork()
	if _, err := c.Write([]byte("a frame")); err != nil {
		t.Fatal(err)
	}
	if c.uncork(time.Second) == nil {
		t.Error("a write that failed is not told")
	}
}
