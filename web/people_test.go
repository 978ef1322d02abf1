package web

import (
	"net/http"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/web/access"
	"wetside/web/live"
)

// What is withdrawn holds no longer than the next request, nor do sockets.
func TestWithdrawal(t *testing.T) {
	x := busySite(t)
	if err := access.CreateUser(t.Context(), x.shop, "Heron", lab.RoleLead, "fixer on tuesday"); err != nil {
		t.Fatal(err)
	}
	as := func(c *http.Cookie) func(*http.Request) { return func(r *http.Request) { r.AddCookie(c) } }
	acknowledge := func(c *http.Cookie) int {
		resp, _ := x.do("POST", apiBase+"/alerts/a-1/acknowledge", "", "", as(c))
		return resp.StatusCode
	}
	wren := x.signIn("Wren", "correct horse")
	if resp, b := x.do("PATCH", apiBase+"/users/Wren", lab.RoleLead, `{"role":"viewer"}`); resp.StatusCode != 200 {
		t.Fatalf("%d %s", resp.StatusCode, b)
	}
	if code := acknowledge(wren); code != 403 {
		t.Errorf("a viewer since then acknowledges: %d", code)
	}
	if resp, _ := x.do("PATCH", apiBase+"/users/Heron", lab.RoleLead, `{"role":"viewer"}`); resp.StatusCode != 409 {
		t.Errorf("the last lead: %d, want 409", resp.StatusCode)
	}
	if resp, _ := x.do("DELETE", apiBase+"/users/Heron", lab.RoleLead, ""); resp.StatusCode != 409 {
		t.Errorf("the last lead is removed: %d, want 409", resp.StatusCode)
	}
	ws := x.open(x.asPerson(wren))
	if resp, _ := x.do("DELETE", apiBase+"/users/Wren", lab.RoleLead, ""); resp.StatusCode != 204 {
		t.Errorf("remove: %d", resp.StatusCode)
	}
	if resp, _ := x.do("GET", apiBase+"/units", "", "", as(wren)); resp.StatusCode != 401 {
		t.Errorf("a removed person reads: %d, want 401", resp.StatusCode)
	}
	_ = ws.SetReadDeadline(time.Now().Add(4 * time.Second)) // sooner than the usual look
	if code := closeCode(ws); code != live.CloseSignedOut {
		t.Errorf("the socket of a removed person: closed with %d", code)
	}
	heron := x.signIn("Heron", "fixer on tuesday")
	if resp, _ := x.do("POST", apiBase+"/users/Heron/password", lab.RoleLead, `{"password":"another one, then"}`); resp.StatusCode != 204 {
		t.Errorf("reset: %d", resp.StatusCode)
	}
	if resp, _ := x.do("GET", apiBase+"/units", "", "", as(heron)); resp.StatusCode != 401 {
		t.Errorf("after a reset: %d, want 401", resp.StatusCode)
	}
	x.signIn("Heron", "another one, then")
}
