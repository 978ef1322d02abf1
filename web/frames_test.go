package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"wetside/internal/lab"
)

// open opens the live socket, with a header that says who asks.
func (x *site) open(h http.Header) *websocket.Conn {
	x.t.Helper()
	c, _, err := websocket.DefaultDialer.DialContext(x.t.Context(), "ws"+strings.TrimPrefix(x.http.URL, "http")+apiBase+"/live", h)
	if err != nil {
		x.t.Fatal(err)
	}
	x.t.Cleanup(func() { c.Close() })
	if err := c.SetReadDeadline(time.Now().Add(20 * time.Second)); err != nil {
		x.t.Fatal(err)
	}
	return c
}

// asToken and asPerson say who asks.
func (x *site) asToken(role string) http.Header {
	return http.Header{"Authorization": {"Bearer " + x.tokens[role]}}
}

func (x *site) asPerson(c *http.Cookie) http.Header {
	return http.Header{"Cookie": {c.Name + "=" + c.Value}, "Origin": {x.http.URL}}
}

// closeCode reads a socket to its end and gives the code that it ended with.
func closeCode(c *websocket.Conn) int {
	for {
		_, _, err := c.ReadMessage()
		if ce, ok := errors.AsType[*websocket.CloseError](err); ok {
			return ce.Code
		}
		if err != nil {
			return 0
		}
	}
}

// Every kind of frame that is really sent is one that asyncapi.yaml describes,
// and only one.
func TestFramesMatchAsyncAPI(t *testing.T) {
	x := newSite(t, newShop().stock(), func(c *Config) { c.Socket.Beat = 50 * time.Millisecond })
	schemas := asyncSchemas(t, x)
	c := x.open(x.asToken(lab.RoleViewer))
	seen := map[string]bool{}
	hearUntil := func(kind string) {
		for !seen[kind] {
			_, b, err := c.ReadMessage()
			if err != nil {
				t.Fatalf("no %s frame came: %v", kind, err)
			}
			var f struct{ Type string }
			if err := json.Unmarshal(b, &f); err != nil {
				t.Fatal(err)
			}
			seen[f.Type] = true
			s := schemas["live/"+f.Type]
			if s == nil {
				t.Fatalf("frame %q is not described", f.Type)
			}
			if err := s.Validate(fromJSON(t, b)); err != nil {
				t.Errorf("%v\n%s", err, b)
			}
			for name, other := range schemas {
				if name != "live/"+f.Type && strings.HasPrefix(name, "live") && other.Validate(fromJSON(t, b)) == nil {
					t.Errorf("a %s frame also fits %s", f.Type, name)
				}
			}
		}
	}
	hearUntil("snapshot")
	u, _ := x.Unit(lab.UnitID{Lab: "tern-street", Unit: "plover"})
	u.Bath.C = ptr(38.0)
	x.srv.PublishUnits([]lab.Unit{u})
	hearUntil("unit")
	x.Mu.Lock()
	x.alerts["a-2"] = someAlert("a-2")
	x.Mu.Unlock()
	x.srv.PublishAlerts([]lab.Alert{x.alerts["a-2"]})
	hearUntil("alert")
	hearUntil("beat")
}

// A board sees on the socket what the API gives, names and standings that
// people gave, gates and empty lists included.
func TestSnapshotIsWhatTheAPIGives(t *testing.T) {
	x := newSite(t, newShop().stock())
	var frame, api map[string]any
	if err := x.open(x.asToken(lab.RoleViewer)).ReadJSON(&frame); err != nil {
		t.Fatal(err)
	}
	_, b := x.do("GET", apiBase+"/units", lab.RoleViewer, "")
	if err := json.Unmarshal(b, &api); err != nil || !reflect.DeepEqual(frame["units"], api["units"]) {
		t.Errorf("units on the socket: %v\nby the API: %s %v", frame["units"], b, err)
	}
	plover := frame["units"].([]any)[1].(map[string]any)
	if plover["name"] != "plover" || plover["standing"] != lab.UnitNew || !reflect.DeepEqual(plover["open_alerts"], []any{"a-1"}) {
		t.Errorf("plover is %v", plover)
	}
	_, b = x.do("GET", apiBase+"/alerts?open=true", lab.RoleViewer, "")
	if err := json.Unmarshal(b, &api); err != nil || !reflect.DeepEqual(frame["alerts"], api["alerts"]) {
		t.Errorf("alerts on the socket: %v\nby the API: %s %v", frame["alerts"], b, err)
	}
}

// Pages elsewhere open the socket where the configuration says so.
func TestOriginsReachTheSocket(t *testing.T) {
	x := busySite(t)
	y := newSite(t, x.shop, func(c *Config) { c.Origins = []string{"https://board.example"} })
	for site, want := range map[*site]int{x: 403, y: 101} {
		h := site.asToken(lab.RoleViewer)
		h.Set("Origin", "https://board.example")
		c, resp, err := websocket.DefaultDialer.DialContext(t.Context(), "ws"+strings.TrimPrefix(site.http.URL, "http")+apiBase+"/live", h)
		if c != nil {
			c.Close()
		}
		if resp == nil || resp.StatusCode != want {
			t.Errorf("%v %v, want %d", resp, err, want)
		}
	}
}
