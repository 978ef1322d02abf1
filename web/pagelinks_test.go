package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"wetside/internal/lab"
)

// A button of a page's link works where the browser hides its origin, as it
// does over plain HTTP, and only with the mark that stands in the form.
func TestLinkButtonNeedsItsOwnForm(t *testing.T) {
	x := busySite(t)
	_, b := x.do("GET", "/p/good", "", "")
	_, after, ok := strings.Cut(string(b), `action="/p/good/acknowledge"><input type="hidden" name="mark" value="`)
	if !ok {
		t.Fatalf("the form has no mark: %s", b)
	}
	mark, _, _ := strings.Cut(after, `"`)
	press := func(mark string, edit func(http.Header)) int {
		body, as := form(url.Values{"mark": {mark}})
		resp, _ := x.do("POST", "/p/good/acknowledge", "", body, func(r *http.Request) { as(r); edit(r.Header) })
		return resp.StatusCode
	}
	none := func(http.Header) {}
	for _, c := range []struct {
		why, mark string
		edit      func(http.Header)
	}{
		{"no mark", "", none},
		{"the mark of another button", x.srv.access.FormMark("good", "call-next", ""), none},
		{"the mark of another link", x.srv.access.FormMark("old", "acknowledge", ""), none},
		{"a mark made up", "AAAAAAAAAAAAAAAAAAAAAAAA", none},
		{"from another site", mark, func(h http.Header) { h.Set("Origin", "http://tern-street.example") }},
		{"from a site whose name ends like ours", mark, func(h http.Header) { h.Set("Origin", "http://evil"+strings.TrimPrefix(x.http.URL, "http://")) }},
		{"from another site, by Sec-Fetch-Site", mark, func(h http.Header) { h.Set("Sec-Fetch-Site", "same-site") }},
	} {
		if code := press(c.mark, c.edit); code != 403 {
			t.Errorf("%s: %d, want 403", c.why, code)
		}
	}
	if a, _ := x.Alert(t.Context(), "a-1"); a.State != lab.Unacknowledged {
		t.Fatal("one of them acknowledged")
	}
	if code := press(mark, func(h http.Header) { h.Set("Origin", "null") }); code != 200 {
		t.Errorf("with the mark, over plain HTTP: %d, want 200", code)
	}
	// The way round the guard of the rest leads nowhere.
	resp := x.from("127.0.0.1:5", "POST", "/p/../api/v1/alerts/a-1/unshelve", "127.0.0.1", "", http.Header{
		"Origin": {"http://tern-street.example"}, "Authorization": {"Bearer " + x.tokens[lab.RoleOperator]}})
	if resp.StatusCode < 300 {
		t.Errorf("a path with dots passes the guard: %d", resp.StatusCode)
	}
}

// Guesses of many tokens from one address are limited, and so is a token's length.
func TestLinkGuessesAreLimited(t *testing.T) {
	x := busySite(t)
	if resp, _ := x.do("GET", "/p/"+strings.Repeat("y", longestToken+1), "", ""); resp.StatusCode != 429 {
		t.Errorf("a token longer than any: %d", resp.StatusCode)
	}
	refused := 0
	for i := range 245 {
		if resp := x.from("192.0.2.9:1", "GET", fmt.Sprintf("/p/guess-%d", i), "board", "", nil); resp.StatusCode == 429 {
			refused++
		}
	}
	if refused == 0 {
		t.Error("guesses of many tokens from one address are not limited")
	}
}
