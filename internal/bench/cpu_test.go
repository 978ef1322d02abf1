package bench

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// tickLength is the unit of /proc/*/stat: USER_HZ, 100 a second on Linux.
const tickLength = 10 * time.Millisecond

// cpuOf is what processes have used, and what those that they waited for have.
func cpuOf(pids ...int) (used time.Duration) {
	for _, pid := range pids {
		f := statOf(pid)
		if f == nil {
			continue // it has ended: who waited for it counts it
		}
		for _, i := range []int{11, 12, 13, 14} { // utime, stime, cutime, cstime: proc(5), without pid and name
			n, _ := strconv.ParseInt(f[i], 10, 64)
			used += time.Duration(n) * tickLength
		}
	}
	return used
}

// statOf are the fields behind the name, nil where there is no such process.
func statOf(pid int) []string {
	b, err := os.ReadFile(filepath.Join("/proc", strconv.Itoa(pid), "stat"))
	if err != nil {
		return nil
	}
	_, rest, ok := strings.Cut(string(b), ") ")
	if f := strings.Fields(rest); ok && len(f) > 14 {
		return f
	}
	return nil
}

// family is a process and its children.
func family(pid int) []int {
	all := []int{pid}
	names, _ := os.ReadDir("/proc")
	for _, n := range names {
		child, err := strconv.Atoi(n.Name())
		if err != nil {
			continue
		}
		if f := statOf(child); f != nil && f[1] == strconv.Itoa(pid) {
			all = append(all, child)
		}
	}
	return all
}

// own is what this process has used.
func own() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
