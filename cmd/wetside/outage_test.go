package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/postgres/pgtest"
)

// serveBehind runs wetside with a network between it and its database.
func serveBehind(t *testing.T, delay time.Duration) (network *labtest.Proxy, p *process, base, database, broker string) {
	t.Helper()
	_, broker = mosquitto(t)
	database = pgtest.New(t)
	network, far := labtest.BeforeDatabase(t, database)
	network.Delay(delay)
	listen := fmt.Sprintf("127.0.0.1:%d", freePort(t))
	p = startProcess(t, exec.Command(binary(t), "serve", "--broker", broker, "--database", far, "--listen", listen))
	return network, p, "http://" + listen, database, broker
}

// readiness is what /readyz says; 0 where nobody answers.
func readiness(t *testing.T, base string) (status int, text string) {
	t.Helper()
	resp, err := client.Get(base + "/readyz")
	if err != nil {
		return 0, ""
	}
	defer resp.Body.Close()
	b, _ := io.ReadAll(resp.Body)
	return resp.StatusCode, string(b)
}

// The database fails again and again while terms start: the service stands by
// and tries again, and never ends.
func TestDatabaseFailsWhileATermStarts(t *testing.T) {
	t.Parallel()
	network, p, base, _, _ := serveBehind(t, 20*time.Millisecond) // a start takes long enough to be hit anywhere
	labtest.Poll(t, "somebody answers", func() bool { status, _ := readiness(t, base); return status != 0 })
	cut := time.NewTicker(170 * time.Millisecond)
	defer cut.Stop()
	for range 40 {
		<-cut.C
		network.Cut()
		select {
		case <-p.done:
			t.Fatalf("the process ended: %s", p.log.tail(2000))
		default:
		}
	}
	ready(t, base)
	p.end(t, syscall.SIGTERM)
	if code := p.cmd.ProcessState.ExitCode(); code != exitDone {
		t.Errorf("after SIGTERM the exit status is %d; want 0", code)
	}
}

// The network to the database swallows everything: the pages say so and not
// that another wetside holds the lab; when it is mended the service goes on by
// itself, and nothing that was acknowledged is lost.
func TestDatabaseVanishes(t *testing.T) {
	t.Parallel()
	network, p, base, database, broker := serveBehind(t, 0)
	ready(t, base)
	raws := busyLab(t, 600)
	pub := newPublisher(t, broker)
	for _, raw := range raws[:200] {
		pub.send(raw)
	}
	pub.settle()
	network.Hole()
	for _, raw := range raws[200:400] {
		pub.send(raw)
	}
	labtest.Poll(t, "it says that the database is away", func() bool {
		status, text := readiness(t, base)
		if strings.Contains(text, "another wetside") {
			t.Errorf("it says: %s", text)
		}
		return status == 503 && strings.Contains(text, "the database does not answer, since ")
	})
	network.Heal()
	ready(t, base)
	for _, raw := range raws[400:] {
		pub.send(raw)
	}
	pub.settle()
	awaitStored(t, pgtest.Store(t, storeConfig(database)), uniquely(t, raws))
	p.end(t, syscall.SIGTERM)
	if code := p.cmd.ProcessState.ExitCode(); code != exitDone {
		t.Errorf("after SIGTERM the exit status is %d; want 0", code)
	}
}

// With the database half a second away, there and back, telemetry is stored
// and the board works.
func TestDatabaseFarAway(t *testing.T) {
	t.Parallel()
	_, _, base, database, broker := serveBehind(t, 250*time.Millisecond)
	far := time.Now()
	for status := 0; status != 200; status, _ = readiness(t, base) { // the migrations are many steps
		if time.Since(far) > 3*time.Minute {
			t.Fatal("not ready within 3 min")
		}
		labtest.Poll(t, "somebody answers", func() bool { status, _ = readiness(t, base); return status != 0 || time.Since(far) > time.Minute })
	}
	raws := busyLab(t, 300)
	pub := newPublisher(t, broker)
	for _, raw := range raws {
		pub.send(raw)
	}
	pub.settle()
	awaitStored(t, pgtest.Store(t, storeConfig(database)), uniquely(t, raws))
}

// While the database is away people are called from what was known of them,
// and told when it is over; the API names the fault and since when.
func TestPeopleAreCalledWithoutTheDatabase(t *testing.T) {
	var network *labtest.Proxy
	p, _, a, got, _ := pagingLab(t, func(cfg *programConfig) {
		network, cfg.Database = labtest.BeforeDatabase(t, cfg.Database)
		cfg.CallAfter = 3 * time.Second
	})
	labtest.Poll(t, "the plan is read", func() bool {
		var status lab.DutyStatus
		return a.get("/api/v1/duty/status", &status) && len(status.Faults) == 0
	})
	network.Hole()
	begun := time.Now()
	var call arrived
	for call.kind == "" { // a connection that swallows everything is noticed late
		select {
		case call = <-got:
		case <-time.After(time.Minute):
			t.Fatalf("nobody was called within %s", time.Since(begun))
		}
	}
	if call.kind != "page" || call.data.Person != "Wren" || !strings.Contains(call.data.Title, "the database does not answer since ") {
		t.Errorf("%s to %s: %q", call.kind, call.data.Person, call.data.Title)
	}
	labtest.Poll(t, "the API says so", func() bool {
		resp, err := client.Get(p.URL() + "/api/v1/units")
		if err != nil {
			return false
		}
		defer resp.Body.Close()
		var says struct{ Code, Since, Detail string }
		return resp.StatusCode == 503 && json.NewDecoder(resp.Body).Decode(&says) == nil &&
			says.Code == lab.FaultDatabase && says.Since != "" && strings.Contains(says.Detail, "the database does not answer, since ")
	})
	network.Heal()
	over := labtest.Receive(t, got, "word that it is back")
	if !strings.Contains(over.data.Title, "the database answers again") {
		t.Errorf("then %q", over.data.Title)
	}
	ready(t, p.URL())
}
