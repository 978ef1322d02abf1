package bench

import (
	"encoding/json"
	"io"
	"net/http"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"wetside/internal/lab"
)

// shownUnit is what a board reads of a unit here.
type shownUnit struct {
	ID   string `json:"id"`
	Bath struct {
		At *lab.Time `json:"at"`
	} `json:"bath"`
	RoomC *float64 `json:"room_c"`
}

// board is one open live view.
type board struct {
	conn *websocket.Conn
	done chan struct{}

	mu     sync.Mutex
	marked float64 // the last value that the marker showed
	frames int
	bytes  int
}

// look opens a live view; shown is told of each unit as it is shown.
func (s *site) look(shown func(u *shownUnit, now time.Time)) *board {
	s.t.Helper()
	b := &board{conn: s.dial(), done: make(chan struct{})}
	go b.read(shown)
	s.t.Cleanup(b.close)
	return b
}

// lookOn opens a live view that reads what it is sent and no more.
func (s *site) lookOn() {
	s.t.Helper()
	conn := s.dial().NetConn()
	done := make(chan struct{})
	go func() {
		defer close(done)
		_, _ = io.Copy(io.Discard, conn) // until it is closed
	}()
	s.t.Cleanup(func() {
		conn.Close()
		<-done
	})
}

// dialer offers compression, as browsers do.
var dialer = websocket.Dialer{EnableCompression: true}

func (s *site) dial() (conn *websocket.Conn) {
	s.t.Helper()
	poll(s.t, "the board opens", 10*time.Millisecond, func() bool {
		c, resp, err := dialer.DialContext(s.t.Context(), "ws://"+s.listen+"/api/v1/live", http.Header{"Authorization": {"Bearer " + s.token}})
		if resp != nil {
			resp.Body.Close()
		}
		conn = c
		return err == nil
	})
	return conn
}

func (b *board) close() {
	b.conn.Close()
	<-b.done
}

func (b *board) read(shown func(u *shownUnit, now time.Time)) {
	defer close(b.done)
	for {
		_, text, err := b.conn.ReadMessage()
		if err != nil {
			return
		}
		now := time.Now()
		var f struct {
			Type  string
			Unit  *shownUnit
			Units []shownUnit
		}
		if json.Unmarshal(text, &f) != nil {
			return
		}
		if f.Unit != nil {
			f.Units = append(f.Units, *f.Unit)
		}
		b.mu.Lock()
		b.frames++
		b.bytes += len(text)
		for i := range f.Units {
			if u := &f.Units[i]; u.ID == benchLab+"/marker" && u.RoomC != nil {
				b.marked = *u.RoomC
			}
		}
		b.mu.Unlock()
		for i := range f.Units {
			if shown != nil {
				shown(&f.Units[i], now)
			}
		}
	}
}

// await waits until the marker shows a value.
func (b *board) await(t testing.TB, value int) {
	t.Helper()
	poll(t, "the board shows the last message", time.Millisecond, func() bool {
		b.mu.Lock()
		defer b.mu.Unlock()
		return b.marked == float64(10+value)
	})
}
