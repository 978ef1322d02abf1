package private

import (
	"bytes"
	"fmt"
	"os"
	"strconv"
	"syscall"
)

// isServer tells whether pid is a PostgreSQL server on the data folder. A
// server is started with its folder on the command line.
func isServer(pid int, data string) bool {
	line, err := os.ReadFile(fmt.Sprintf("/proc/%d/cmdline", pid))
	if err != nil || !bytes.Contains(line, append([]byte(data), 0)) {
		return false
	}
	return !isZombie(pid)
}

// inhabitant gives a process that works in the data folder, as every process
// of a server does; 0 where there is none, -1 where it cannot be told.
func inhabitant(data string) int {
	entries, err := os.ReadDir("/proc")
	if err != nil {
		return -1
	}
	for _, e := range entries {
		pid, err := strconv.Atoi(e.Name())
		if err != nil {
			continue
		}
		if cwd, err := os.Readlink(fmt.Sprintf("/proc/%d/cwd", pid)); err == nil && cwd == data {
			return pid
		}
	}
	return 0
}

// isZombie: ended, but nobody has asked for its exit status yet.
func isZombie(pid int) bool {
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return true
	}
	_, after, ok := bytes.Cut(stat, []byte(") "))
	return ok && len(after) > 0 && (after[0] == 'Z' || after[0] == 'X')
}

// diesWithUs makes the kernel end the server when the thread that started it
// ends.
func diesWithUs(attr *syscall.SysProcAttr) { attr.Pdeathsig = syscall.SIGQUIT }
