package web

import (
	"context"
	"encoding/json"
	"net/http"
	"slices"
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
	add("get-figure-changes", "GET", "/figure-changes", "viewer", "", 200)
	add("see-figure-changes", "POST", "/figure-changes/seen", "lead", `{"lot":999999}`, 422)
	add("see-figure-changes", "POST", "/figure-changes/seen", "lead", `{"lot":1}`, 200)
	add("list-rule-figures", "GET", "/rule-figures", "viewer", "", 200)
}

func (s *shop) FiguresSeen(context.Context) (lab.FiguresSeen, error) {
	defer s.Lock()()
	return s.seen, s.Broken
}

func (s *shop) SetFiguresSeen(_ context.Context, v lab.FiguresSeen) error {
	defer s.Lock()()
	if v.Lot > s.seen.Lot {
		s.seen = v
	}
	return s.Broken
}

// What changed in the figures is shown until a lead says that it was read, and
// to nobody after that; a figure of the lab's own is said to stand.
func TestFigureChangesAreShownOnce(t *testing.T) {
	shelf := newShelf()
	x := newSite(t, newShop().stock(), func(c *Config) { c.Sheets = shelf })
	x.labSettings.CheckDays = map[string]int{"strip": 7}
	if resp, b := x.do("PUT", apiBase+"/sheets/bw", "lead", `{"text":"id: bw\nsteps: [{id: wash, aim_s: 1200, least_s: 1200}]"}`); resp.StatusCode != http.StatusOK {
		t.Fatalf("%d %s", resp.StatusCode, b)
	}
	ask := func(role string) (n FigureNotice) {
		t.Helper()
		resp, b := x.do("GET", apiBase+"/figure-changes", role, "")
		if err := json.Unmarshal(b, &n); resp.StatusCode != http.StatusOK || err != nil {
			t.Fatalf("%d %s", resp.StatusCode, b)
		}
		return n
	}
	before := ask("viewer")
	if len(before.Changes) < 5 || before.Seen != nil || before.Lot != process.LastLot() {
		t.Fatalf("%+v", before)
	}
	own := func(step, figure string) bool {
		i := slices.IndexFunc(before.Changes, func(c FigureChangeView) bool { return c.Step == step && c.Figure == process.FigureLabel(figure) })
		if i < 0 {
			t.Fatalf("nothing is told of %s %s", step, figure)
		}
		return before.Changes[i].Own
	}
	if !own("wash", "least_s") || own("fixer", "aim_s") {
		t.Error("the wash's least time is the lab's own, the fixer's time is not")
	}
	if i := slices.IndexFunc(before.Changes, func(c FigureChangeView) bool { return c.Own && c.Step == "" }); i < 0 {
		t.Error("the strip's interval is the lab's own")
	}
	if resp, _ := x.do("POST", apiBase+"/figure-changes/seen", "operator", `{"lot":1}`); resp.StatusCode != http.StatusForbidden {
		t.Errorf("an operator pressed it away: %d", resp.StatusCode)
	}
	if resp, b := x.do("POST", apiBase+"/figure-changes/seen", "lead", `{"lot":1}`); resp.StatusCode != http.StatusOK {
		t.Fatalf("%d %s", resp.StatusCode, b)
	}
	if after := ask("viewer"); len(after.Changes) != 0 || after.Seen == nil || after.Seen.By != "the lead" {
		t.Errorf("after it was read: %+v", after)
	}
}

// Every figure of every sheet says in three words or fewer where it is from.
func TestSheetsSayWhereFiguresAreFrom(t *testing.T) {
	x := newSite(t, newShop().stock())
	_, b := x.do("GET", apiBase+"/sheets", "viewer", "")
	var list SheetList
	if err := json.Unmarshal(b, &list); err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, s := range list.Sheets {
		for _, st := range s.Steps {
			for _, f := range st.Figures {
				n++
				if f.Value == "" || f.Label == "" || !slices.Contains([]string{process.Published, process.Quoted, process.Unconfirmed}, f.Provenance) {
					t.Errorf("%s %s: %+v", s.ID, st.Step, f)
				}
			}
			for _, f := range st.Sources {
				if f.Provenance == "" {
					t.Errorf("%s %s: a source without a standing: %+v", s.ID, st.Step, f)
				}
			}
		}
	}
	if n < 150 {
		t.Errorf("%d figures", n)
	}
}

// A probe's kind is what its entry says last; taken back to unknown it is none.
func TestProbeKind(t *testing.T) {
	e := func(id, class string) lab.Entry {
		return lab.Entry{ID: id, What: lab.EntryProbeKind, At: t0, Entered: t0, By: "Wren", Body: []byte(`{"class":"` + class + `"}`)}
	}
	// IEC 60751, class A at 38 °C: 0.15 + 0.002 x 38
	if f := figuresInForce([]lab.Entry{e("k1", "A")}); f.ProbeKind == nil || f.ProbeKind.Class != "A" || f.ProbeKind.WithinC != 0.23 {
		t.Errorf("%+v", f.ProbeKind)
	}
	if f := figuresInForce([]lab.Entry{e("k1", "A"), e("k2", "")}); f.ProbeKind != nil {
		t.Errorf("%+v", f.ProbeKind)
	}
}
