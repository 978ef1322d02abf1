package web

import (
	"encoding/json"
	"testing"
)

func init() {
	add := func(op, method, path, role, body string, want int) {
		calls = append(calls, struct {
			op, method, path, role, body string
			want                         int
		}{op, method, path, role, body, want})
	}
	add("do-check", "POST", "/units/tern-street/plover/checks", "operator", `{"check":"hoses","ok":true}`, 201)
	add("do-check", "POST", "/units/tern-street/plover/checks", "operator", `{"check":"tyres","ok":true}`, 422)
	add("do-check", "POST", "/units/tern-street/none/checks", "operator", `{"check":"hoses","ok":true}`, 404)
	add("list-checks", "GET", "/units/tern-street/plover/checks", "viewer", "", 200)
	add("list-checks", "GET", "/units/tern-street/none/checks", "viewer", "", 404)
}

// TestChecks: what was never done says so, what is done says when it is due
// again.
func TestChecks(t *testing.T) {
	x := newSite(t, newShop().stock())
	if resp, b := x.do("POST", apiBase+"/units/tern-street/plover/checks", "operator", `{"check":"float","ok":false,"note":"it sticks"}`); resp.StatusCode != 201 {
		t.Fatalf("%d %s", resp.StatusCode, b)
	}
	_, b := x.do("GET", apiBase+"/units/tern-street/plover/checks", "viewer", "")
	var got CheckList
	if err := json.Unmarshal(b, &got); err != nil {
		t.Fatal(err)
	}
	is := map[string]string{}
	for _, c := range got.Checks {
		is[c.Check] = c.Is
	}
	if is["float"] != "fault" || is["hoses"] != "never" || is["probe"] != "overdue" || len(got.History) != 2 {
		t.Errorf("got %s", b)
	}
}
