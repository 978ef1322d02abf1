package labtest

import (
	"os/exec"
	"testing"
)

// Need finds a program that a test cannot do without, such as a broker, and
// fails the test in one line where it is not installed: a test that is skipped
// for want of it proves nothing. debian is the package that has it.
func Need(t testing.TB, name, debian string) string {
	t.Helper()
	for _, path := range []string{name, "/usr/sbin/" + name} { // not in everybody's PATH
		if found, err := exec.LookPath(path); err == nil {
			return found
		}
	}
	t.Fatalf("%s is not installed; make test installs it (Debian package %s)", name, debian)
	return ""
}
