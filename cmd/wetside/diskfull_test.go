package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"wetside/internal/labtest"
	"wetside/internal/postgres/pgtest"
	"wetside/internal/postgres/private"
)

// smallDisk is a file system of so many bytes.
func smallDisk(t *testing.T, size int) string {
	t.Helper()
	dir := t.TempDir()
	passThrough(t, dir)
	err := syscall.Mount("none", dir, "tmpfs", 0, fmt.Sprintf("size=%d,mode=0755", size))
	if errors.Is(err, syscall.EPERM) {
		t.Skip("this machine lets nobody mount a small file system; run as root to prove what happens on a full disk")
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil {
			t.Errorf("unmount %s: %v", dir, err)
		}
	})
	return dir
}

// fill leaves no byte free, in the file that is given.
func fill(t *testing.T, path string) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for size := 1 << 20; size > 0; {
		if _, err := f.Write(make([]byte, size)); err != nil {
			size /= 2
		}
	}
}

// The disk under the private database and the broker fills up, and there is
// room again: wetside goes on by itself, in the same process, and nothing that
// was acknowledged is lost.
func TestDiskFull(t *testing.T) {
	disk := smallDisk(t, 400<<20)
	data := filepath.Join(disk, "data")
	listen := fmt.Sprintf("127.0.0.1:%d", freePort(t))
	mqttListen := fmt.Sprintf("127.0.0.1:%d", freePort(t))
	t.Cleanup(func() { endPrivate(t, data) })
	p := startProcess(t, exec.Command(binary(t), "serve", "--data", data, "--listen", listen, "--mqtt-listen", mqttListen))
	base := "http://" + listen
	ready(t, base)
	raws := busyLab(t, 900)
	pub := newPublisher(t, "mqtt://"+mqttListen)
	for _, raw := range raws[:300] {
		pub.send(raw)
	}
	pub.settle()

	ballast := filepath.Join(disk, "ballast")
	fill(t, ballast)
	for _, raw := range raws[300:] {
		pub.send(raw)
	}
	full := time.NewTicker(500 * time.Millisecond) // what the service frees by itself is filled again
	defer full.Stop()
	notReady := false
	for range 40 {
		<-full.C
		fill(t, ballast)
		select {
		case <-p.done:
			t.Fatal("the process ended")
		default:
		}
		if status, _ := readiness(t, base); status == 503 {
			notReady = true
		}
	}
	if !notReady {
		t.Error("with a full disk it was ready all the time")
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	ready(t, base)
	pub.settle()
	url, err := private.Find(postgresDir(data))
	if err != nil {
		t.Fatal(err)
	}
	store := pgtest.Store(t, storeConfig(url))
	want := uniquely(t, raws)
	awaitStored(t, store, want)
	var out bytes.Buffer
	if code := run(t.Context(), []string{"export", "--data", data}, streams{out: &out, err: p.log}); code != exitDone {
		t.Fatalf("export: status %d", code)
	}
	checkExactlyOnce(t, readCapture(t, &out), want)
	store.Close()
	p.end(t, syscall.SIGTERM)
	labtest.Closed(t, p.done, "the end")
}
