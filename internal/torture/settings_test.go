package torture

import (
	"cmp"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"wetside/internal/labtest"
	"wetside/internal/postgres/pgtest"
)

func TestMain(m *testing.M) {
	pgtest.Main(m, func() {
		fmt.Print(table.text())
		if built.dir != "" {
			os.RemoveAll(built.dir)
		}
	})
}

// setting reads a whole number that make torture passes on; short is that of
// make test.
func setting(name string, short int) int {
	return cmp.Or(labtest.Setting("WETSIDE_TORTURE_"+name), short)
}

var (
	tries   = setting("TRIES", 1)   // of each fault
	minutes = setting("MINUTES", 0) // that memory is watched; 0: ten seconds
	seed    = setting("SEED", 1)
	long    = minutes > 0 || tries > 1
)

// patience is how long anything may take before it counts as broken: more
// than any pause between tries that wetside makes.
const patience = 2 * time.Minute

// built is the program as people get it, without the race detector.
var built struct {
	sync.Once
	dir string
	err error
}

func binary(t testing.TB) string {
	t.Helper()
	built.Do(func() {
		if built.dir, built.err = os.MkdirTemp("", "wetside-torture-"); built.err != nil {
			return
		}
		cmd := exec.Command("go", "build", "-o", filepath.Join(built.dir, "wetside"), "wetside/cmd/wetside")
		if out, err := cmd.CombinedOutput(); err != nil {
			built.err = fmt.Errorf("go build: %w: %s", err, out)
		}
	})
	if built.err != nil {
		t.Fatal(built.err)
	}
	return filepath.Join(built.dir, "wetside")
}

// growsTo waits until have gives n. A slow machine takes as long as it takes:
// only what does not grow for as long as anything may take is broken.
func growsTo(n int, have func() int) bool {
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	last, end := -1, time.Now().Add(patience)
	for ; ; <-tick.C {
		now := have()
		if now >= n {
			return true
		}
		if now > last {
			last, end = now, time.Now().Add(patience)
		}
		if time.Now().After(end) {
			return false
		}
	}
}

// eventually waits until ok is true, looking every 20 ms: what is waited for
// is another process.
func eventually(t testing.TB, what string, ok func() bool) {
	t.Helper()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for end := time.Now().Add(patience); !ok(); <-tick.C {
		if time.Now().After(end) {
			t.Fatalf("%s: not within %v", what, patience)
		}
	}
}
