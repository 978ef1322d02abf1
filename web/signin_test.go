package web

import (
	"context"
	"crypto/tls"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"wetside/internal/lab"
)

// The encoded hash of "password" with the salt "somesalt" (m=65536, t=2, p=1)
// is a test vector of the reference implementation of Argon2, src/test.c; its
// figures are from memory.
func TestPasswordAgainstReference(t *testing.T) {
	const reference = "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"
	for password, want := range map[string]bool{"password": true, "Password": false, "": false} {
		if ok, err := verifyPassword(t.Context(), reference, password); err != nil || ok != want {
			t.Errorf("%q: %v %v, want %v", password, ok, err, want)
		}
	}
	h, err := parseArgonHash(reference)
	if err != nil || h.String() != reference {
		t.Errorf("written again: %s %v", h, err)
	}
}

func TestPasswordHash(t *testing.T) {
	cheap := passwordCost
	passwordCost = realCost
	t.Cleanup(func() { passwordCost = cheap })
	a, err := HashPassword(t.Context(), "correct horse")
	if err != nil || !strings.HasPrefix(a, "$argon2id$v=19$m=65536,t=3,p=4$") {
		t.Fatalf("%s %v", a, err)
	}
	if b, _ := HashPassword(t.Context(), "correct horse"); a == b {
		t.Error("two hashes of one password are the same: no salt")
	}
	for _, bad := range []string{"short", strings.Repeat("x", 257)} {
		if _, err := HashPassword(t.Context(), bad); lab.KindOf(err) != lab.KindInvalid {
			t.Errorf("%d bytes: %v, want invalid", len(bad), err)
		}
	}
	for _, bad := range []string{"", "x", "$argon2i$v=19$m=65536,t=2,p=1$c29tc2FsdA$CTFh", "$argon2id$v=19$m=0,t=0,p=0$c29tc2FsdA$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"} {
		if _, err := verifyPassword(t.Context(), bad, "password"); err == nil {
			t.Errorf("stored %q is taken for a hash", bad)
		}
	}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	for range cap(hashing) {
		hashing <- struct{}{}
	}
	if _, err := HashPassword(gone, "correct horse"); err == nil {
		t.Error("a request that went away still waits to be hashed")
	}
	for range cap(hashing) {
		<-hashing
	}
}

func TestTokens(t *testing.T) {
	s := newShop()
	token, err := CreateToken(t.Context(), s, "board", lab.RoleViewer, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	for hash := range s.tokens {
		if strings.Contains(hash, token) || len(hash) != 32 {
			t.Errorf("the store has %q, want its SHA-256", hash)
		}
	}
	other, _ := CreateToken(t.Context(), s, "board", lab.RoleViewer, time.Time{})
	if other == token || len(token) < 40 {
		t.Errorf("tokens %q and %q", token, other)
	}
	for _, c := range [][2]string{{"board", "boss"}, {"board", ""}, {"", "viewer"}, {" x", "viewer"}, {"a\nb", "viewer"}} {
		if _, err := CreateToken(t.Context(), s, c[0], c[1], time.Time{}); lab.KindOf(err) != lab.KindInvalid {
			t.Errorf("name %q role %q: %v, want invalid", c[0], c[1], err)
		}
	}
}

// A session from signing in to signing out, as a browser has it.
func TestSession(t *testing.T) {
	x := busySite(t)
	cookie := x.signIn("Wren", "correct horse")
	if !cookie.HttpOnly || cookie.SameSite != http.SameSiteLaxMode || cookie.Secure || cookie.Path != "/" {
		t.Errorf("cookie %v", cookie)
	}
	for token := range x.sessions {
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

func TestCookieIsSecureUnderTLS(t *testing.T) {
	x := newSite(t, newShop())
	if c := x.srv.cookie(&http.Request{TLS: &tls.ConnectionState{}}); !c.Secure {
		t.Error("not Secure under TLS")
	}
	x.srv.cfg.SecureCookies = true
	if c := x.srv.cookie(&http.Request{}); !c.Secure {
		t.Error("not Secure though configured")
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
	synctest.Test(t, func(t *testing.T) {
		x := newLiveSite(t)
		h := x.session()
		c := x.openWith(h)
		next(t, c)
		req := httptest.NewRequest("DELETE", apiBase+"/session", nil)
		req.Host = "127.0.0.1:8080"
		req.Header.Set("Cookie", h.Get("Cookie"))
		w := httptest.NewRecorder()
		x.srv.Handler().ServeHTTP(w, req)
		if w.Code != 204 {
			t.Fatalf("sign out: %d %s", w.Code, w.Body)
		}
		if _, err := hear(c); closeCode(err) != closeSignedOut {
			t.Errorf("got %v, want close code %d", err, closeSignedOut)
		}
	})
}

// Until somebody has set a password only this machine is answered; there the
// first lead is made, once.
func TestSetUp(t *testing.T) {
	s := newShop().stock()
	x := newSite(t, s)
	if err := MayListen(t.Context(), s, "0.0.0.0:8080"); lab.KindOf(err) != lab.KindForbidden || !strings.Contains(err.Error(), "password") {
		t.Errorf("0.0.0.0 before a password: %v", err)
	}
	for _, addr := range []string{"127.0.0.1:8080", "localhost:0", "[::1]:8080"} {
		if err := MayListen(t.Context(), s, addr); err != nil {
			t.Errorf("%s: %v", addr, err)
		}
	}
	for _, addr := range []string{":8080", "[::]:8080", "192.0.2.1:80"} {
		if err := MayListen(t.Context(), s, addr); lab.KindOf(err) != lab.KindForbidden {
			t.Errorf("%s before a password: %v", addr, err)
		}
	}
	if err := MayListen(t.Context(), s, "8080"); lab.KindOf(err) != lab.KindInvalid {
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
	if len(s.users) != 0 {
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
	if made != 1 || len(s.users) != 1 || s.users["Wren"].Role != lab.RoleLead {
		t.Errorf("%d set-ups, users %v", made, s.users)
	}
	if err := MayListen(t.Context(), s, ":8080"); err != nil {
		t.Errorf("after: %v", err)
	}
	if resp := x.from("192.0.2.7:5", "GET", apiBase+"/session", "board:8080", "", nil); resp.StatusCode != 200 {
		t.Errorf("from elsewhere after: %d", resp.StatusCode)
	}
	x.signIn("Wren", "correct horse")
}

func TestDemoPassword(t *testing.T) {
	s := newShop()
	x := newSite(t, s)
	_, first, err := DemoPassword(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	name, second, err := DemoPassword(t.Context(), s)
	if err != nil || first == second || len(s.users) != 1 {
		t.Fatalf("%q %q %v %v", first, second, err, s.users)
	}
	x.signIn(name, second)
}
