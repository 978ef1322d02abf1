package torture

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"wetside/internal/lab"
)

// disk is a small file system of its own, which can be filled.
type disk struct {
	path    string
	ballast string
}

const diskSize = 600 << 20

// newDisk mounts one; only root may.
func newDisk(t *testing.T) *disk {
	t.Helper()
	path := filepath.Join(shortDir(t), "disk")
	if err := os.Mkdir(path, 0o755); err != nil {
		t.Fatal(err)
	}
	err := syscall.Mount("wetside-test", path, "tmpfs", 0, fmt.Sprintf("size=%d,mode=755", diskSize))
	if errors.Is(err, syscall.EPERM) || errors.Is(err, syscall.EACCES) {
		t.Skip("a disk of its own can be mounted by root only: ", err)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(path, syscall.MNT_DETACH); err != nil {
			t.Errorf("the disk is not unmounted: %v", err)
		}
	})
	return &disk{path: path, ballast: filepath.Join(path, "somebody's film scans")}
}

func (d *disk) free(t testing.TB) int64 {
	t.Helper()
	var st syscall.Statfs_t
	if err := syscall.Statfs(d.path, &st); err != nil {
		t.Fatal(err)
	}
	return int64(st.Bavail) * st.Bsize
}

// fill leaves so much room.
func (d *disk) fill(t testing.TB, leave int64) {
	t.Helper()
	f, err := os.OpenFile(d.ballast, os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	chunk := make([]byte, 64<<10)
	for d.free(t) > leave {
		if _, err := f.Write(chunk); err != nil {
			if errors.Is(err, syscall.ENOSPC) {
				return
			}
			t.Fatal(err)
		}
	}
}

// The disk under everything that wetside keeps becomes short of room, then
// full, then has room again: it is told, somebody is called, what units send
// waits with them, and all goes on by itself. Each try has a lab of its own:
// a disk that is short again within moments is the same alert, and calls
// nobody anew.
func TestDiskFull(t *testing.T) {
	all := row{fault: "its disk becomes full"}
	for n := range tries {
		t.Run(fmt.Sprint(n+1), func(t *testing.T) { all.plus(diskFills(t)) })
	}
	table.add(all)
}

func diskFills(t *testing.T) row {
	d := newDisk(t)
	s := newSite(t, parts{embedded: true, data: filepath.Join(d.path, "data")})
	r := row{fault: "its disk becomes full", tries: 1}
	raws := telemetry(t, 3000)
	l := newLine(t, s.broker)
	s.told.take()
	next := 0
	send := func(n int) {
		for ; n > 0; n-- {
			l.send(raws[next])
			next++
		}
	}
	send(500)
	l.settle(t, next)
	d.fill(t, diskSize*8/100)
	eventually(t, "the board tells that room is short", func() bool { return s.fault(lab.FaultDisk) != "" })
	if calls := s.monitorCalls(lab.FaultDisk); calls != 0 {
		t.Errorf("at 8 %% free somebody was called")
	}
	d.fill(t, diskSize*4/100)
	eventually(t, "somebody is called about the disk", func() bool { return s.monitorCalls(lab.FaultDisk) == 1 })
	acked := l.acked.Load()
	d.fill(t, 0)
	send(1000)
	full(t, s, l)
	if got := l.acked.Load(); got >= int64(next) {
		t.Errorf("all %d messages were acknowledged with the disk full (%d before)", got, acked)
	}
	if err := os.Remove(d.ballast); err != nil {
		t.Fatal(err)
	}
	r.recovery = append(r.recovery, s.recovers())
	l.settle(t, next)
	eventually(t, "the board no longer tells of the disk", func() bool { return s.fault(lab.FaultDisk) == "" })
	send(len(raws) - next)
	l.settle(t, len(raws))
	r.told = s.told.take()
	s.proof(&r, raws)
	return r
}

// full lasts until nothing more is acknowledged and the program says why: that
// it does not watch, or, where the broker turns units away for its full store
// before wetside's own session meets it, on the board, where it was told
// before.
func full(t *testing.T, s *site, l *line) {
	t.Helper()
	still, since := time.Now().Add(patience), time.Now()
	for last := l.acked.Load(); ; <-tick() {
		code, _ := s.readiness()
		now := l.acked.Load()
		if now != last {
			last, since = now, time.Now()
		} else if code != 200 || time.Since(since) > turnedAway && s.fault(lab.FaultDisk) != "" {
			<-time.After(lasts()) // the fault itself
			return
		}
		if time.Now().After(still) {
			t.Fatalf("with the disk full /readyz answers %d and %d messages are acknowledged", code, now)
		}
	}
}

// turnedAway is after how long without an acknowledgement units are turned away.
const turnedAway = 10 * time.Second

// fault is what the board tells of one, "" where it tells nothing.
func (s *site) fault(code string) string {
	var status lab.DutyStatus
	if s.get("/api/v1/duty/status", &status) != nil {
		return ""
	}
	i := slices.IndexFunc(status.Faults, func(f lab.DutyFault) bool { return f.Code == code })
	if i < 0 {
		return ""
	}
	return status.Faults[i].Text
}

// monitorCalls counts the pages about a fault of the monitor's own.
func (s *site) monitorCalls(code string) int {
	seen := map[string]bool{}
	for _, p := range s.hook.all() {
		if strings.Contains(p.Item.Rule, code) {
			seen[fmt.Sprint(p.Item.AlertID, p.Item.Occurrence)] = true
		}
	}
	return len(seen)
}
