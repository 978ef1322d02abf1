package archtest

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const maxLines = 600

// rowFor finds the row of a folder.
func rowFor(dir string) (row, bool) {
	best, ok := row{}, false
	for _, r := range table {
		if under(dir, r.at) && len(r.at) > len(best.at) {
			best, ok = r, true
		}
	}
	return best, ok
}

// isHelper tells whether a folder is for tests.
func isHelper(dir string) bool {
	return slices.ContainsFunc(helpers, func(h string) bool { return under(dir, h) })
}

// wrongImport says what is wrong with an import, "" where nothing is.
func wrongImport(dir, path string) string {
	if ours, ok := strings.CutPrefix(path, module); ok {
		r, known := rowFor(dir)
		if !known {
			return "has no row in the import table"
		}
		for _, h := range helpers {
			if under(ours, h) && !under(dir, h) && !isHelper(dir) {
				return "imports " + ours + ", which is for tests"
			}
		}
		if under(ours, r.at) || slices.ContainsFunc(r.may, func(m string) bool { return under(ours, m) }) {
			return ""
		}
		return "may not import " + ours + ": " + r.notes
	}
	for _, o := range outside {
		if under(path, o.prefix) && !slices.ContainsFunc(o.only, func(m string) bool { return under(dir, m) }) &&
			!isHelper(dir) {
			return "may not import " + path + ": " + o.notes
		}
	}
	if slices.Contains(pure, dir) && slices.ContainsFunc(impure, func(p string) bool { return under(path, p) }) {
		return "may not import " + path + ": it is pure"
	}
	return ""
}

func TestImports(t *testing.T) {
	for _, s := range sources(t) {
		if s.test || s.ignored {
			continue
		}
		for _, path := range s.imports {
			if wrong := wrongImport(s.dir, path); wrong != "" {
				t.Errorf("%s: %s", s.path, wrong)
			}
		}
	}
}

// The table itself: what it must refuse and what it must allow.
func TestTheTableHolds(t *testing.T) {
	for _, c := range []struct {
		dir, path string
		ok        bool
	}{
		{"rules", module + "internal/lab", true},
		{"rules", module + "alerts", false},
		{"rules/timeline", module + "rules", true},
		{"rules/timeline", module + "internal/process", false},
		{"rules/timeline", "net", false},
		{"rules", "os", false},
		{"rules", "net/http", false},
		{"rules", "math", true},
		{"web", module + "internal/postgres", false},
		{"web", module + "internal/process", true},
		{"alerts", module + "rules", false},
		{"ingest/broker", module + "ingest", true},
		{"ingest", module + "internal/labtest", false},
		{"internal/monitor/watch", module + "rules", true},
		{"internal/monitor/watch", module + "internal/postgres", false},
		{"internal/postgres/private", module + "internal/lab", true},
		{"internal/postgres", "github.com/jackc/pgx/v5/pgxpool", true},
		{"web", "github.com/jackc/pgx/v5", false},
		{"web", module + "web/live", true},
		{"web/live", module + "web/access", true},
		{"web/live", module + "web", false},
		{"web/access", module + "web", false},
		{"web/access", module + "web/live", false},
		{"web", module + "web/access/accesstest", false},
		{"web/live", "github.com/gorilla/websocket", true},
		{"web", "github.com/gorilla/websocket", false},
		{"internal/monitor/watch", "github.com/gorilla/websocket", false},
		{"cmd/wetside", module + "internal/simulation/sim", true},
		{"cmd/wetside", module + "internal/postgres/pgtest", false},
		{"cmd/wetside", module + "internal/monitor", true},
		{"cmd/wetside", module + "alerts", false},
		{"cmd/wetside", module + "ingest", false},
		{"cmd/wetside", module + "internal/monitor/monitortest", false},
		{"internal/monitor", module + "internal/simulation/sim", false},
		{"internal/monitor", module + "ingest/broker", true},
		{"internal/monitor/monitortest", module + "internal/postgres/pgtest", true},
		{"internal/monitor/listener", module + "internal/monitor", false},
		{"web", "pgregory.net/rapid", false},
		{"alerts/notify", "github.com/emersion/go-smtp", false},
		{"elsewhere", module + "internal/lab", false},
	} {
		if wrong := wrongImport(c.dir, c.path); (wrong == "") != c.ok {
			t.Errorf("%s imports %s: %q; want allowed %v", c.dir, c.path, wrong, c.ok)
		}
	}
}

func TestEveryPackageSaysWhatItIsFor(t *testing.T) {
	said, seen := map[string]bool{}, map[string]string{}
	for _, s := range sources(t) {
		if s.test || s.ignored {
			continue
		}
		seen[s.dir] = s.file.Name.Name
		if s.file.Doc != nil && len(strings.Fields(s.file.Doc.Text())) >= 5 {
			said[s.dir] = true
		}
	}
	for dir, name := range seen {
		if !said[dir] {
			t.Errorf("%s: package %s has no comment that says what it is for", dir, name)
		}
	}
}

func TestFilesStayReadable(t *testing.T) {
	for _, s := range sources(t) {
		if s.lines > maxLines {
			t.Errorf("%s has %d lines; want at most %d", s.path, s.lines, maxLines)
		}
	}
}

// What the program links, by the go command itself.
func TestNoTestCodeInTheProgram(t *testing.T) {
	top := root(t)
	if _, err := os.Stat(filepath.Join(top, "cmd")); os.IsNotExist(err) {
		t.Skip("there is no cmd yet")
	}
	cmd := exec.Command("go", "list", "-deps", "./cmd/...")
	cmd.Dir = top
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v\n%s", err, stderr.Bytes())
	}
	deps := strings.Fields(string(out))
	if !slices.Contains(deps, module+"internal/lab") {
		t.Fatal("the program does not link internal/lab: this test looks at the wrong thing")
	}
	for _, dep := range deps {
		ours, _ := strings.CutPrefix(dep, module)
		switch {
		case dep == "testing", strings.HasPrefix(dep, "testing/"):
			t.Errorf("the program links %s", dep)
		case slices.Contains(helpers, ours):
			t.Errorf("the program links %s, which is for tests", ours)
		}
	}
}

// forbidden are words of the machine that the tests run on, and what a lock
// file says of where packages were fetched from.
func forbidden(t *testing.T, top string) []string {
	home, err := os.UserHomeDir()
	if err != nil {
		t.Fatal(err)
	}
	words := []string{filepath.ToSlash(top) + "/", `"resol` + `ved": "http`}
	if len(home) > 1 { // "/" would be in every file
		words = append(words, filepath.ToSlash(home)+"/")
	}
	return words
}

func TestNothingOfTheWorkplaceIsCommitted(t *testing.T) {
	top := root(t)
	words := forbidden(t, top)
	for _, path := range committed(t) {
		b, err := os.ReadFile(filepath.Join(top, filepath.FromSlash(path)))
		if os.IsNotExist(err) {
			continue // deleted, not yet committed
		}
		if err != nil {
			t.Fatal(err)
		}
		if len(b) > 4<<20 || bytes.IndexByte(b[:min(len(b), 8000)], 0) >= 0 {
			continue // not text
		}
		for _, word := range words {
			if at := bytes.Index(b, []byte(word)); at >= 0 {
				t.Errorf("%s line %d names %q", path, 1+bytes.Count(b[:at], []byte("\n")), word)
			}
		}
	}
}
