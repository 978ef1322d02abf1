package torture

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/postgres/private"
	"wetside/internal/simulation/sim"
)

// tick is a moment's pause between looks at another process.
func tick() <-chan time.Time { return time.After(50 * time.Millisecond) }

// fault is one thing that can happen. do brings it about and ends it: when it
// returns, what was killed runs again and what was held goes on.
type fault struct {
	name     string
	embedded bool
	do       func(s *site)
}

// lasts is how long a fault lasts that has a length.
func lasts() time.Duration {
	if long {
		return 15 * time.Second
	}
	return 2 * time.Second
}

var faults = []fault{
	{"kill -9 of wetside", false, (*site).killWetside},
	{"kill -9 of wetside with its own broker and database", true, (*site).killWetside},
	{"kill -9 of its own database", true, func(s *site) { s.killServer(filepath.Join(s.data, "postgres", "data")) }},
	{"kill -9 of PostgreSQL", false, func(s *site) {
		_ = syscall.Kill(s.cluster.PID(), syscall.SIGKILL)
		s.cluster.Stop() // waits for the end, gives up its share
		s.startCluster()
	}},
	{"kill -9 of the broker", false, func(s *site) {
		s.mosq.kill()
		s.brokerKilled = append(s.brokerKilled, time.Now())
		s.startMosquitto()
	}},
	{"SIGSTOP of PostgreSQL", false, func(s *site) {
		pids := s.servers()
		signalAll(pids, syscall.SIGSTOP)
		<-time.After(lasts()) // the fault itself
		signalAll(pids, syscall.SIGCONT)
	}},
	{"SIGSTOP of wetside", false, func(s *site) {
		_ = s.wetside.cmd.Process.Signal(syscall.SIGSTOP)
		<-time.After(2 * lasts()) // the fault itself: a machine that sleeps
		_ = s.wetside.cmd.Process.Signal(syscall.SIGCONT)
	}},
	{"the database ends every session", false, (*site).terminateSessions},
	{"connections to the database cut", false, func(s *site) { s.toDB.cut() }},
	{"the database vanishes from the network", false, func(s *site) {
		s.toDB.vanish()
		<-time.After(lasts())
		s.toDB.through()
	}},
	{"the database half a second away", false, func(s *site) {
		s.toDB.far(250 * time.Millisecond)
		<-time.After(lasts())
		s.toDB.far(0)
	}},
	{"connections to the broker cut", false, func(s *site) { s.toBroker.cut() }},
	{"the broker vanishes from the network", false, func(s *site) {
		s.toBroker.vanish()
		<-time.After(lasts())
		s.toBroker.through()
	}},
}

// inShort are those of which nothing else in make test has tried the like.
var inShort = []string{"kill -9 of PostgreSQL", "the database ends every session", "the database vanishes from the network"}

// Whatever happens to the program, its database, its broker and the cables
// between them: nothing is lost, nothing is there twice, and what was found is
// what a replay finds.
func TestFaults(t *testing.T) {
	messages := 1500
	if long {
		messages = 20_000
	}
	list := faults
	if !long {
		list = slices.DeleteFunc(slices.Clone(faults), func(f fault) bool { return !slices.Contains(inShort, f.name) })
	}
	for _, f := range list {
		t.Run(strings.ReplaceAll(f.name, " ", "_"), func(t *testing.T) {
			s := newSite(t, parts{embedded: f.embedded})
			r := row{fault: f.name, tries: tries}
			raws := telemetry(t, messages)
			l := newLine(t, s.broker)
			u := &hand{line: newLine(t, s.broker), unit: "plover"}
			random := rand.New(rand.NewPCG(uint64(seed), uint64(len(f.name))))
			s.told.take()
			next := 0
			for n := range tries {
				until := (n + 1) * len(raws) / (tries + 1)
				for ; next < until; next++ {
					l.send(raws[next])
				}
				// somewhere in the middle of what is on its way
				l.settle(t, until-random.IntN(max(1, min(until, 500))))
				u.abort() // somebody is to be called just now
				f.do(s)
				r.recovery = append(r.recovery, s.recovers())
			}
			for ; next < len(raws); next++ {
				l.send(raws[next])
			}
			l.settle(t, len(raws))
			u.line.settle(t, len(u.sent))
			r.told = s.told.take()
			s.lines = []*line{l, u.line}
			s.proof(&r, append(raws, u.sent...))
			if calls := s.calls("run-aborted", sim.DemoLab+"/"+u.unit); calls != tries {
				t.Errorf("%s: %d of %d aborted runs paged", f.name, calls, tries)
			}
			table.add(r)
		})
	}
}

// recovers gives how long it takes from now until wetside watches again. It
// must be seen to watch for a second: a database that goes on is noticed with
// the next query only.
func (s *site) recovers() time.Duration {
	s.t.Helper()
	began := time.Now()
	good := time.Time{}
	eventually(s.t, "wetside watches again", func() bool {
		s.restartIfEnded()
		if code, _ := s.readiness(); code != 200 {
			good = time.Time{}
			return false
		}
		if good.IsZero() {
			good = time.Now()
		}
		return time.Since(good) > time.Second
	})
	return good.Sub(began)
}

// calls counts the occurrences of alerts of a rule and unit that were paged.
func (s *site) calls(rule, unit string) int {
	seen := map[string]bool{}
	for _, p := range s.hook.all() {
		if p.Item.Rule == rule && p.Item.Unit == unit {
			seen[p.Item.AlertID+strconv.Itoa(p.Item.Occurrence)] = true
		}
	}
	return len(seen)
}

// servers are the process ids of the database server and of its children.
func (s *site) servers() []int {
	s.t.Helper()
	main := s.cluster.PID()
	pids := []int{main}
	entries, err := os.ReadDir("/proc")
	if err != nil {
		s.t.Skip("this system does not list its processes")
	}
	for _, e := range entries {
		pid, err := strconv.Atoi(e.Name())
		if err != nil {
			continue
		}
		b, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
		if err != nil {
			continue // it has ended
		}
		_, rest, _ := strings.Cut(string(b), ") ")
		if f := strings.Fields(rest); len(f) > 1 && f[1] == strconv.Itoa(main) {
			pids = append(pids, pid)
		}
	}
	return pids
}

func signalAll(pids []int, sig syscall.Signal) {
	for _, pid := range pids {
		_ = syscall.Kill(pid, sig) // a session may have ended
	}
}

// killServer kills the server that works in a data folder.
func (s *site) killServer(data string) {
	s.t.Helper()
	b, err := os.ReadFile(filepath.Join(data, "postmaster.pid"))
	if err != nil {
		s.t.Fatal(err)
	}
	first, _, _ := strings.Cut(string(b), "\n")
	pid, err := strconv.Atoi(strings.TrimSpace(first))
	if err != nil || pid <= 1 {
		s.t.Fatalf("postmaster.pid begins with %q", first)
	}
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		s.t.Fatal(err)
	}
	// wetside brings it up again
	eventually(s.t, "the database runs again", func() bool {
		s.restartIfEnded()
		url, err := private.Find(filepath.Dir(data))
		if err != nil {
			return false
		}
		conn, err := pgx.Connect(s.t.Context(), url)
		if err != nil {
			return false
		}
		return conn.Close(s.t.Context()) == nil
	})
}

// terminateSessions ends all sessions of the program, as an administrator or a
// fail-over does.
func (s *site) terminateSessions() {
	s.t.Helper()
	conn, err := pgx.Connect(s.t.Context(), s.cluster.URL())
	if err != nil {
		s.t.Fatal(err)
	}
	defer conn.Close(s.t.Context())
	var n int
	if err := conn.QueryRow(s.t.Context(), `SELECT count(*) FILTER (WHERE pg_terminate_backend(pid))
		FROM pg_stat_activity WHERE application_name LIKE 'wetside%'`).Scan(&n); err != nil || n == 0 {
		s.t.Fatalf("%d sessions were ended: %v", n, err)
	}
}
