package broker_test

import (
	"bufio"
	"context"
	"fmt"
	"log/slog"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"wetside/ingest/broker"
)

// runForKill is the child process of TestSurvivesKill: a broker and nothing
// else, until it is killed.
func runForKill(dir string) {
	b, err := broker.Start(context.Background(), broker.Config{
		Listen: "127.0.0.1:0", DataDir: dir, Log: slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelError}))})
	if err != nil {
		fmt.Println("failed:", err)
		os.Exit(1)
	}
	fmt.Println(b.MonitorURL(), b.ClientID(), b.Addr())
	bufio.NewReader(os.Stdin).ReadString('\n') // the monitor is there
	b.AllowUnits()
	fmt.Println("open")
	select {}
}

type child struct {
	cmd               *exec.Cmd
	url, client, addr string
	open              func()
}

func startChild(t *testing.T, dir string) *child {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), "WETSIDE_TEST_BROKER_DIR="+dir)
	said := &lockedBuffer{}
	cmd.Stderr = said
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	lines := bufio.NewScanner(out)
	if !lines.Scan() {
		t.Fatalf("child broker: %s", said)
	}
	f := strings.Fields(lines.Text())
	if len(f) != 3 {
		t.Fatalf("child broker: %s %s", lines.Text(), said)
	}
	return &child{cmd, f[0], f[1], f[2], func() {
		fmt.Fprintln(in)
		if !lines.Scan() {
			t.Fatalf("child broker: %s", said)
		}
	}}
}

// TestSurvivesKill: what was acknowledged to a unit while the monitor was
// away is there after kill -9 of the broker, each once, in order.
func TestSurvivesKill(t *testing.T) {
	dir := t.TempDir()
	first := startChild(t, dir)
	svc, _ := monitor(t, first.url, first.client)
	first.open()
	svc.Stop() // the session stays
	c, err := unit(first.addr, "tern-street/plover", "")
	if err != nil {
		t.Fatal(err)
	}
	const n = 500
	for i := 1; i <= n; i++ {
		if !publish(c, "wetside/v1/tern-street/plover/motion", body(strconv.Itoa(i))) {
			t.Fatalf("message %d not acknowledged", i)
		}
	}
	if err := first.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	first.cmd.Wait()
	c.Disconnect(0)

	began := time.Now()
	second := startChild(t, dir)
	if second.client != first.client || second.url == first.url {
		t.Errorf("second start: client %s then %s; the secret must differ", first.client, second.client)
	}
	_, s := monitor(t, second.url, second.client)
	for i := 1; i <= n; i++ {
		if m := s.next(t); m.Seq != int64(i) {
			t.Fatalf("message %d has seq %d", i, m.Seq)
		}
	}
	t.Logf("up again and all delivered in %v", time.Since(began))
	second.open()
	c, err = unit(second.addr, "tern-street/plover", "")
	if err != nil {
		t.Fatal(err)
	}
	defer c.Disconnect(100)
	publish(c, "wetside/v1/tern-street/plover/motion", body("501"))
	if m := s.next(t); m.Seq != n+1 {
		t.Errorf("after the backlog comes %d, want %d", m.Seq, n+1)
	}
}
