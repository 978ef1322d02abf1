package private

import (
	"bytes"
	"fmt"
	"os"
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
