package delivery_test

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"strconv"
	"sync"
	"testing"
	"time"

	"wetside/alerts"
	"wetside/alerts/delivery"
	"wetside/alerts/notify"
	"wetside/alerts/oncall"
	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

// stormWorker names the database that this binary, run as a child of the
// storm test, brings pages out of until it is killed.
const stormWorker = "WETSIDE_TEST_STORM_DATABASE"

func TestMain(m *testing.M) {
	if url := os.Getenv(stormWorker); url != "" {
		os.Exit(runStormWorker(url))
	}
	pgtest.Main(m)
}

// runStormWorker is the whole of paging in a process of its own.
func runStormWorker(url string) int {
	ctx := context.Background()
	store, err := postgres.Open(ctx, postgres.Config{URL: url, Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	lease, err := store.AcquireLease(ctx, nil)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	w, err := delivery.New(delivery.Config{Store: store, Term: lease.Term(), Key: lotKey, Look: 50 * time.Millisecond,
		Methods: map[string]delivery.Method{lab.MethodWebhook: notify.NewWebhook(nil)}, Log: slog.New(slog.DiscardHandler)})
	if err == nil {
		err = w.Start(ctx)
	}
	fmt.Println("working", err)
	<-w.Done()
	fmt.Fprintln(os.Stderr, w.Err())
	return 1
}

// hooks is a receiver that fails, hangs, answers late, and counts.
type hooks struct {
	mu       sync.Mutex
	tries    map[string]int      // by message
	answered map[string]int      // how often it was taken
	copies   int                 // taken again though it had been answered
	alerts   map[string]struct{} // "person alert" that arrived
	came     chan struct{}
}

func (h *hooks) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	id := r.Header.Get("webhook-id")
	var body struct {
		Data struct {
			Person string
			Items  []lab.PageItem
		}
	}
	b, err := io.ReadAll(r.Body)
	if err = errors.Join(err, json.Unmarshal(b, &body)); err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	h.mu.Lock()
	h.tries[id]++
	first := h.tries[id] == 1
	h.mu.Unlock()
	defer func() { h.came <- struct{}{} }()
	sum := fnv.New32a()
	sum.Write([]byte(id))
	switch mood := sum.Sum32() % 20; {
	case first && mood < 4: // fails once
		w.WriteHeader(http.StatusInternalServerError)
		return
	case first && mood < 5: // goes away without an answer
		panic(http.ErrAbortHandler)
	case first && mood < 7: // answers late
		select {
		case <-time.After(200 * time.Millisecond): // the lateness itself, nothing is waited for
		case <-r.Context().Done():
		}
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.answered[id]++; h.answered[id] > 1 {
		h.copies++
	}
	for _, it := range body.Data.Items {
		h.alerts[body.Data.Person+" "+it.AlertID] = struct{}{}
	}
	w.WriteHeader(http.StatusOK)
}

func (h *hooks) arrived() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return len(h.alerts)
}

// Killed at random points under a storm of alerts, with a receiver that
// fails, hangs and answers late, every page arrives; a copy goes out only
// where the process was killed before it could write down the answer.
// WETSIDE_STORM=1000 for the long one (make storm).
func TestStormWithKills(t *testing.T) {
	count, kills := 40, 3
	if n, err := strconv.Atoi(os.Getenv("WETSIDE_STORM")); err == nil {
		count, kills = n, 12
	}
	h := &hooks{tries: map[string]int{}, answered: map[string]int{}, alerts: map[string]struct{}{}, came: make(chan struct{}, 100_000)}
	server := httptest.NewServer(h)
	defer server.Close()
	url := pgtest.New(t)
	store := pgtest.Store(t, postgres.Config{URL: url})
	people := []string{"Wren", "Robin", "Heron", "Siskin"}
	for _, name := range people {
		check(t, store.CreateUser(t.Context(), lab.User{Name: name, Role: lab.RoleOperator}))
		check(t, store.SetContacts(t.Context(), lab.Contacts{Person: name, Methods: []string{lab.MethodWebhook}, Webhook: server.URL, Secret: notify.NewSecret()}, "test"))
	}
	plan := oncall.Default()
	plan.Urgent, plan.RepeatUrgentS = []lab.DutyStep{{Who: lab.WhoEverybody}}, 24*3600
	plan.Flood.Pages, plan.RetriesS = 0, []int{0, 1}
	check(t, store.SetDutyPlan(t.Context(), plan, 0, "test"))

	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 1))
	worker := startStormWorker(t, url)
	raised, want := 0, count*len(people)
	raise := func(n int) {
		for range min(n, count-raised) {
			check(t, raiseOne(t.Context(), store, raised))
			raised++
		}
	}
	raise(count / 2)
	began := time.Now()
	deadline := time.NewTimer(time.Duration(60+count/2) * time.Second)
	defer deadline.Stop()
	killAt := 1 + random.IntN(want/(kills+1))
	for seen := 0; h.arrived() < want; {
		select {
		case <-h.came:
			seen++
			raise(1 + random.IntN(3))
		case <-deadline.C:
			t.Fatalf("%d of %d pages arrived in time", h.arrived(), want)
		}
		if kills > 0 && seen >= killAt {
			kills--
			killAt = seen + 1 + random.IntN(want/(kills+2))
			worker.kill()
			raise(5) // while nobody is there
			worker = startStormWorker(t, url)
		}
	}
	labtest.Poll(t, "everything is written down", func() bool {
		n, _, err := store.PagesOverdue(t.Context(), time.Now())
		return err == nil && n == 0
	})
	worker.kill()
	report(t, h, want, time.Since(began))
	if most := (worker.started - 1) * len(people); h.copies > most {
		t.Errorf("%d copies of what had been answered; want at most one a kill and person, %d", h.copies, most)
	}
	for id, n := range h.answered {
		if n == 0 {
			t.Errorf("message %s was never answered", id)
		}
	}
}

func report(t *testing.T, h *hooks, want int, took time.Duration) {
	h.mu.Lock()
	defer h.mu.Unlock()
	tries := 0
	for _, n := range h.tries {
		tries += n
	}
	t.Logf("%d pages arrived in %d messages and %d tries, %d copies after an answer, in %v", want, len(h.tries), tries, h.copies, took.Round(time.Millisecond))
	if len(h.tries) != want {
		t.Errorf("%d messages for %d pages: one was made twice, under another id", len(h.tries), want)
	}
}

func check(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// raiseOne makes an urgent alert of a unit of its own.
func raiseOne(ctx context.Context, store *postgres.Store, n int) error {
	now := time.Now().UTC()
	change := alerts.Change{Noticed: now, Occurrence: lab.Occurrence{
		Key: fmt.Sprintf("storm-%d", n), ID: fmt.Sprintf("storm-%d", n), Rule: "power-lost", Unit: lab.UnitID{Lab: "tern-street", Unit: fmt.Sprintf("unit-%d", n)},
		RunID: fmt.Sprintf("run-%d", n), Priority: lab.Urgent, RaisedAt: lab.At(now).Time, Message: "The mains failed", Consequence: "The bath cools.", Response: "Look at the fuse.",
	}}
	c := lab.Commit{}
	c.AlertKeys, c.AlertIDs = alerts.Refs([]alerts.Change{change})
	c.Apply = func(cur []lab.StoredAlert, now time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
		return alerts.Apply(cur, []alerts.Change{change}, now, alerts.Policy{})
	}
	return store.CommitImported(ctx, c) // it needs no term; that is the worker's
}

// stormProcess is a worker in a process of its own.
type stormProcess struct {
	cmd     *exec.Cmd
	done    chan struct{}
	started int
}

var stormStarts int

func startStormWorker(t *testing.T, url string) *stormProcess {
	t.Helper()
	stormStarts++
	p := &stormProcess{cmd: exec.Command(os.Args[0], "-test.run=^$"), done: make(chan struct{}), started: stormStarts}
	p.cmd.Env = append(os.Environ(), stormWorker+"="+url)
	p.cmd.Stderr = os.Stderr
	out, err := p.cmd.StdoutPipe()
	check(t, err)
	check(t, p.cmd.Start())
	up := make(chan string, 1)
	go func() {
		defer close(p.done)
		s := bufio.NewScanner(out)
		s.Scan()
		up <- s.Text()
		_, _ = io.Copy(io.Discard, out) // until it is killed
		_ = p.cmd.Wait()                // by a signal, always
	}()
	t.Cleanup(p.kill)
	if said := labtest.Receive(t, up, "the worker"); said != "working <nil>" {
		t.Fatalf("the worker says %q", said)
	}
	return p
}

func (p *stormProcess) kill() {
	_ = p.cmd.Process.Kill() // SIGKILL; it may have been killed
	<-p.done
}
