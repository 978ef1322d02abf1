package sim

import (
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"wetside/internal/lab"
	"wetside/internal/labtest"
)

// broker starts a real mosquitto with a password on a port of its own.
func broker(t *testing.T) (addr string) {
	t.Helper()
	exe := labtest.Need(t, "mosquitto", "mosquitto")
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	addr = l.Addr().String()
	l.Close()
	_, port, _ := net.SplitHostPort(addr)
	dir := t.TempDir()
	pw := filepath.Join(dir, "passwords")
	if out, err := exec.Command(labtest.Need(t, "mosquitto_passwd", "mosquitto"), "-b", "-c", pw, "units", "quiet water").CombinedOutput(); err != nil {
		t.Fatalf("mosquitto_passwd: %v %s", err, out)
	}
	conf := filepath.Join(dir, "mosquitto.conf")
	text := fmt.Sprintf("listener %s 127.0.0.1\nallow_anonymous false\npassword_file %s\nuser root\nmax_queued_messages 100000\n", port, pw)
	if err := os.WriteFile(conf, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe, "-c", conf)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
	for range 200 {
		if c, err := net.Dial("tcp", addr); err == nil {
			c.Close()
			return addr
		}
		select {
		case <-t.Context().Done():
		case <-time.After(25 * time.Millisecond): // the broker gives no other signal
		}
	}
	t.Fatal("mosquitto did not listen")
	return ""
}

// listener collects what a broker delivers.
type listener struct {
	client mqtt.Client
	mu     sync.Mutex
	got    []lab.Raw
	more   chan struct{}
}

func listen(t *testing.T, addr, id string) *listener {
	t.Helper()
	l := &listener{more: make(chan struct{}, 1)}
	opts := mqtt.NewClientOptions().AddBroker("tcp://" + addr).SetClientID(id).SetUsername("units").SetPassword("quiet water").
		SetAutoReconnect(false)
	l.client = mqtt.NewClient(opts)
	if tok := l.client.Connect(); !tok.WaitTimeout(10*time.Second) || tok.Error() != nil {
		t.Fatal("connecting: ", tok.Error())
	}
	t.Cleanup(func() { l.client.Disconnect(100) })
	tok := l.client.Subscribe("wetside/v1/#", 1, func(_ mqtt.Client, m mqtt.Message) {
		l.mu.Lock()
		l.got = append(l.got, lab.Raw{Topic: m.Topic(), Payload: m.Payload(), Retained: m.Retained()})
		l.mu.Unlock()
		select {
		case l.more <- struct{}{}:
		default:
		}
	})
	if !tok.WaitTimeout(10*time.Second) || tok.Error() != nil {
		t.Fatal("subscribing: ", tok.Error())
	}
	return l
}

// until waits for what is heard to satisfy ok.
func (l *listener) until(t *testing.T, what string, ok func([]lab.Raw) bool) {
	t.Helper()
	deadline := time.After(60 * time.Second)
	for {
		l.mu.Lock()
		done := ok(l.got)
		n := len(l.got)
		l.mu.Unlock()
		if done {
			return
		}
		select {
		case <-l.more:
		case <-deadline:
			t.Fatalf("gave up waiting for %s after %d messages", what, n)
		}
	}
}

func countWills(got []lab.Raw, unit string) (n int) {
	for _, r := range got {
		if string(r.Payload) == string(will) && strings.Contains(r.Topic, "/"+unit+"/") && !r.Retained {
			n++
		}
	}
	return n
}

// The lab over a real broker: each message of the same virtual time comes
// once and in order; a cut unit's will is the broker's own, its buffer comes
// after it; the end of it all leaves retained wills behind.
func TestPublishOverARealBroker(t *testing.T) {
	addr := broker(t)
	ear := listen(t, addr, "ear")
	plan := EndlessPlan(9, 3, 0)
	plan.Faults = []Fault{{Kind: NetworkCut, Unit: "heron", At: t0.Add(20 * time.Second), For: 90 * time.Second},
		{Kind: NetworkCut, Unit: "avocet", At: t0.Add(30 * time.Second), For: 10 * time.Second}}
	l := mustLab(t, Config{Seed: 9, Start: t0, Schedule: plan})
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	ended := make(chan error, 1)
	go func() {
		ended <- Publish(ctx, PublishConfig{Broker: "tcp://units:quiet%20water@" + addr, Speed: 40}, l)
	}()
	ear.until(t, "the end of the cut", func(got []lab.Raw) bool {
		for _, h := range heardFrom(got, "heron") {
			if h.at.After(t0.Add(150 * time.Second)) {
				return true
			}
		}
		return false
	})
	cancel()
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
	ear.until(t, "the last wills", func(got []lab.Raw) bool {
		return countWills(got, "plover") == 1 && countWills(got, "heron") == 2 && countWills(got, "avocet") == 1
	})
	for _, unit := range []string{"plover", "heron", "avocet"} {
		next := int64(1)
		for _, h := range heardFrom(ear.got, unit) {
			if h.boot == "" {
				continue
			}
			if h.seq != next {
				t.Fatalf("%s: seq %d where %d was due", unit, h.seq, next)
			}
			next++
		}
		if next < 50 {
			t.Errorf("%s: only %d messages", unit, next)
		}
	}
	late := listen(t, addr, "latecomer")
	late.until(t, "the retained wills", func(got []lab.Raw) bool { return len(got) == 3 })
	for _, r := range late.got {
		if !r.Retained || string(r.Payload) != string(will) {
			t.Errorf("retained %s %q", r.Topic, r.Payload)
		}
	}
}

func heardFrom(raws []lab.Raw, unit string) (out []heard) {
	good, _ := hear(raws)
	for _, h := range good {
		if h.unit == unit {
			out = append(out, h)
		}
	}
	return out
}

func TestPublishSaysWhatIsWrong(t *testing.T) {
	addr := broker(t)
	l := mustLab(t, Config{Seed: 1, Start: t0, Schedule: EndlessPlan(1, 2, 0)})
	for broker, kind := range map[string]lab.Kind{
		"nowhere":                      lab.KindInvalid,
		"http://127.0.0.1:1":           lab.KindInvalid,
		"tcp://127.0.0.1:1":            lab.KindUnavailable,
		"tcp://units:wrong@" + addr:    lab.KindUnavailable,
		"tcp://127.0.0.1:1?x=y#really": lab.KindUnavailable,
	} {
		err := Publish(t.Context(), PublishConfig{Broker: broker}, l)
		if lab.KindOf(err) != kind || err == nil {
			t.Errorf("%s: %v (kind %v)", broker, err, lab.KindOf(err))
		}
		if err != nil && strings.Contains(err.Error(), "wrong") {
			t.Errorf("the error tells the password: %v", err)
		}
	}
}
