package web

import (
	"cmp"
	"context"
	"encoding/json"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"wetside/internal/lab"
)

func init() {
	add := func(op, method, path, role, body string, want int) {
		calls = append(calls, struct {
			op, method, path, role, body string
			want                         int
		}{op, method, path, role, body, want})
	}
	add("list-wall-links", "GET", "/wall-links", "lead", "", 200)
	add("make-wall-link", "POST", "/wall-links", "lead", `{"name":"by the sinks"}`, 201)
	add("make-wall-link", "POST", "/wall-links", "lead", `{"name":"  "}`, 422)
	add("withdraw-wall-link", "DELETE", "/wall-links/by%20the%20sinks", "lead", "", 204)
	add("withdraw-wall-link", "DELETE", "/wall-links/none", "lead", "", 404)
	add("open-wall", "POST", "/session/wall", "", `{"key":"wrong"}`, 401)
	add("get-preferences", "GET", "/me/preferences", "viewer", "", 200)
	add("set-preferences", "PUT", "/me/preferences", "viewer", `{"theme":"dark","temperature":"f","volume":"gal","sound":"urgent","spoken":true}`, 409)
	add("set-preferences", "PUT", "/me/preferences", "viewer", `{"theme":"dark","temperature":"k","volume":"gal","sound":"on","spoken":true}`, 422)
}

func (s *shop) Tokens(context.Context) ([]lab.Token, error) {
	defer s.Lock()()
	var out []lab.Token
	for _, t := range s.ByHash {
		out = append(out, t)
	}
	slices.SortFunc(out, func(a, b lab.Token) int { return cmp.Compare(a.Name, b.Name) })
	return out, s.Broken
}

func (s *shop) DeleteToken(_ context.Context, name string) error {
	defer s.Lock()()
	for key, t := range s.ByHash {
		if t.Name == name {
			delete(s.ByHash, key)
			return nil
		}
	}
	return lab.Errorf(lab.KindNotFound, "there is no token %q", name)
}

// TestWallLink: a screen looks and changes nothing, until its link is
// withdrawn.
func TestWallLink(t *testing.T) {
	x := newSite(t, newShop().stock())
	_, b := x.do("POST", apiBase+"/wall-links", "lead", `{"name":"by the sinks"}`)
	var link WallLink
	if err := json.Unmarshal(b, &link); err != nil || !strings.HasPrefix(link.Path, "/#/wall?key=") {
		t.Fatalf("made %s, %v", b, err)
	}
	key, err := url.QueryUnescape(strings.TrimPrefix(link.Path, "/#/wall?key="))
	if err != nil {
		t.Fatal(err)
	}
	resp, b := x.do("POST", apiBase+"/session/wall", "", `{"key":"`+key+`"}`)
	if resp.StatusCode != http.StatusOK || len(resp.Cookies()) != 1 {
		t.Fatalf("open: %d %s", resp.StatusCode, b)
	}
	as := func(r *http.Request) { r.AddCookie(resp.Cookies()[0]) }
	if resp, b := x.do("GET", apiBase+"/units", "", "", as); resp.StatusCode != http.StatusOK {
		t.Errorf("the screen may not look: %d %s", resp.StatusCode, b)
	}
	if resp, _ := x.do("POST", apiBase+"/alerts/a-1/acknowledge", "", "{}", as); resp.StatusCode != http.StatusForbidden {
		t.Errorf("the screen acknowledges: %d", resp.StatusCode)
	}
	if resp, _ := x.do("DELETE", apiBase+"/wall-links/by%20the%20sinks", "lead", ""); resp.StatusCode != http.StatusNoContent {
		t.Fatalf("withdraw: %d", resp.StatusCode)
	}
	if resp, _ := x.do("GET", apiBase+"/units", "", "", as); resp.StatusCode != http.StatusUnauthorized {
		t.Errorf("with the link withdrawn the screen still looks: %d", resp.StatusCode)
	}
	// a token of another kind opens no screen
	if resp, _ := x.do("POST", apiBase+"/session/wall", "", `{"key":"`+x.tokens["lead"]+`"}`); resp.StatusCode != http.StatusUnauthorized {
		t.Errorf("a lead's token opens a screen: %d", resp.StatusCode)
	}
}
