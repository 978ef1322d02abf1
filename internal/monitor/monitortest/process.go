package monitortest

import (
	"bytes"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"wetside/internal/labtest"
)

// Process is a program that runs beside the test.
type Process struct {
	Cmd  *exec.Cmd
	Done chan struct{} // closed when it has ended
	Log  *Output
}

// StartProcess starts a program; it is killed at the end of the test.
func StartProcess(t testing.TB, cmd *exec.Cmd) *Process {
	t.Helper()
	p := &Process{Cmd: cmd, Done: make(chan struct{}), Log: &Output{}}
	cmd.Stderr = p.Log
	if cmd.Stdout == nil {
		cmd.Stdout = p.Log
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		_ = cmd.Wait() // how it ended is the test's to know
		close(p.Done)
	}()
	t.Cleanup(func() {
		p.Kill(t)
		if t.Failed() {
			t.Logf("%s said:\n%s", filepath.Base(cmd.Path), p.Log.Tail(4000))
		}
	})
	return p
}

// Kill ends it as a power cut would.
func (p *Process) Kill(t testing.TB) { p.End(t, syscall.SIGKILL) }

// End sends a signal and waits for the end.
func (p *Process) End(t testing.TB, sig syscall.Signal) {
	t.Helper()
	_ = p.Cmd.Process.Signal(sig) // it may have ended
	labtest.Closed(t, p.Done, "the end of "+filepath.Base(p.Cmd.Path))
}

// Output is what a program has written so far.
type Output struct {
	mu sync.Mutex
	b  bytes.Buffer
}

// Write implements io.Writer.
func (l *Output) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

// Tail is the end of it, n bytes at most.
func (l *Output) Tail(n int) string {
	l.mu.Lock()
	defer l.mu.Unlock()
	s := l.b.String()
	return s[max(0, len(s)-n):]
}

// Ended tells whether a program has ended.
func Ended(p *Process) bool {
	select {
	case <-p.Done:
		return true
	default:
		return false
	}
}

// FreePort gives a port that nobody listens on.
func FreePort(t testing.TB) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}

// Listens tells whether somebody listens at an address.
func Listens(addr string) bool {
	c, err := net.DialTimeout("tcp", addr, time.Second)
	if err != nil {
		return false
	}
	c.Close()
	return true
}

// PassThrough lets the database's own user reach a folder of a test of root.
func PassThrough(t *testing.T, path string) {
	t.Helper()
	for dir := filepath.Dir(path); strings.HasPrefix(dir, os.TempDir()+"/"); dir = filepath.Dir(dir) {
		if err := os.Chmod(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
}
