package timeline_test

import (
	"flag"
	"os"
	"testing"
)

// checks is how many cases a property is tried on in a plain run, which the
// race detector makes slow; `make trials` tries many more.
const checks = "8"

func TestMain(m *testing.M) {
	flag.Parse()
	if f := flag.Lookup("rapid.checks"); f.Value.String() == f.DefValue {
		if err := f.Value.Set(checks); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}
