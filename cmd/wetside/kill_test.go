package main

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres/pgtest"
	"wetside/internal/postgres/private"
	"wetside/internal/simulation/sim"
)

// busyLab is at least n messages of many units, each once.
func busyLab(t *testing.T, n int) []lab.Raw {
	t.Helper()
	const length = 45 * time.Minute
	start := time.Now().Add(-length).UTC().Truncate(time.Second)
	l, err := sim.New(sim.Config{Lab: sim.DemoLab, Seed: 5, Start: start, Schedule: sim.EndlessPlan(5, 16, 0.6)})
	if err != nil {
		t.Fatal(err)
	}
	raws := l.Advance(start.Add(length))
	if len(raws) < n {
		t.Fatalf("only %d messages; want %d", len(raws), n)
	}
	return raws[:n]
}

// Killed twice in the middle of 20,000 messages at 3,000 a second, wetside
// has stored each exactly once and found what it would have found in peace.
func TestKilledInTheMiddle(t *testing.T) {
	t.Parallel()
	const messages, rate, kills = 20_000, 3000, 2
	raws := busyLab(t, messages)
	_, broker := monitortest.Mosquitto(t)
	database := pgtest.New(t)
	listen := fmt.Sprintf("127.0.0.1:%d", monitortest.FreePort(t))
	serve := func() *monitortest.Process {
		return monitortest.StartProcess(t, exec.Command(binary(t), "serve", "--broker", broker, "--database", database, "--listen", listen))
	}
	p := serve()
	monitortest.Ready(t, "http://"+listen)

	pub := monitortest.NewPublisher(t, broker)
	tick := time.NewTicker(10 * time.Millisecond) // the pace of the load, nothing is waited for
	defer tick.Stop()
	for sent := 0; sent < messages; {
		<-tick.C
		for range min(rate/100, messages-sent) {
			pub.Send(raws[sent])
			sent++
			for k := range kills {
				if sent == messages*(k+1)/(kills+1) {
					p.Kill(t)
					p = serve()
				}
			}
		}
	}
	pub.Settle()
	monitortest.Ready(t, "http://"+listen)
	want := monitortest.Uniquely(t, raws)
	store := pgtest.Store(t, monitortest.StoreConfig(database))
	monitortest.AwaitStored(t, store, want)

	a := monitortest.NewAPI(t, "http://"+listen, store)
	found := lastOccurrences(alertsOf(replayed(t, monitortest.WriteCapture(t, "sent.jsonl", raws))), onArrival...)
	if len(found) < 5 {
		t.Fatalf("only %d alerts in the load; that proves little", len(found))
	}
	awaitAlerts(t, a, found)

	code, out, errOut := run1(t, "", "export", "--database", database)
	if code != exitDone {
		t.Fatalf("export: status %d: %s", code, errOut)
	}
	monitortest.CheckExactlyOnce(t, monitortest.ReadCapture(t, bytes.NewBufferString(out)), want)
	p.End(t, syscall.SIGTERM)
	if state := p.Cmd.ProcessState; state.ExitCode() != exitDone {
		t.Errorf("after SIGTERM the exit status is %d; want 0", state.ExitCode())
	}
}

// With nothing but a folder: database and broker inside, killed, found again.
func TestEmbeddedFoundAgainAfterKill(t *testing.T) {
	t.Parallel()
	data := filepath.Join(t.TempDir(), "data")
	listen := fmt.Sprintf("127.0.0.1:%d", monitortest.FreePort(t))
	mqttListen := fmt.Sprintf("127.0.0.1:%d", monitortest.FreePort(t))
	serve := func() *monitortest.Process {
		p := monitortest.StartProcess(t, exec.Command(binary(t), "serve", "--data", data, "--listen", listen, "--mqtt-listen", mqttListen))
		monitortest.Ready(t, "http://"+listen)
		return p
	}
	t.Cleanup(func() { endPrivate(t, data) })
	monitortest.PassThrough(t, data)
	raws := busyLab(t, 1500)
	p := serve()
	if out, err := exec.Command(binary(t), "serve", "--data", data, "--listen", "0.0.0.0:0", "--mqtt-listen", mqttListen).CombinedOutput(); err == nil || !bytes.Contains(out, []byte("password")) {
		t.Errorf("listening beyond this machine before a password has been set: %v\n%s", err, out)
	}

	pub := monitortest.NewPublisher(t, "mqtt://"+mqttListen)
	for _, raw := range raws[:1000] {
		pub.Send(raw)
	}
	pub.Settle() // acknowledged: whatever happens now, they must be there
	p.Kill(t)

	p = serve()
	pub = monitortest.NewPublisher(t, "mqtt://"+mqttListen)
	for _, raw := range raws[1000:] {
		pub.Send(raw)
	}
	pub.Settle()
	url, err := private.Find(monitor.PostgresDir(data))
	if err != nil {
		t.Fatal(err)
	}
	store := pgtest.Store(t, monitortest.StoreConfig(url))
	want := monitortest.Uniquely(t, raws)
	monitortest.AwaitStored(t, store, want)

	var out, errOut bytes.Buffer
	if code := run(t.Context(), []string{"export", "--data", data}, streams{out: &out, err: &errOut}); code != exitDone {
		t.Fatalf("export --data: status %d: %s", code, errOut.String())
	}
	monitortest.CheckExactlyOnce(t, monitortest.ReadCapture(t, &out), want)
	token, _ := exec.Command(binary(t), "token", "create", "--name", "e2e", "--role", "viewer", "--data", data).Output()
	a := &monitortest.API{T: t, Base: "http://" + listen, Token: string(bytes.TrimSpace(token))}
	var units struct{ Units []lab.Unit }
	if !a.Get("/api/v1/units", &units) || len(units.Units) < 10 {
		t.Errorf("the API with a token made by the command gives %d units", len(units.Units))
	}
	store.Close()
	p.End(t, syscall.SIGTERM)
	if code := p.Cmd.ProcessState.ExitCode(); code != exitDone {
		t.Errorf("after SIGTERM the exit status is %d; want 0", code)
	}
	if _, err := private.Find(monitor.PostgresDir(data)); err == nil {
		t.Error("the private database still runs after wetside ended in order")
	}
}

// endPrivate ends a database that a failed test left.
func endPrivate(t *testing.T, data string) {
	if _, err := private.Find(monitor.PostgresDir(data)); err != nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	c, err := private.Start(ctx, private.Config{Dir: monitor.PostgresDir(data), Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		t.Errorf("the private database in %s is left running: %v", data, err)
		return
	}
	c.Stop()
}
