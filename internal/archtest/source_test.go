package archtest

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// source is one Go file of ours.
type source struct {
	path    string // from the root, with slashes
	dir     string
	test    bool
	lines   int
	ignored bool // left out of every build by a tag
	set     *token.FileSet
	file    *ast.File
	imports []string
}

// root finds the folder of go.mod.
func root(t *testing.T) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("no go.mod above the test's folder")
		}
		dir = up
	}
}

// sources parses all our Go files.
func sources(t *testing.T) []source {
	t.Helper()
	top := root(t)
	var out []source
	err := filepath.WalkDir(top, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && path != top && (strings.HasPrefix(d.Name(), ".") || d.Name() == "node_modules") {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(path, ".go") {
			return nil
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(top, path)
		if err != nil {
			return err
		}
		s, err := parse(filepath.ToSlash(rel), b)
		out = append(out, s)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(out) < 20 {
		t.Fatalf("found only %d Go files under %s", len(out), top)
	}
	return out
}

func parse(path string, b []byte) (source, error) {
	s := source{path: path, test: strings.HasSuffix(path, "_test.go"), lines: bytes.Count(b, []byte("\n"))}
	if i := strings.LastIndex(path, "/"); i >= 0 {
		s.dir = path[:i]
	}
	s.set = token.NewFileSet()
	f, err := parser.ParseFile(s.set, path, b, parser.ParseComments)
	if err != nil {
		return s, err
	}
	s.file = f
	for _, group := range f.Comments {
		for _, c := range group.List {
			s.ignored = s.ignored || c.Pos() < f.Package && strings.HasPrefix(c.Text, "//go:build ignore")
		}
	}
	for _, i := range f.Imports {
		p, err := strconv.Unquote(i.Path.Value)
		if err != nil {
			return s, err
		}
		s.imports = append(s.imports, p)
	}
	return s, nil
}

// under tells whether a folder or import path is at or below another.
func under(path, at string) bool { return path == at || strings.HasPrefix(path, at+"/") }

// committed lists what is, or is about to be, committed: all tracked files,
// or where there is no repository all files.
func committed(t *testing.T) []string {
	t.Helper()
	top := root(t)
	cmd := exec.Command("git", "ls-files", "-z")
	cmd.Dir = top
	if b, err := cmd.Output(); err == nil {
		return slices.DeleteFunc(strings.Split(string(b), "\x00"), func(s string) bool { return s == "" })
	}
	var out []string
	err := filepath.WalkDir(top, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == ".git" || d.Name() == "node_modules") {
			return fs.SkipDir
		}
		if !d.IsDir() {
			rel, err := filepath.Rel(top, path)
			if err != nil {
				return err
			}
			out = append(out, filepath.ToSlash(rel))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}
