package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"

	"wetside/internal/lab"
	"wetside/web/access"
	"wetside/web/live"
)

// A session from signing in to signing out, as a browser has it.
func TestSession(t *testing.T) {
	x := busySite(t)
	cookie := x.signIn("Wren", "correct horse")
	if !cookie.HttpOnly || cookie.SameSite != http.SameSiteLaxMode || cookie.Secure || cookie.Path != "/" {
		t.Errorf("cookie %v", cookie)
	}
	for token := range x.Kept {
		if token == cookie.Value {
			t.Error("the store has the session's token itself, want its hash")
		}
	}
	with := func(r *http.Request) { r.AddCookie(cookie) }
	_, b := x.do("GET", apiBase+"/session", "", "", with)
	var who Session
	if err := json.Unmarshal(b, &who); err != nil || who.Name == nil || *who.Name != "Wren" || *who.Role != lab.RoleOperator || who.SetupNeeded {
		t.Errorf("who am I: %s", b)
	}
	if resp, b := x.do("POST", apiBase+"/alerts/a-1/acknowledge", "", "", with); resp.StatusCode != 200 || !strings.Contains(string(b), `"acknowledged_by":"Wren"`) {
		t.Errorf("acknowledge: %d %s", resp.StatusCode, b)
	}
	resp, _ := x.do("DELETE", apiBase+"/session", "", "", with)
	if resp.StatusCode != 204 || resp.Cookies()[0].MaxAge >= 0 {
		t.Errorf("sign out: %d %v", resp.StatusCode, resp.Cookies())
	}
	if resp, _ := x.do("GET", apiBase+"/units", "", "", with); resp.StatusCode != 401 {
		t.Errorf("after signing out: %d, want 401", resp.StatusCode)
	}
	_, b = x.do("GET", apiBase+"/session", "", "", with)
	if string(b) != `{"setup_needed":false,"name":null,"role":null,"by":null}`+"\n" {
		t.Errorf("who am I, nobody: %s", b)
	}
}

func TestChangedPasswordEndsOtherSessions(t *testing.T) {
	x := busySite(t)
	mine, other := x.signIn("Wren", "correct horse"), x.signIn("Wren", "correct horse")
	resp, b := x.do("POST", apiBase+"/session/password", "", `{"current":"wrong","new":"battery staple"}`, func(r *http.Request) { r.AddCookie(mine) })
	if resp.StatusCode != 403 {
		t.Fatalf("with a wrong password: %d %s", resp.StatusCode, b)
	}
	resp, b = x.do("POST", apiBase+"/session/password", "", `{"current":"correct horse","new":"battery staple"}`, func(r *http.Request) { r.AddCookie(mine) })
	if resp.StatusCode != 200 {
		t.Fatalf("%d %s", resp.StatusCode, b)
	}
	renewed := resp.Cookies()[0]
	for name, c := range map[string]struct {
		cookie *http.Cookie
		want   int
	}{"renewed": {renewed, 200}, "other": {other, 401}} {
		if resp, _ := x.do("GET", apiBase+"/units", "", "", func(r *http.Request) { r.AddCookie(c.cookie) }); resp.StatusCode != c.want {
			t.Errorf("%s: %d, want %d", name, resp.StatusCode, c.want)
		}
	}
	x.signIn("Wren", "battery staple")
}

func TestSignOutClosesItsSockets(t *testing.T) {
	x := busySite(t)
	cookie := x.signIn("Wren", "correct horse")
	c := x.open(x.asPerson(cookie))
	if resp, b := x.do("DELETE", apiBase+"/session", "", "", func(r *http.Request) { r.AddCookie(cookie) }); resp.StatusCode != 204 {
		t.Fatalf("sign out: %d %s", resp.StatusCode, b)
	}
	if code := closeCode(c); code != live.CloseSignedOut {
		t.Errorf("closed with %d, want %d", code, live.CloseSignedOut)
	}
}

// Until somebody has set a password only this machine is answered; there the
// first lead is made, once.
func TestSetUp(t *testing.T) {
	s := newShop().stock()
	x := newSite(t, s)
	if err := access.MayListen(t.Context(), s, "0.0.0.0:8080"); lab.KindOf(err) != lab.KindForbidden || !strings.Contains(err.Error(), "password") {
		t.Errorf("0.0.0.0 before a password: %v", err)
	}
	for _, addr := range []string{"127.0.0.1:8080", "localhost:0", "[::1]:8080"} {
		if err := access.MayListen(t.Context(), s, addr); err != nil {
			t.Errorf("%s: %v", addr, err)
		}
	}
	for _, addr := range []string{":8080", "[::]:8080", "192.0.2.1:80"} {
		if err := access.MayListen(t.Context(), s, addr); lab.KindOf(err) != lab.KindForbidden {
			t.Errorf("%s before a password: %v", addr, err)
		}
	}
	if err := access.MayListen(t.Context(), s, "8080"); lab.KindOf(err) != lab.KindInvalid {
		t.Errorf("8080: %v", err)
	}
	body := `{"name":"Wren","password":"correct horse","code":"` + x.srv.SetupCode(t.Context()) + `"}`
	uncoded := `{"name":"Wren","password":"correct horse"}`
	json1 := http.Header{"Content-Type": {"application/json"}}
	for _, path := range []string{"/", apiBase + "/session", apiBase + "/units"} {
		h := http.Header{"Authorization": {"Bearer " + x.tokens[lab.RoleLead]}}
		if resp := x.from("192.0.2.7:5", "GET", path, "board:8080", "", h); resp.StatusCode != 403 {
			t.Errorf("%s from elsewhere: %d, want 403", path, resp.StatusCode)
		}
	}
	if resp := x.from("192.0.2.7:5", "POST", apiBase+"/setup", "board:8080", body, json1); resp.StatusCode != 403 {
		t.Errorf("set-up from elsewhere: %d, want 403", resp.StatusCode)
	}
	// What a forwarder on this machine hands on looks like this machine's own.
	for _, host := range []string{"tern-street.example", "127.0.0.1:8080", "localhost"} {
		if resp := x.from("127.0.0.1:5", "POST", apiBase+"/setup", host, uncoded, json1); resp.StatusCode != 403 {
			t.Errorf("set-up without the code, as %s: %d, want 403", host, resp.StatusCode)
		}
	}
	if len(s.ByName) != 0 {
		t.Fatal("a stranger has set the first password")
	}
	if _, b := x.do("GET", apiBase+"/session", "", ""); !strings.Contains(string(b), `"setup_needed":true`) {
		t.Errorf("session before: %s", b)
	}
	if resp, b := x.do("POST", apiBase+"/setup", "", strings.Replace(body, "correct horse", "short", 1)); resp.StatusCode != 422 {
		t.Errorf("a short password: %d %s", resp.StatusCode, b)
	}
	// Many at once: one lead.
	codes := make([]int, 4)
	var wg sync.WaitGroup
	for i := range codes {
		wg.Go(func() {
			codes[i] = x.from("127.0.0.1:5", "POST", apiBase+"/setup", "127.0.0.1", body, json1).StatusCode
		})
	}
	wg.Wait()
	made := 0
	for _, c := range codes {
		if c == 200 {
			made++
		} else if c != 409 {
			t.Errorf("set-up: %d", c)
		}
	}
	if made != 1 || len(s.ByName) != 1 || s.ByName["Wren"].Role != lab.RoleLead {
		t.Errorf("%d set-ups, users %v", made, s.ByName)
	}
	if err := access.MayListen(t.Context(), s, ":8080"); err != nil {
		t.Errorf("after: %v", err)
	}
	if resp := x.from("192.0.2.7:5", "GET", apiBase+"/session", "board:8080", "", nil); resp.StatusCode != 200 {
		t.Errorf("from elsewhere after: %d", resp.StatusCode)
	}
	x.signIn("Wren", "correct horse")
}

// A stranger at the lab's own address keeps nobody out.
func TestStrangerLocksNobodyOut(t *testing.T) {
	x := busySite(t)
	resp, _ := x.do("POST", apiBase+"/session", "", `{"name":"Wren","password":"correct horse"}`)
	var device *http.Cookie
	for _, c := range resp.Cookies() {
		if strings.HasPrefix(c.Name, "wetside_device") {
			device = c
		}
	}
	if device == nil || !device.HttpOnly || device.SameSite != http.SameSiteStrictMode {
		t.Fatalf("the device is not remembered: %v", resp.Cookies())
	}
	if err := access.CreateUser(t.Context(), x.shop, "Robin", lab.RoleOperator, "battery staple"); err != nil {
		t.Fatal(err)
	}
	for i := range 60 {
		name := "Wren"
		if i%2 == 0 {
			name = fmt.Sprint("guess ", i)
		}
		x.do("POST", apiBase+"/session", "", `{"name":"`+name+`","password":"wrong wrong"}`)
	}
	good := `{"name":"Wren","password":"correct horse"}`
	if resp, _ := x.do("POST", apiBase+"/session", "", good); resp.StatusCode != 429 || resp.Header.Get("Retry-After") == "" {
		t.Errorf("after many guesses at Wren, without the device: %d, want 429", resp.StatusCode)
	}
	if resp, b := x.do("POST", apiBase+"/session", "", good, func(r *http.Request) { r.AddCookie(device) }); resp.StatusCode != 200 {
		t.Errorf("Wren on a known device: %d %s", resp.StatusCode, b)
	}
	forged := &http.Cookie{Name: device.Name, Value: "mine." + strings.SplitN(device.Value, ".", 2)[1]}
	if resp, _ := x.do("POST", apiBase+"/session", "", good, func(r *http.Request) { r.AddCookie(forged) }); resp.StatusCode != 429 {
		t.Errorf("with a device made up: %d, want 429", resp.StatusCode)
	}
	if resp, b := x.do("POST", apiBase+"/session", "", `{"name":"Robin","password":"battery staple"}`); resp.StatusCode != 200 {
		t.Errorf("Robin at the same address: %d %s", resp.StatusCode, b)
	}
}

// Who found a screen that is signed in cannot guess its password for long.
func TestPasswordGuessesAreBounded(t *testing.T) {
	const free = 5 // failures, before each further one must wait
	x := busySite(t)
	cookie := x.signIn("Wren", "correct horse")
	codes := map[int]int{}
	for range 40 {
		resp, _ := x.do("POST", apiBase+"/session/password", "", `{"current":"wrong wrong","new":"battery staple"}`, func(r *http.Request) { r.AddCookie(cookie) })
		codes[resp.StatusCode]++
	}
	if codes[403] != free || codes[429] != 40-free {
		t.Errorf("answers %v, want %d of 403 and the rest 429", codes, free)
	}
}
