package web

import (
	"net/http"
	"net/http/httptest"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"wetside/internal/lab"
)

// Which pages may open the live socket, to the letter.
func TestSocketOriginIsExact(t *testing.T) {
	o := newOrigins([]string{"https://board.example"})
	session := identity{Name: "Wren", session: "s"}
	for origin, want := range map[string]bool{
		"http://lab.example:8080": true, "https://board.example": true, "HTTPS://Board.Example": true,
		"http://evil-lab.example:8080": false, "http://evil.lab.example:8080": false, "http://lab.example:8080.evil.example": false,
		"http://lab.example": false, "http://lab.example:80": false, "https://evilboard.example": false, "https://board.example.evil": false,
		"http://board.example": false, "null": false, "": false, "http://": false,
	} {
		r := httptest.NewRequest("GET", "http://lab.example:8080/api/v1/live", nil)
		if origin != "" {
			r.Header.Set("Origin", origin)
		}
		if got := o.admits(r, session); got != want {
			t.Errorf("origin %q: %v, want %v", origin, got, want)
		}
	}
}

// One credential cannot take all sockets.
func TestSocketsOfOneAreBounded(t *testing.T) {
	s := newShop().stock()
	x := newSite(t, s, func(c *Config) { c.Socket.MaxOfOne = 2 })
	dial := func(role string) (*websocket.Conn, int) {
		h := http.Header{"Authorization": {"Bearer " + x.tokens[role]}}
		c, resp, err := websocket.DefaultDialer.DialContext(t.Context(), "ws"+strings.TrimPrefix(x.http.URL, "http")+apiBase+"/live", h)
		if err == nil {
			t.Cleanup(func() { c.Close() })
		}
		return c, resp.StatusCode
	}
	first, _ := dial(lab.RoleViewer)
	dial(lab.RoleViewer)
	if _, code := dial(lab.RoleViewer); code != 429 {
		t.Errorf("the third: %d, want 429", code)
	}
	if _, code := dial(lab.RoleOperator); code != 101 {
		t.Errorf("somebody else's first: %d", code)
	}
	first.Close()
	for deadline := time.Now().Add(10 * time.Second); ; {
		x.srv.hub.mu.Lock()
		n := len(x.srv.hub.places)
		x.srv.hub.mu.Unlock()
		if n == 2 {
			break
		}
		if time.Now().After(deadline) {
			t.Fatal("a closed socket keeps its place")
		}
		runtime.Gosched()
	}
	if _, code := dial(lab.RoleViewer); code != 101 {
		t.Errorf("after one was closed: %d", code)
	}
}
