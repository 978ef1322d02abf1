package main

import (
	"fmt"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"

	"wetside/internal/labtest"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
)

// serveBehind runs wetside with a network between it and its database.
func serveBehind(t *testing.T, delay time.Duration) (network *labtest.Proxy, p *monitortest.Process, base, database, broker string) {
	t.Helper()
	_, broker = monitortest.Mosquitto(t)
	database = pgtest.New(t)
	network, far := labtest.BeforeDatabase(t, database)
	network.Delay(delay)
	listen := fmt.Sprintf("127.0.0.1:%d", monitortest.FreePort(t))
	p = monitortest.StartProcess(t, exec.Command(binary(t), "serve", "--broker", broker, "--database", far, "--listen", listen))
	return network, p, "http://" + listen, database, broker
}

// The database fails again and again while terms start: the service stands by
// and tries again, and never ends.
func TestDatabaseFailsWhileATermStarts(t *testing.T) {
	t.Parallel()
	network, p, base, _, _ := serveBehind(t, 20*time.Millisecond) // a start takes long enough to be hit anywhere
	labtest.Poll(t, "somebody answers", func() bool { status, _ := monitortest.Readiness(t, base); return status != 0 })
	cut := time.NewTicker(170 * time.Millisecond)
	defer cut.Stop()
	for range 40 {
		<-cut.C
		network.Cut()
		select {
		case <-p.Done:
			t.Fatalf("the process ended: %s", p.Log.Tail(2000))
		default:
		}
	}
	monitortest.Ready(t, base)
	p.End(t, syscall.SIGTERM)
	if code := p.Cmd.ProcessState.ExitCode(); code != exitDone {
		t.Errorf("after SIGTERM the exit status is %d; want 0", code)
	}
}

// The network to the database swallows everything: the pages say so and not
// that another wetside holds the lab; when it is mended the service goes on by
// itself, and nothing that was acknowledged is lost.
func TestDatabaseVanishes(t *testing.T) {
	t.Parallel()
	network, p, base, database, broker := serveBehind(t, 0)
	monitortest.Ready(t, base)
	raws := busyLab(t, 600)
	pub := monitortest.NewPublisher(t, broker)
	for _, raw := range raws[:200] {
		pub.Send(raw)
	}
	pub.Settle()
	network.Hole()
	for _, raw := range raws[200:400] {
		pub.Send(raw)
	}
	labtest.Poll(t, "it says that the database is away", func() bool {
		status, text := monitortest.Readiness(t, base)
		if strings.Contains(text, "another wetside") {
			t.Errorf("it says: %s", text)
		}
		return status == 503 && strings.Contains(text, "the database does not answer, since ")
	})
	network.Heal()
	monitortest.Ready(t, base)
	for _, raw := range raws[400:] {
		pub.Send(raw)
	}
	pub.Settle()
	monitortest.AwaitStored(t, pgtest.Store(t, monitortest.StoreConfig(database)), monitortest.Uniquely(t, raws))
	p.End(t, syscall.SIGTERM)
	if code := p.Cmd.ProcessState.ExitCode(); code != exitDone {
		t.Errorf("after SIGTERM the exit status is %d; want 0", code)
	}
}

// With the database half a second away, there and back, telemetry is stored
// and the board works.
func TestDatabaseFarAway(t *testing.T) {
	t.Parallel()
	_, _, base, database, broker := serveBehind(t, 250*time.Millisecond)
	far := time.Now()
	for status := 0; status != 200; status, _ = monitortest.Readiness(t, base) { // the migrations are many steps
		if time.Since(far) > 3*time.Minute {
			t.Fatal("not ready within 3 min")
		}
		labtest.Poll(t, "somebody answers", func() bool {
			status, _ = monitortest.Readiness(t, base)
			return status != 0 || time.Since(far) > time.Minute
		})
	}
	raws := busyLab(t, 300)
	pub := monitortest.NewPublisher(t, broker)
	for _, raw := range raws {
		pub.Send(raw)
	}
	pub.Settle()
	monitortest.AwaitStored(t, pgtest.Store(t, monitortest.StoreConfig(database)), monitortest.Uniquely(t, raws))
}
