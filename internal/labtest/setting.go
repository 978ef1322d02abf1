package labtest

import (
	"os"
	"strconv"
)

// Setting is a whole number above nought that a make target passes on in the
// environment, 0 where it does not.
func Setting(name string) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil && n > 0 {
		return n
	}
	return 0
}
