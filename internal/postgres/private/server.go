package private

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"time"
)

// server is the server process, our child or an adopted one.
type server struct {
	pid  int
	data string
	done chan struct{} // closed when our child ended; nil for an adopted one
}

// orphanWait is how long the children of a killed server have to notice.
const orphanWait = 30 * time.Second

// maxLog is the size at which the server's log is begun anew.
const maxLog = 16 << 20

// durable are the settings of every private cluster: durable (fsync and
// synchronous_commit stay on), no network, sized for a small lab.
var durable = map[string]string{
	"listen_addresses":           "",
	"port":                       "5432",
	"fsync":                      "on",
	"synchronous_commit":         "on",
	"full_page_writes":           "on",
	"max_connections":            "60",
	"jit":                        "off", // needs memory that is written and run, which the systemd unit refuses
	"shared_buffers":             "128MB",
	"max_wal_size":               "1GB",
	"timezone":                   "UTC",
	"log_timezone":               "UTC",
	"log_checkpoints":            "off",
	"dynamic_shared_memory_type": "mmap", // survives small /dev/shm of containers
}

// launch starts the server as a child that outlives us.
func (c *Cluster) launch(ctx context.Context, cfg Config, bin binaries, who owner) error {
	if err := clearStale(ctx, c.l); err != nil {
		return err
	}
	// The server writes to the file itself: a pipe to us would break with us.
	out, err := openLog(c.l.log)
	if err != nil {
		return err
	}
	defer out.Close()
	// without the context: the server must not be killed when it ends
	cmd := exec.Command(bin.path("postgres"), arguments(c.l, cfg.Settings)...)
	cmd.Env, cmd.Dir, cmd.Stdout, cmd.Stderr = environment(), "/", out, out
	cmd.SysProcAttr = who.attributes()
	if cfg.EndWithProcess {
		diesWithUs(cmd.SysProcAttr)
	}
	s := &server{data: c.l.data, done: make(chan struct{})}
	started := make(chan error, 1)
	go func() {
		// The signal at our end is sent when the starting thread ends, so the
		// thread is kept for as long as the server runs.
		runtime.LockOSThread()
		err := cmd.Start()
		if err == nil {
			s.pid = cmd.Process.Pid
		}
		started <- err
		if err == nil {
			_ = cmd.Wait() // how it ended is in its log
		}
		close(s.done)
	}()
	if err := <-started; err != nil {
		return err
	}
	c.server = s
	return nil
}

func arguments(l layout, more map[string]string) []string {
	all := map[string]string{"unix_socket_directories": l.socket}
	for _, m := range []map[string]string{durable, more} {
		for k, v := range m {
			all[k] = v
		}
	}
	args := []string{"-D", l.data}
	keys := make([]string, 0, len(all))
	for k := range all {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for _, k := range keys {
		args = append(args, "-c", k+"="+all[k])
	}
	return args
}

// clearStale removes the lock files of a server that is gone. PostgreSQL does
// it too, but not when the number is another process by now, or a dead one
// that nobody asked for. The file is what keeps a new server from the data
// while children of the killed one still write, so they are waited for first.
func clearStale(ctx context.Context, l layout) error {
	if _, err := os.Stat(l.pidFile()); err != nil || l.running() != 0 {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, orphanWait)
	defer cancel()
	for orphan := inhabitant(l.data); orphan != 0; orphan = inhabitant(l.data) {
		if orphan < 0 {
			return nil // cannot be told here: left to PostgreSQL
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("process %d of a killed server still works in %s; end it", orphan, l.data)
		case <-time.After(readyPoll):
		}
	}
	for _, path := range []string{l.pidFile(), filepath.Join(l.socket, socketFile+".lock"), filepath.Join(l.socket, socketFile)} {
		if err := os.Remove(path); err != nil && !os.IsNotExist(err) {
			return fmt.Errorf("remove what a killed server left: %w", err)
		}
	}
	return nil
}

func openLog(path string) (*os.File, error) {
	flags := os.O_CREATE | os.O_WRONLY | os.O_APPEND
	if st, err := os.Stat(path); err == nil && st.Size() > maxLog {
		flags |= os.O_TRUNC
	}
	return os.OpenFile(path, flags, 0o600)
}

func (s *server) ended() bool {
	if s.done == nil {
		return !isServer(s.pid, s.data)
	}
	select {
	case <-s.done:
		return true
	default:
		return false
	}
}

// How long a server has to end: in order (it disconnects clients and writes a
// checkpoint), then at once (the next start recovers).
const (
	stopInOrder = 60 * time.Second
	stopAtOnce  = 10 * time.Second
)

// stop ends the server and waits for it.
func (s *server) stop() {
	for _, step := range []struct {
		sig  syscall.Signal
		wait time.Duration
	}{{syscall.SIGINT, stopInOrder}, {syscall.SIGQUIT, stopAtOnce}, {syscall.SIGKILL, stopAtOnce}} {
		if s.ended() {
			return
		}
		_ = syscall.Kill(s.pid, step.sig) // it may have ended meanwhile
		ctx, cancel := context.WithTimeout(context.Background(), step.wait)
		ended := s.await(ctx)
		cancel()
		if ended {
			return
		}
	}
}

func (s *server) await(ctx context.Context) bool {
	for !s.ended() {
		select {
		case <-ctx.Done():
			return false
		case <-s.done: // nil and never for an adopted one
		case <-time.After(readyPoll):
		}
	}
	return true
}

// logTail gives the last lines of the server's log.
func logTail(path string) string {
	f, err := os.Open(path)
	if err != nil {
		return "(not readable)"
	}
	defer f.Close()
	if st, err := f.Stat(); err == nil && st.Size() > 2048 {
		_, _ = f.Seek(-2048, io.SeekEnd) // else the whole is read
	}
	b, _ := io.ReadAll(f)
	lines := strings.Split(string(bytes.TrimSpace(b)), "\n")
	return strings.Join(lines[max(0, len(lines)-6):], " | ")
}

func logEndsWith(path, text string) bool { return strings.Contains(logTail(path), text) }
