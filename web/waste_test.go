package web

import (
	"bytes"
	"strings"
	"testing"

	"wetside/internal/lab"
	"wetside/internal/wastebook"
)

func wasteSite(t *testing.T) *site {
	x := newSite(t, newShop().stock(), func(c *Config) { c.Clock = fixedClock{} })
	x.entries = nil
	return x
}

func (x *site) emptiesWaste(body string) ContainerEventView {
	x.t.Helper()
	return into[ContainerEventView](x, "POST", "/units/tern-street/plover/containers/waste/events", lab.RoleOperator, body, 201)
}

// A lab that never began a waste log has none, and nothing is written of what
// it empties.
func TestWasteLogIsSilentUntilBegun(t *testing.T) {
	x := wasteSite(t)
	x.emptiesWaste(`{"what":"emptied"}`)
	if w := into[WasteLog](x, "GET", "/waste", lab.RoleViewer, "", 200); w.StartedAt != nil || len(w.Rows)+len(w.Gaps) != 0 || len(x.books.lines) != 0 {
		t.Errorf("%+v, %d lines", w, len(x.books.lines))
	}
	if resp, b := x.do("POST", apiBase+"/waste", lab.RoleOperator, `{"what":"check","initials":"AB"}`); resp.StatusCode != 409 || !strings.Contains(string(b), "a lead begins it") {
		t.Errorf("a check without a log: %d %s", resp.StatusCode, b)
	}
	if b := into[BooksUsed](x, "GET", "/books", lab.RoleViewer, "", 200); b.Waste || b.Mixes {
		t.Errorf("%+v", b)
	}
}

// Emptied, a container is in the log with the liters that it held by its level;
// a person corrects them, and what stood there before stays.
func TestEmptyingIsInTheWasteLog(t *testing.T) {
	x := wasteSite(t)
	into[lab.WasteSettings](x, "PUT", "/waste/settings", lab.RoleLead, `{"started_at":"2026-02-20T09:00:00Z","streams":{"waste":"silver-rich"},"to":{"waste":"drum 3"},"site":"Tern Street 4"}`, 200)
	e := x.emptiesWaste(`{"what":"emptied","note":"smelled"}`)
	w := into[WasteLog](x, "GET", "/waste", lab.RoleViewer, "", 200)
	if len(w.Rows) != 1 || w.Rows[0].ID != e.ID || *w.Rows[0].Litres != 4.5 || w.Rows[0].LitresBy != lab.LitresEstimate || w.Rows[0].To != "drum 3" || w.Rows[0].Note != "smelled" || len(w.Rows[0].Missing) != 0 {
		t.Fatalf("%+v", w.Rows)
	}
	if w.Rows[0].By != "the operator" || w.LocalRules != wastebook.LocalRules || len(w.Cautions) == 0 || len(w.Classes) == 0 {
		t.Errorf("%+v", w)
	}
	row := into[wastebook.WasteRow](x, "PUT", "/waste/"+e.ID, lab.RoleOperator,
		`{"what":"emptied","unit":"tern-street/plover","container":"waste","stream":"silver-rich","litres":4.9,"litres_by":"person","to":"drum 3","version":1,"why":"weighed it"}`, 200)
	if *row.Litres != 4.9 || len(row.Versions) != 2 || *row.Versions[0].Litres != 4.5 || row.Versions[1].Why != "weighed it" || row.At != e.At {
		t.Errorf("%+v", row)
	}
	x.do("DELETE", apiBase+"/units/tern-street/plover/containers/waste/events/"+e.ID, lab.RoleOperator, "")
	if w = into[WasteLog](x, "GET", "/waste", lab.RoleViewer, "", 200); !w.Rows[0].Removed || len(w.Months) != 0 {
		t.Errorf("undone: %+v, months %+v", w.Rows[0], w.Months)
	}
}

// What was emptied a while ago is in the log without liters: the level now says
// nothing of it. It is a gap until a person writes them.
func TestEmptyingOfEarlierHasNoLiters(t *testing.T) {
	x := wasteSite(t)
	into[lab.WasteSettings](x, "PUT", "/waste/settings", lab.RoleLead, `{"started_at":"2026-02-20T09:00:00Z"}`, 200)
	x.emptiesWaste(`{"what":"emptied","at":"2026-03-01T08:00:00Z"}`)
	w := into[WasteLog](x, "GET", "/waste", lab.RoleViewer, "", 200)
	if len(w.Rows) != 1 || w.Rows[0].Litres != nil || strings.Join(w.Rows[0].Missing, " ") != "litres stream to" {
		t.Errorf("%+v", w.Rows)
	}
	if len(w.Gaps) != 1 || !strings.Contains(w.Gaps[0].Text, "not written: liters, the waste stream, where it went") {
		t.Errorf("%+v", w.Gaps) // the week of February 23 is not over on Sunday, March 1
	}
}

func TestWasteLogAsFiles(t *testing.T) {
	x := wasteSite(t)
	if resp, _ := x.do("GET", apiBase+"/waste.pdf", lab.RoleViewer, ""); resp.StatusCode != 422 {
		t.Errorf("a document of no log: %d", resp.StatusCode)
	}
	into[lab.WasteSettings](x, "PUT", "/waste/settings", lab.RoleLead, `{"started_at":"2026-02-20T09:00:00Z"}`, 200)
	x.emptiesWaste(`{"what":"emptied","note":"=1+1"}`)
	if _, b := x.do("GET", apiBase+"/waste.csv", lab.RoleViewer, ""); strings.Count(string(b), "\r\n") != 2 || !strings.Contains(string(b), "'=1+1") {
		t.Errorf("%s", b)
	}
	if resp, b := x.do("GET", apiBase+"/waste.pdf", lab.RoleViewer, ""); resp.StatusCode != 200 || !bytes.HasPrefix(b, []byte("%PDF-")) {
		t.Errorf("%d %q", resp.StatusCode, b[:min(len(b), 20)])
	}
}
