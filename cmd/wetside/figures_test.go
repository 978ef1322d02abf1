package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	sheetbook "wetside/internal/process"
)

// printed runs a command that must succeed and gives what it prints.
func printed(t *testing.T, args ...string) string {
	t.Helper()
	var out, err bytes.Buffer
	if code := run(t.Context(), args, streams{in: strings.NewReader(""), out: &out, err: &err}); code != exitDone {
		t.Fatalf("%v: exit %d: %s", args, code, err.String())
	}
	return out.String()
}

// A line for every figure, each with how far its source goes in three words or
// fewer; what a lab changed is its own.
func TestFiguresArePrintedWithTheirSources(t *testing.T) {
	t.Parallel()
	standings := []string{sheetbook.Published, sheetbook.Quoted, sheetbook.Unconfirmed, sheetbook.LabsOwn}
	says := func(line string) bool {
		for _, s := range standings {
			if strings.Contains(line, "  "+s) {
				return true
			}
		}
		return false
	}
	sheets, figures := printed(t, "sheets"), printed(t, "figures")
	n := 0
	for _, text := range []string{sheets, figures} {
		for line := range strings.Lines(text) {
			if strings.TrimSpace(line) == "" || strings.Contains(line, "): ") && !strings.Contains(line, "  ") || strings.Contains(line, "  note  ") {
				continue // the head of a sheet, or when a figure holds
			}
			if n++; !says(line) {
				t.Errorf("no standing in %q", line)
			}
		}
	}
	if n < 220 {
		t.Errorf("%d figures are printed", n)
	}
	dir := t.TempDir()
	for name, text := range map[string]string{"figures.yaml": "silent_s: 120\n", "sheets/c41.yaml": "id: c41\nsteps: [{id: fixer, least_s: 240}]\n"} {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, x := range []struct{ text, line, value string }{
		{printed(t, "sheets", "c41", "--rules", dir), "fixer", "4:00"},
		{printed(t, "figures", "--rules", dir), "silent_s ", "120"},
	} {
		found := false
		for line := range strings.Lines(x.text) {
			found = found || strings.HasPrefix(line, x.line) && strings.Contains(line, "  "+x.value+" ") && strings.Contains(line, sheetbook.LabsOwn)
		}
		if !found {
			t.Errorf("%s %s is not the lab's own in:\n%s", x.line, x.value, x.text)
		}
	}
}
