package main

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"regexp"
	"sync"
	"testing"
	"time"

	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
	"wetside/internal/simulation/sim"
)

// stage is a whole wetside at work in this process, with a real database, a
// real broker and a simulated lab, and one Chromium: what the subtests share.
type stage struct {
	program *monitor.Program
	store   *postgres.Store
	api     *monitortest.API
	broker  string
	code    string // that the first lead shows, as it was printed
	page    page   // Ana's, the lead's; one column, so that no board page turns under the test's hand
}

const anasPassword = "a long enough password"

func newStage(t *testing.T) *stage {
	t.Helper()
	needPages(t)
	_, broker := monitortest.Mosquitto(t)
	database := pgtest.New(t)
	s := &stage{broker: broker}
	var printed monitortest.Output
	s.program = monitortest.Start(t, monitor.Config{Broker: broker, Database: database, Data: t.TempDir(), Log: slog.New(slog.NewTextHandler(&printed, nil))})
	code := regexp.MustCompile(` code=(\w+)`).FindStringSubmatch(printed.Tail(1 << 20))
	if code == nil {
		t.Fatalf("no set-up code was printed:\n%s", printed.Tail(1<<20))
	}
	s.code = code[1]
	monitortest.Ready(t, s.program.URL())
	s.store = pgtest.Store(t, monitortest.StoreConfig(database))
	s.page = page{t, browser(t, 1080, 1600)}
	return s
}

// live publishes a lab from its present moment on until the test ends.
func live(t testing.TB, broker string, l *sim.Lab) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	var parts sync.WaitGroup
	parts.Go(func() {
		if err := sim.Publish(ctx, sim.PublishConfig{Broker: broker, Log: slog.New(slog.DiscardHandler)}, l); err != nil && ctx.Err() == nil {
			t.Errorf("the simulated lab: %v", err)
		}
	})
	t.Cleanup(func() {
		cancel()
		parts.Wait()
	})
}

// The units besides the six of the demonstration: one that is loaded, idle,
// with all it needs.
const loadedUnit = "whimbrel"

// morning sends forty minutes of work at once, as units do that were cut off,
// and goes on live: six units, of which plover had a developer that ran warm.
func morning(t testing.TB, broker string) {
	t.Helper()
	start := time.Now().Add(-40 * time.Minute).UTC().Truncate(time.Second)
	plan := sim.EndlessPlan(11, 6, 0)
	plan.Units[0].Runs, plan.Units[0].Begin = []sim.RunPlan{{Process: "c41"}}, &sim.Begin{Step: "developer", Heating: 5 * time.Second}
	plan.Faults = []sim.Fault{{Kind: sim.BathOffset, Unit: plan.Units[0].Name, Run: 1, Step: "developer", After: 40 * time.Second, Strength: 0.8, Ramp: 40 * time.Second}}
	plan.Units = append(plan.Units, sim.UnitPlan{Name: loadedUnit, Processes: []string{"c41"}})
	l, err := sim.New(sim.Config{Lab: sim.DemoLab, Seed: 11, Start: start, Schedule: plan})
	if err != nil {
		t.Fatal(err)
	}
	pub := monitortest.NewPublisher(t, broker)
	for late := time.Hour; late > 500*time.Millisecond; {
		now := time.Now()
		for _, raw := range l.Advance(now) {
			pub.Send(raw)
		}
		pub.Settle()
		late = time.Since(now)
	}
	live(t, broker, l)
}

// aborts publishes a unit of its own that is in its developer and, in two
// seconds, aborts: the simulator's fault with the shortest way to an alert.
func aborts(t testing.TB, broker, unit string) {
	t.Helper()
	develops(t, broker, unit, sim.Fault{Kind: sim.Aborted, Unit: unit, At: time.Now().Add(2 * time.Second).UTC()})
}

// develops publishes a unit of its own that is in its developer, with nothing
// wrong but the faults.
func develops(t testing.TB, broker, unit string, faults ...sim.Fault) {
	t.Helper()
	l, err := sim.New(sim.Config{Lab: sim.DemoLab, Seed: 5, Start: time.Now().UTC(), Schedule: sim.Schedule{
		Units: []sim.UnitPlan{{Name: unit, Processes: []string{"c41"}, Runs: []sim.RunPlan{{Process: "c41"}},
			Begin: &sim.Begin{Step: "developer", In: 20 * time.Second}}},
		Faults: faults,
	}})
	if err != nil {
		t.Fatal(err)
	}
	live(t, broker, l)
}

// accept makes units the lab's own, as a lead does on the board.
func (s *stage) accept(t testing.TB, units ...string) {
	t.Helper()
	for _, u := range units {
		labtest.Poll(t, u+" is known and accepted", func() bool {
			code, _, err := s.api.Do(http.MethodPatch, "/api/v1/units/tern-street/"+u, `{"standing":"accepted"}`)
			return err == nil && code == http.StatusOK
		})
	}
}

// hookSecret is the published example of Standard Webhooks 1.0.0.
const hookSecret = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"

// hooks is a receiver of signed pages for one person.
func hooks(t testing.TB, s *stage, person string) chan monitortest.Arrived {
	t.Helper()
	hook, got := monitortest.HookReceiver(t, hookSecret)
	must(t, s.api, http.MethodPut, "/api/v1/people/"+person+"/contacts", fmt.Sprintf(`{"ways":["webhook"],"webhook":%q,"webhook_secret":%q}`, hook, hookSecret), 200)
	return got
}

// must does something by the API that the test is not about.
func must(t testing.TB, a *monitortest.API, method, path, body string, want int) []byte {
	t.Helper()
	code, b, err := a.Do(method, path, body)
	if err != nil || code != want {
		t.Fatalf("%s %s: %d %s, %v; want %d", method, path, code, b, err, want)
	}
	return b
}

// fetched gets a path with the cookies of the page, as a link in it would.
func fetched(p page, path string) (status int, head string) {
	p.t.Helper()
	got := value[struct {
		Status int    `json:"status"`
		Head   string `json:"head"`
	}](p, `fetch(`+quote(path)+`).then(async (r) => ({ status: r.status, head: new TextDecoder("latin1").decode((await r.arrayBuffer()).slice(0, 8)) }))`)
	return got.Status, got.Head
}
