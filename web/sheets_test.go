package web

import (
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"wetside/internal/lab"
	"wetside/internal/process"
)

func init() {
	add := func(op, method, path, role, body string, want int) {
		calls = append(calls, struct {
			op, method, path, role, body string
			want                         int
		}{op, method, path, role, body, want})
	}
	add("list-sheets", "GET", "/sheets", "viewer", "", 200)
	add("change-sheet", "PUT", "/sheets/c41", "lead", `{"text":"id: c41\nname: C-41 of the house"}`, 200)
	add("change-sheet", "PUT", "/sheets/c41", "lead", `{"text":""}`, 200)
	add("change-sheet", "PUT", "/sheets/c41", "lead", `{"text":"id: c41\nsteps: [{id: developer, aim_c: 90}]"}`, 422)
	add("change-sheet", "PUT", "/sheets/none", "lead", `{"text":""}`, 422)
}

// shelf is a lab's sheets in memory.
type shelf struct {
	library *process.Library
	changes []lab.SheetChange
}

func newShelf() *shelf { return &shelf{library: builtinLibrary()} }

func (s *shelf) Library() *process.Library { return s.library }

func (s *shelf) ChangeSheet(_ context.Context, c lab.SheetChange) error {
	l, err := s.library.With(process.SheetChange{ID: c.Process, Body: []byte(c.Text), From: c.At.Time})
	if err != nil {
		return lab.Errorf(lab.KindInvalid, "%w", err)
	}
	s.library, s.changes = l, append(s.changes, c)
	return nil
}

func (s *shelf) SheetChanges(context.Context) ([]lab.SheetChange, error) { return s.changes, nil }

// TestSheetIsChanged: the figures shown are those in force, with who changed
// them; where a figure comes from memory, it says so.
func TestSheetIsChanged(t *testing.T) {
	x := newSite(t, newShop().stock(), func(c *Config) { c.Sheets = newShelf() })
	resp, b := x.do("PUT", apiBase+"/sheets/c41", "lead", `{"text":"id: c41\nsteps: [{id: developer, aim_s: 190}]"}`)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%d %s", resp.StatusCode, b)
	}
	var v SheetView
	if err := json.Unmarshal(b, &v); err != nil {
		t.Fatal(err)
	}
	if *v.Steps[0].AimS != 190 || len(v.History) != 1 || v.History[0].By != "the lead" || v.Text == "" {
		t.Errorf("got %s", b)
	}
	if !strings.Contains(string(b), `"memory":true`) {
		t.Error("no figure says that it is from memory")
	}
}
