package bench

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"wetside/internal/postgres/pgtest"
)

// long tells whether everything is measured, as by make bench, or the short
// form of make test.
var long = os.Getenv("WETSIDE_BENCH") == "long"

// patience is how long anything may take before it counts as broken.
const patience = 5 * time.Minute

func TestMain(m *testing.M) {
	pgtest.Main(m, func() {
		endCluster()
		fmt.Print(table.text())
		drawn()
		if built.dir != "" {
			os.RemoveAll(built.dir)
		}
	})
}

// of gives what the long form takes, or the short one.
func of[T any](whole, short T) T {
	if long {
		return whole
	}
	return short
}

// inLong leaves a row to make bench: make test has room for seconds.
func inLong(t *testing.T) {
	t.Helper()
	if !long {
		t.Skip("a row of make bench alone")
	}
}

// built is the program as people get it, without the race detector.
var built struct {
	sync.Once
	dir string
	err error
}

func wetside(t testing.TB) string {
	t.Helper()
	built.Do(func() {
		if built.dir, built.err = os.MkdirTemp("", "wetside-bench-"); built.err != nil {
			return
		}
		out, err := exec.Command("go", "build", "-trimpath", "-o", filepath.Join(built.dir, "wetside"), "wetside/cmd/wetside").CombinedOutput()
		if err != nil {
			built.err = fmt.Errorf("go build: %w: %s", err, out)
		}
	})
	if built.err != nil {
		t.Fatal(built.err)
	}
	return filepath.Join(built.dir, "wetside")
}

// poll looks until ok, as often as every tells.
func poll(t testing.TB, what string, every time.Duration, ok func() bool) {
	t.Helper()
	tick := time.NewTicker(every)
	defer tick.Stop()
	for end := time.Now().Add(patience); !ok(); <-tick.C {
		if time.Now().After(end) {
			t.Fatalf("waiting until %s: not within %v", what, patience)
		}
	}
}

// take lets time pass: how long something is measured, nothing is waited for.
func take(d time.Duration) { <-time.After(d) }
