package archtest

import (
	"go/ast"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// The pure packages start no goroutine: that is why the makefile may test them
// whole without the race detector, and in short with it.
func TestPurePackagesStartNoGoroutine(t *testing.T) {
	looked := 0
	for _, s := range sources(t) {
		if s.test || s.ignored || !slices.Contains(pure, s.dir) {
			continue
		}
		looked++
		ast.Inspect(s.file, func(n ast.Node) bool {
			if startsGoroutine(n) {
				t.Errorf("%s starts a goroutine; it is pure", s.path)
			}
			return true
		})
	}
	if looked < len(pure) {
		t.Fatalf("only %d files of %d pure packages were looked at", looked, len(pure))
	}
}

// startsGoroutine knows the statement, and the method of a WaitGroup.
func startsGoroutine(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.GoStmt:
		return true
	case *ast.CallExpr:
		f, ok := n.Fun.(*ast.SelectorExpr)
		return ok && f.Sel.Name == "Go"
	}
	return false
}

// The makefile's list is this one.
func TestTheMakefileKnowsThePurePackages(t *testing.T) {
	b, err := os.ReadFile(filepath.Join(root(t), "Makefile"))
	if err != nil {
		t.Fatal(err)
	}
	line := regexp.MustCompile(`(?m)^PURE := (.*)$`).FindSubmatch(b)
	if line == nil {
		t.Fatal("the makefile has no list of pure packages")
	}
	listed := strings.Fields(string(line[1]))
	for i, p := range listed {
		listed[i] = strings.TrimPrefix(p, "./")
	}
	slices.Sort(listed)
	if want := slices.Sorted(slices.Values(pure)); !slices.Equal(listed, want) {
		t.Errorf("PURE in the makefile is %v; want %v", listed, want)
	}
}
