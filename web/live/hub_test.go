package live

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/gorilla/websocket"

	"wetside/internal/lab"
	"wetside/web/access"
)

func TestSnapshotThenChanges(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		x := newSite(t)
		c := x.open()
		f := next(t, c)
		if f.Type != "snapshot" || len(f.Units) != 2 || len(f.Alerts) != 1 || f.At.IsZero() {
			t.Fatalf("first frame: %s", f.raw)
		}
		if got := f.Units[1]; got.Name != "plover" || !slices.Equal(got.OpenAlerts, []string{"a-1"}) {
			t.Errorf("plover is %+v", got)
		}
		x.heat(38.2)
		if f := next(t, c); f.Type != "unit" || *f.Unit.Bath.C != 38.2 {
			t.Errorf("after a change: %s", f.raw)
		}
		// The alert comes before the unit that names it.
		x.raise(someAlert("a-2"))
		if f := next(t, c); f.Type != "alert" || f.Alert.ID != "a-2" {
			t.Errorf("after an alert: %s", f.raw)
		}
		if f := next(t, c); f.Type != "unit" || !slices.Equal(f.Unit.OpenAlerts, []string{"a-1", "a-2"}) {
			t.Errorf("the unit after an alert: %s", f.raw)
		}
		closed := someAlert("a-2")
		closed.State = lab.Closed
		x.raise(closed)
		if f := next(t, c); f.Type != "alert" || f.Alert.State != lab.Closed {
			t.Errorf("after closing: %s", f.raw)
		}
		if f := next(t, c); f.Type != "unit" || !slices.Equal(f.Unit.OpenAlerts, []string{"a-1"}) {
			t.Errorf("the unit after closing: %s", f.raw)
		}
	})
}

// A client that is a little behind gets the newest of each thing, once.
func TestDirtySetKeepsTheNewest(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		x := newSite(t)
		c := x.open()
		next(t, c)
		x.heat(30) // the writer hangs in this frame: nobody reads
		for i := range 20 {
			time.Sleep(fanOutPause)
			x.heat(31 + float64(i))
		}
		synctest.Wait()
		if f := next(t, c); f.Type != "unit" || *f.Unit.Bath.C != 30 {
			t.Fatalf("first: %s", f.raw)
		}
		if f := next(t, c); f.Type != "unit" || *f.Unit.Bath.C != 50 {
			t.Fatalf("second: %s, want the newest, 50", f.raw)
		}
		x.heat(60)
		if f := next(t, c); *f.Unit.Bath.C != 60 {
			t.Fatalf("third: %s", f.raw)
		}
	})
}

// A client that fell behind gets a snapshot in place of all that it missed.
func TestSlowClientGetsASnapshot(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		x := newSite(t)
		c := x.open()
		next(t, c)
		x.heat(30)
		time.Sleep(fanOutPause)
		for i := range 500 {
			x.raise(someAlert(fmt.Sprintf("a-%d", i+10)))
			x.heat(31 + float64(i))
		}
		time.Sleep(2 * time.Second) // twice the lag
		if f := next(t, c); f.Type != "unit" || *f.Unit.Bath.C != 30 {
			t.Fatalf("first: %s", f.raw)
		}
		f := next(t, c)
		if f.Type != "snapshot" || len(f.Alerts) != 501 || *f.Units[1].Bath.C != 530 {
			t.Fatalf("second: %.200s, want a snapshot with all 501 alerts", f.raw)
		}
		// And nothing stale after it: the next is what happens next.
		x.heat(99)
		if f := next(t, c); f.Type != "unit" || *f.Unit.Bath.C != 99 {
			t.Fatalf("after the snapshot: %.200s", f.raw)
		}
	})
}

// view is what a client knows after some frames.
type view struct {
	units  map[string]lab.Unit
	alerts map[string]lab.Alert
}

func (v *view) take(f heard) {
	switch f.Type {
	case "snapshot":
		v.units, v.alerts = map[string]lab.Unit{}, map[string]lab.Alert{}
		for _, u := range f.Units {
			v.units[u.ID] = u
		}
		for _, a := range f.Alerts {
			v.alerts[a.ID] = a
		}
	case "unit":
		v.units[f.Unit.ID] = f.Unit
	case "alert":
		v.alerts[f.Alert.ID] = f.Alert
		if f.Alert.State == lab.Closed {
			delete(v.alerts, f.Alert.ID)
		}
	}
}

// However clients come and whatever changes meanwhile, each knows the truth
// in the end: no change falls between a snapshot and what follows it.
func TestNoChangeIsLost(t *testing.T) {
	for seed := range uint64(8) {
		synctest.Test(t, func(t *testing.T) {
			rnd := rand.New(rand.NewPCG(seed, 1))
			x := newSite(t, func(c *Config) { c.Timing.Lag = 30 * time.Millisecond; c.Timing.Reload = time.Hour })
			views := make([]view, 8)
			var readers sync.WaitGroup
			stop := make(chan struct{})
			for i := range views {
				begin, pace := time.Duration(rnd.IntN(150))*time.Millisecond, time.Duration(rnd.IntN(25))*time.Millisecond
				readers.Go(func() {
					time.Sleep(begin)
					c := x.open()
					go func() { <-stop; c.Close() }()
					for {
						f, err := hear(c)
						if err != nil {
							return
						}
						views[i].take(f)
						time.Sleep(pace)
					}
				})
			}
			for range 200 {
				time.Sleep(time.Duration(rnd.IntN(2000)) * time.Microsecond)
				if rnd.IntN(3) > 0 {
					x.heat(rnd.Float64())
					continue
				}
				a := someAlert(fmt.Sprint("a-", rnd.IntN(5)))
				a.Occurrence = rnd.IntN(1000)
				a.State = []lab.AlertState{lab.Unacknowledged, lab.Acknowledged, lab.Closed}[rnd.IntN(3)]
				x.raise(a)
			}
			time.Sleep(10 * time.Second)
			close(stop)
			readers.Wait()
			truth := view{units: map[string]lab.Unit{}, alerts: map[string]lab.Alert{}}
			for _, u := range x.Views() {
				truth.units[u.ID] = u
			}
			for id, a := range x.alerts {
				if a.State != lab.Closed {
					truth.alerts[id] = a
				}
			}
			for i, v := range views {
				if d := cmp.Diff(truth, v, cmp.AllowUnexported(view{})); d != "" {
					t.Fatalf("seed %d, client %d (-truth +client):\n%s", seed, i, d)
				}
			}
		})
	}
}

// A change that comes and is sent round while a snapshot is being made, after
// the units were read for it, follows the snapshot.
func TestChangeDuringSnapshotFollows(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		x := newSite(t)
		x.onUnits = func() {
			x.heat(77)
			time.Sleep(100 * time.Millisecond) // of the bubble: the round is over
		}
		c := x.open()
		if f := next(t, c); f.Type != "snapshot" || *f.Units[1].Bath.C != 37.9 {
			t.Fatalf("first: %s, want a snapshot from before the change", f.raw)
		}
		if f := next(t, c); f.Type != "unit" || *f.Unit.Bath.C != 77 {
			t.Fatalf("second: %s, want the change", f.raw)
		}
	})
}

// A person's change and the worker's cross: what is sent is what the store
// says, even where the note that comes last carries an old value.
func TestCrossedChangesEndInTruth(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		x := newSite(t)
		c := x.open()
		next(t, c)
		stale := someAlert("a-1")
		x.acknowledge("a-1", "Wren")
		x.hub.PublishAlerts([]lab.Alert{stale})
		if f := next(t, c); f.Type != "alert" || f.Alert.State != lab.Acknowledged {
			t.Errorf("got %s, want it acknowledged", f.raw)
		}
	})
}

// While the store is away nothing is lost: the alert comes when it is back.
func TestStoreAwayIsTriedAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		x := newSite(t, func(c *Config) { c.Timing.Reload = time.Hour })
		c := x.open()
		next(t, c)
		x.Mu.Lock()
		x.Broken = errStore
		x.Mu.Unlock()
		x.raise(someAlert("a-9"))
		time.Sleep(5 * time.Second)
		x.Mu.Lock()
		x.Broken = nil
		x.Mu.Unlock()
		back := time.Now()
		if f := next(t, c); f.Type != "alert" || f.Alert.ID != "a-9" || time.Since(back) > 5*time.Second {
			t.Errorf("got %s after %s", f.raw, time.Since(back))
		}
	})
}

// What nobody published (another process wrote it) is found by reading again.
func TestReloadFindsWhatWasNotPublished(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		x := newSite(t)
		c := x.open()
		next(t, c)
		x.Mu.Lock()
		a := x.alerts["a-1"]
		a.State = lab.Closed
		x.alerts["a-1"] = a
		x.Mu.Unlock()
		if f := next(t, c); f.Type != "alert" || f.Alert.State != lab.Closed {
			t.Errorf("got %s", f.raw)
		}
	})
}

func TestBeatsAndPings(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		x := newSite(t)
		c := x.open()
		next(t, c)
		// Ten minutes: longer than any deadline, which the answered pings extend.
		for start, last := time.Now(), time.Now(); last.Sub(start) < 10*time.Minute; last = time.Now() {
			f, err := hear(c) // reading answers pings
			if err != nil {
				t.Fatal(err)
			}
			if gap := time.Since(last); f.Type != "beat" || gap > 5*time.Second {
				t.Fatalf("%q after %s, want a beat within 5 s", f.Type, gap)
			}
		}
	})
}

// A client that does not read at all is dropped, and frees what it held.
func TestDeadClientIsDropped(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		x := newSite(t)
		x.open()
		time.Sleep(2 * time.Minute)
		x.hub.mu.Lock()
		defer x.hub.mu.Unlock()
		if n := len(x.hub.clients); n != 0 {
			t.Errorf("%d clients left", n)
		}
	})
}

func TestSignInEndsOnOpenSocket(t *testing.T) {
	ends := map[string]func(*site){
		"session deleted":  func(x *site) { clear(x.Kept) },
		"person removed":   func(x *site) { delete(x.ByName, "Wren") },
		"password changed": func(x *site) { x.ByName["Wren"] = lab.User{Name: "Wren", Role: lab.RoleViewer, PasswordHash: "new"} },
		"role taken":       func(x *site) { u := x.ByName["Wren"]; u.Role = ""; x.ByName["Wren"] = u },
	}
	for name, end := range ends {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				x := newSite(t)
				mine, _ := x.session()
				c := x.openWith(mine)
				other := x.open()
				next(t, c)
				readFor(t, c, 150*time.Second) // rechecked twice, and fine
				x.Mu.Lock()
				end(x)
				x.Mu.Unlock()
				go drain(other)
				began := time.Now()
				for {
					if _, err := hear(c); err != nil {
						if closeCode(err) != CloseSignedOut {
							t.Errorf("ended with %v, want close code %d", err, CloseSignedOut)
						}
						break
					}
				}
				if d := time.Since(began); d > time.Minute {
					t.Errorf("ended after %s, want 60 s at most", d)
				}
				x.hub.mu.Lock()
				defer x.hub.mu.Unlock()
				if len(x.hub.clients) > 1 {
					t.Error("the client is still held")
				}
			})
		})
	}
}

// While the store is away those who are in stay in.
func TestStoreAwayKeepsSocketsOpen(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		x := newSite(t)
		mine, _ := x.session()
		c := x.openWith(mine)
		x.Mu.Lock()
		x.Broken = errStore
		x.Mu.Unlock()
		readFor(t, c, 5*time.Minute)
	})
}

func readFor(t *testing.T, c *websocket.Conn, d time.Duration) {
	t.Helper()
	for end := time.Now().Add(d); time.Now().Before(end); {
		if _, err := hear(c); err != nil {
			t.Fatal(err)
		}
	}
}

func drain(c *websocket.Conn) {
	for {
		if _, _, err := c.ReadMessage(); err != nil {
			return
		}
	}
}

func TestOrigins(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		x := newSite(t)
		token := byToken(x.token)
		mine, _ := x.session()
		cookie := http.Header{"Cookie": mine["Cookie"]}
		for _, c := range []struct {
			why, origin string
			who         http.Header
			want        int
		}{
			{"the same host", "http://127.0.0.1:8080", cookie, 101},
			{"another port is another origin", "http://127.0.0.1:9999", cookie, 403},
			{"another host", "http://tern-street.example", cookie, 403},
			{"one that begins alike", "http://127.0.0.1:8080.tern-street.example", cookie, 403},
			{"from the configuration", "https://board.example", cookie, 101},
			{"its scheme counts", "http://board.example", cookie, 403},
			{"none, and a cookie", "", cookie, 403},
			{"an opaque one", "null", cookie, 403},
			{"none, and a token: a program", "", token, 101},
			{"another host, and a token", "http://tern-street.example", token, 403},
			{"nobody", "http://127.0.0.1:8080", nil, 401},
		} {
			h := c.who.Clone()
			if h == nil {
				h = http.Header{}
			}
			if c.origin != "" {
				h.Set("Origin", c.origin)
			}
			conn, resp, err := x.dial(h)
			if conn != nil {
				conn.Close()
			}
			if resp == nil || resp.StatusCode != c.want {
				t.Errorf("%s: %v %v, want %d", c.why, resp, err, c.want)
			}
		}
	})
}

// Stop ends everything soon, even with a client that reads nothing.
func TestStopWithStuckClient(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		x := newSite(t)
		x.open()
		x.heat(30)
		synctest.Wait()
		began := time.Now()
		x.hub.Stop()
		x.hub.Stop() // a second time does nothing
		if d := time.Since(began); d > 3*time.Second {
			t.Errorf("took %s", d)
		}
	})
}

func TestSignOutClosesItsSockets(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		x := newSite(t)
		mine, who := x.session()
		c, other := x.openWith(mine), x.open()
		next(t, c)
		next(t, other)
		x.hub.EndSession(who.Credential())
		if _, err := hear(c); closeCode(err) != CloseSignedOut {
			t.Errorf("got %v, want close code %d", err, CloseSignedOut)
		}
		readFor(t, other, time.Minute)
	})
}

// One credential cannot take all sockets.
func TestSocketsOfOneAreBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		x := newSite(t, func(c *Config) { c.Timing.MaxOfOne = 2 })
		second, err := access.CreateToken(t.Context(), x, "another board", lab.RoleOperator, time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		dial := func(token string) (*websocket.Conn, int) {
			c, resp, err := x.dial(byToken(token))
			if err == nil {
				t.Cleanup(func() { c.Close() })
				go drain(c)
			}
			return c, resp.StatusCode
		}
		first, _ := dial(x.token)
		dial(x.token)
		if _, code := dial(x.token); code != 429 {
			t.Errorf("the third: %d, want 429", code)
		}
		if _, code := dial(second); code != 101 {
			t.Errorf("somebody else's first: %d", code)
		}
		first.Close()
		synctest.Wait()
		if _, code := dial(x.token); code != 101 {
			t.Errorf("after one was closed: %d", code)
		}
	})
}
