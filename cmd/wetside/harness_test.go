package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"wetside/internal/postgres/pgtest"
)

func TestMain(m *testing.M) {
	pgtest.Main(m, func() {
		if built.path != "" {
			os.RemoveAll(filepath.Dir(built.path))
		}
	})
}

// run1 runs one command in this process.
func run1(t *testing.T, stdin string, args ...string) (code int, out, errOut string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	var o, e bytes.Buffer
	code = run(ctx, args, streams{in: strings.NewReader(stdin), out: &o, err: &e})
	return code, o.String(), e.String()
}

// built is the program as people get it, without the race detector: it must
// keep up with the load.
var built struct {
	sync.Once
	path string
	err  error
}

func binary(t testing.TB) string {
	t.Helper()
	built.Do(func() {
		dir, err := os.MkdirTemp("", "wetside-e2e-")
		if err != nil {
			built.err = err
			return
		}
		built.path = filepath.Join(dir, "wetside")
		if out, err := exec.Command("go", "build", "-o", built.path, ".").CombinedOutput(); err != nil {
			built.err = fmt.Errorf("go build: %w: %s", err, out)
		}
	})
	if built.err != nil {
		t.Fatal(built.err)
	}
	return built.path
}
