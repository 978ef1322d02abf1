package web

import (
	"encoding/json"
	"net/http"
	"strings"
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

func TestTokensEnd(t *testing.T) {
	x := busySite(t)
	_, b := x.do("POST", apiBase+"/tokens", lab.RoleLead, `{"name":"scanner","role":"operator","days":2}`)
	var made TokenView
	if err := json.Unmarshal(b, &made); err != nil || made.Token == "" || made.ExpiresAt == nil {
		t.Fatalf("%v %s", err, b)
	}
	use := func() int {
		resp, _ := x.do("GET", apiBase+"/units", "", "", func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+made.Token) })
		return resp.StatusCode
	}
	if use() != 200 {
		t.Error("a new token does not hold")
	}
	_, b = x.do("GET", apiBase+"/tokens", lab.RoleLead, "")
	if strings.Contains(string(b), made.Token) || !strings.Contains(string(b), `"name":"scanner"`) {
		t.Errorf("the list: %s", b)
	}
	var listed TokenList
	_ = json.Unmarshal(b, &listed)
	for _, v := range listed.Tokens {
		if v.Name == "scanner" && v.LastUsedAt == nil {
			t.Error("when it was last used is not noted")
		}
	}
	x.Mu.Lock()
	for k, v := range x.shop.ByHash {
		if v.Name == "scanner" {
			v.ExpiresAt = time.Now().Add(-time.Second)
			x.shop.ByHash[k] = v
		}
	}
	x.Mu.Unlock()
	if code := use(); code != 401 {
		t.Errorf("a token that has ended: %d, want 401", code)
	}
}

// Addresses are for the person and for leads.
func TestAddressesAreNotForEverybody(t *testing.T) {
	x := busySite(t)
	x.duty.log = []lab.DutyEntry{{ID: 1, At: lab.At(t0), By: "Heron", What: "contacts", Person: "Heron",
		Detail: map[string]any{"ways": []string{"mail"}, "mail": "heron@post.example", "webhook": "https://sms.example/send?to=+441632960961", "why": "550 heron@post.example unknown"}}}
	for role, shown := range map[string]bool{lab.RoleViewer: false, lab.RoleOperator: false, lab.RoleLead: true} {
		_, b := x.do("GET", apiBase+"/duty/log", role, "")
		if got := strings.Contains(string(b), "post.example") || strings.Contains(string(b), "960961"); got != shown {
			t.Errorf("%s: %s", role, b)
		}
	}
	for _, secret := range []string{
		`550 5.1.1 <wren@post.example>: user unknown`, `Post "https://sms.example/u/8f3a?to=441632960961": dial tcp 203.0.113.9:443: connect: connection refused`,
		`dial tcp: lookup sms.example on 10.0.0.53:53: no such host`, `no answer from +44 1632 960961`, `dial tcp [2001:db8::1]:25: i/o timeout`,
	} {
		got := lab.HideAddresses(secret)
		for _, leak := range []string{"post.example", "sms.example", "203.0.113.9", "960961", "2001:db8", "10.0.0.53"} {
			if strings.Contains(got, leak) {
				t.Errorf("%q shows %s", got, leak)
			}
		}
	}
	for _, plain := range []string{"the person was taken out", "nobody acknowledged by 14:02:31", "38.6 °C (aim 37.8 °C)"} {
		if got := lab.HideAddresses(plain); got != plain {
			t.Errorf("%q became %q", plain, got)
		}
	}
}
