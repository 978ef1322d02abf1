package torture

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"wetside/internal/lab"
	"wetside/internal/simulation/sim"
)

// node is one of two programs that share a lab, each with cables of its own.
type node struct {
	listen         string
	args           []string
	process        *process
	toDB, toBroker *proxy
}

// takeover is one thing that can happen to who holds the lab. do brings it
// about, undo ends it when the other has taken over.
type takeover struct {
	name     string
	do, undo func(*testing.T, *node)
	told     bool // somebody is told: it is nobody's doing
}

var takeovers = []takeover{
	{"kill -9 of the holder", func(_ *testing.T, n *node) { n.process.kill() }, start, true},
	{"SIGSTOP of the holder, SIGCONT", func(_ *testing.T, n *node) { _ = n.process.cmd.Process.Signal(syscall.SIGSTOP) },
		func(_ *testing.T, n *node) { _ = n.process.cmd.Process.Signal(syscall.SIGCONT) }, true},
	{"the holder's cable to the database cut", func(_ *testing.T, n *node) { n.toDB.vanish() },
		func(_ *testing.T, n *node) { n.toDB.through() }, true},
	{"the holder's machine dead", func(_ *testing.T, n *node) {
		n.toDB.vanish()
		n.toBroker.vanish()
		n.process.kill()
	}, func(t *testing.T, n *node) {
		n.toDB.through()
		n.toBroker.through()
		start(t, n)
	}, true},
	{"the holder stopped in order", func(_ *testing.T, n *node) { _ = n.process.cmd.Process.Signal(syscall.SIGTERM) },
		func(t *testing.T, n *node) { <-n.process.done; start(t, n) }, false},
}

func start(t *testing.T, n *node) { n.process = startProcess(t, binary(t), n.args...) }

// handOver is how long a lab may go unwatched when its holder vanishes (issue
// 13): 6 s of the lease, and the rebuilding.
const handOver = 10 * time.Second

// Whatever happens to the holder of a lab, the one that stands by takes over,
// says so to a person, and loses and doubles nothing; and when the first is
// there again it stands by and disturbs nobody.
func TestTakeOver(t *testing.T) {
	list, messages := takeovers, 20_000
	if !long {
		messages = 1500
		list = slices.DeleteFunc(slices.Clone(takeovers), func(f takeover) bool { return !strings.HasPrefix(f.name, "SIGSTOP") })
	}
	for _, f := range list {
		t.Run(strings.ReplaceAll(f.name, " ", "_"), func(t *testing.T) {
			s := newSite(t, parts{pair: true})
			nodes := [2]*node{{listen: s.listen, args: s.args, process: s.wetside, toDB: s.toDB, toBroker: s.toBroker}, s.second()}
			r := row{fault: f.name, tries: tries}
			raws := telemetry(t, messages)
			l := newLine(t, s.broker)
			hands := newLine(t, s.broker)
			var said []lab.Raw // by hand
			random := rand.New(rand.NewPCG(uint64(seed), uint64(len(f.name))))
			next := 0
			for n := range tries {
				holder, other := nodes[n%2], nodes[(n+1)%2]
				s.standsBy(other)
				until := (n + 1) * len(raws) / (tries + 1)
				for ; next < until; next++ {
					l.send(raws[next])
				}
				l.settle(t, until-random.IntN(max(1, min(until, 500))))
				// somebody is to be called just now; another unit each time: one that
				// aborts three times a minute chatters
				u := &hand{line: hands, unit: fmt.Sprintf("plover-%d", n)}
				u.abort()
				said = append(said, u.sent...)
				socket := other.socket(t, s.token) // the holder's, by way of the other
				f.do(t, holder)
				began := time.Now()
				s.listen, s.wetside, s.args = other.listen, other.process, other.args
				s.ready()
				took := time.Since(began)
				r.recovery = append(r.recovery, took)
				if long && took > handOver {
					t.Errorf("%s: taken over after %v", f.name, took)
				}
				if f.told {
					eventually(t, "a person is told of the take-over", func() bool { return s.monitorCalls(lab.FaultTakenOver) == n+1 })
				}
				ends(t, socket)
				s.liveSnapshot(f.name, 1)
				thrownOut := strings.Count(s.mosq.said.Tail(1<<30), "already connected")
				f.undo(t, holder)
				s.standsBy(holder)
				if code, why := s.readiness(); code != http.StatusOK {
					t.Errorf("%s: the new holder is no longer ready once the old one is there again: %s", f.name, why)
				}
				if now := strings.Count(s.mosq.said.Tail(1<<30), "already connected"); now != thrownOut {
					t.Errorf("%s: the old holder threw the new one out of the broker", f.name)
				}
			}
			for ; next < len(raws); next++ {
				l.send(raws[next])
			}
			l.settle(t, len(raws))
			hands.settle(t, len(said))
			s.lines = []*line{l, hands}
			s.proof(&r, append(raws, said...))
			calls := 0
			for n := range tries {
				calls += s.calls("run-aborted", fmt.Sprintf("%s/plover-%d", sim.DemoLab, n))
			}
			if calls != tries {
				t.Errorf("%s: %d of %d aborted runs paged", f.name, calls, tries)
			}
			if n := s.monitorCalls(lab.FaultTakenOver); !f.told && n != 0 {
				t.Errorf("%s: %d pages about what somebody did on purpose", f.name, n)
			}
			r.told = append(r.told, fmt.Sprintf("%d pages that the other took over", s.monitorCalls(lab.FaultTakenOver)))
			table.add(r)
		})
	}
}

// second is another program on the same lab.
func (s *site) second() *node {
	n := &node{listen: fmt.Sprintf("127.0.0.1:%d", freePort(s.t))}
	n.toDB = newProxy(s.t, s.toDB.network, s.toDB.to)
	n.toBroker = newProxy(s.t, s.toBroker.network, s.toBroker.to)
	n.args = []string{"serve", "--listen", n.listen, "--data", filepath.Join(s.dir, "second"),
		"--database", n.toDB.database(), "--broker", "mqtt://" + n.toBroker.addr()}
	start(s.t, n)
	return n
}

// standsBy waits until a node says that another one has the lab, and shows that
// one's pages.
func (s *site) standsBy(n *node) {
	s.t.Helper()
	other := &site{t: s.t, listen: n.listen, token: s.token}
	eventually(s.t, "a node stands by", func() bool {
		code, why := other.readiness()
		var units struct{ Units []lab.Unit }
		return code == http.StatusServiceUnavailable && strings.Contains(why, "another wetside holds this lab") && other.get("/api/v1/units", &units) == nil
	})
}

// socket opens the live socket at a node and reads its first frame.
func (n *node) socket(t *testing.T, token string) *websocket.Conn {
	t.Helper()
	d := websocket.Dialer{HandshakeTimeout: patience}
	conn, _, err := d.Dial("ws://"+n.listen+"/api/v1/live", http.Header{"Authorization": {"Bearer " + token}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	if _, frame, err := conn.ReadMessage(); err != nil || !strings.Contains(string(frame), `"type":"snapshot"`) {
		t.Fatalf("the first frame by way of who stands by: %.80s, %v", frame, err)
	}
	return conn
}

// ends waits until a socket is closed by the other end: its board asks again,
// and finds the new holder.
func ends(t *testing.T, conn *websocket.Conn) {
	t.Helper()
	if err := conn.SetReadDeadline(time.Now().Add(patience)); err != nil {
		t.Fatal(err)
	}
	for {
		if _, _, err := conn.ReadMessage(); err != nil {
			if ne, ok := errors.AsType[net.Error](err); ok && ne.Timeout() {
				t.Error("a socket to the holder that is gone stays open")
			}
			return
		}
	}
}
