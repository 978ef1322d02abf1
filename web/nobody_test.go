package web

import (
	"crypto/tls"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"runtime"
	"strings"
	"testing"
	"testing/synctest"
	"time"

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
		{"the mark of another button", x.srv.formMark("good", "call-next", ""), none},
		{"the mark of another link", x.srv.formMark("old", "acknowledge", ""), none},
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

// Nobody can make wetside remember much, nor begin anew by guessing widely.
func TestLinkLimit(t *testing.T) {
	var l windowed
	for range linksAnAddress {
		if !l.take(t0, "192.0.2.1", linksAnAddress) {
			t.Fatal("refused too early")
		}
	}
	if l.take(t0, "192.0.2.1", linksAnAddress) {
		t.Error("the limit does not hold")
	}
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	long := strings.Repeat("x", 30_000)
	for i := range 200_000 {
		l.take(t0, fmt.Sprint("192.0.2.2", i%7, long[:i%100]), linksAnAddress)
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	if grown := int64(after.HeapAlloc) - int64(before.HeapAlloc); grown > 1<<20 {
		t.Errorf("%d bytes are remembered", grown)
	}
	if l.take(t0, "192.0.2.1", linksAnAddress) {
		t.Error("other addresses made the limit forget")
	}
	if !l.take(t0.Add(time.Minute), "192.0.2.1", linksAnAddress) {
		t.Error("a minute later still refused")
	}
	x := busySite(t)
	if resp, _ := x.do("GET", "/p/"+strings.Repeat("y", longestToken+1), "", ""); resp.StatusCode != 429 {
		t.Errorf("a token longer than any: %d", resp.StatusCode)
	}
	refused := 0
	for i := range linksAnAddress + 5 {
		if resp := x.from("192.0.2.9:1", "GET", fmt.Sprintf("/p/guess-%d", i), "board", "", nil); resp.StatusCode == 429 {
			refused++
		}
	}
	if refused == 0 {
		t.Error("guesses of many tokens from one address are not limited")
	}
}

// Who forwards is believed only where it was named.
func TestClientAddr(t *testing.T) {
	x := newSite(t, newShop(), func(c *Config) {
		c.Proxies = []netip.Prefix{netip.MustParsePrefix("10.0.0.0/24"), netip.MustParsePrefix("127.0.0.1/32")}
	})
	for _, c := range []struct{ why, wire, xff, forwarded, want string }{
		{"nobody between", "192.0.2.7:5", "", "", "192.0.2.7"},
		{"a stranger says who it is", "192.0.2.7:5", "198.51.100.1", "", "192.0.2.7"},
		{"a proxy", "10.0.0.2:5", "198.51.100.1", "", "198.51.100.1"},
		{"what the client wrote stands before it", "10.0.0.2:5", "1.2.3.4, 198.51.100.1", "", "198.51.100.1"},
		{"two proxies", "10.0.0.2:5", "1.2.3.4, 198.51.100.1, 10.0.0.9", "", "198.51.100.1"},
		{"RFC 7239", "10.0.0.2:5", "", `for=1.2.3.4, For="198.51.100.1:4711";proto=https`, "198.51.100.1"},
		{"RFC 7239, IPv6", "127.0.0.1:5", "", `for="[2001:db8:1:2::7]:80"`, "2001:db8:1:2::/64"},
		{"both, and they differ", "10.0.0.2:5", "198.51.100.1", "for=198.51.100.2", "10.0.0.2"},
		{"nonsense", "10.0.0.2:5", "198.51.100.1, unknown", "", "10.0.0.2"},
		{"one subscriber's IPv6", "[2001:db8:1:2:3::9]:5", "", "", "2001:db8:1:2::/64"},
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.RemoteAddr = c.wire
		if c.xff != "" {
			r.Header.Set("X-Forwarded-For", c.xff)
		}
		if c.forwarded != "" {
			r.Header.Set("Forwarded", c.forwarded)
		}
		if got := x.srv.clientAddr(r); got != c.want {
			t.Errorf("%s: %s, want %s", c.why, got, c.want)
		}
	}
}

// Once pages are opened through a proxy nobody is on this machine.
func TestNobodyIsLocalBehindAProxy(t *testing.T) {
	for why, edit := range map[string]func(*Config){
		"an origin": func(c *Config) { c.Origins = []string{"https://board.example"} },
		"a proxy":   func(c *Config) { c.Proxies = []netip.Prefix{netip.MustParsePrefix("10.0.0.2/32")} },
	} {
		s := newShop()
		s.users["Wren"] = lab.User{Name: "Wren", Role: lab.RoleLead}
		x := newSite(t, s, edit)
		if resp := x.from("127.0.0.1:5", "GET", "/metrics", "127.0.0.1:8080", "", nil); resp.StatusCode != 401 {
			t.Errorf("%s: metrics from loopback: %d, want 401", why, resp.StatusCode)
		}
	}
}

// Failures slow a name from an address, longer each time; others at that
// address, the person elsewhere and on a device that is known are let in.
func TestSignInAttempts(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		a := newAttempts(lab.SystemClock{})
		fail := func(name, addr, device string) time.Duration {
			try := signInAttempt(name, addr, device)
			wait := a.begin(try)
			if wait == 0 {
				a.end(try)
			}
			return wait
		}
		for i := range attemptsFree {
			if wait := fail("Wren", "192.0.2.1", ""); wait != 0 {
				t.Fatalf("attempt %d must wait %s", i+1, wait)
			}
		}
		for _, want := range []time.Duration{30 * time.Second, time.Minute, 2 * time.Minute, 4 * time.Minute, 8 * time.Minute, attemptsLongWait, attemptsLongWait} {
			if wait := fail("Wren", "192.0.2.1", ""); wait != want {
				t.Fatalf("waits %s, want %s", wait, want)
			}
			time.Sleep(want)
			if wait := fail("Wren", "192.0.2.1", ""); wait != 0 {
				t.Fatalf("after %s still %s", want, wait)
			}
		}
		for name, wait := range map[string]time.Duration{
			"Robin at that address": fail("Robin", "192.0.2.1", ""), "Wren elsewhere": fail("Wren", "192.0.2.2", ""), "Wren's own device": fail("Wren", "192.0.2.1", "d1"),
		} {
			if wait != 0 {
				t.Errorf("%s waits %s", name, wait)
			}
		}
		for i := range 3 * attemptsFreeName { // from everywhere
			fail("Siskin", fmt.Sprintf("198.51.100.%d", i), "")
		}
		if fail("Siskin", "203.0.113.1", "") == 0 {
			t.Error("a name is guessed from everywhere without a limit")
		}
		if wait := fail("Siskin", "203.0.113.1", "d2"); wait != 0 {
			t.Errorf("strangers lock Siskin out of a known device: %s", wait)
		}
		ok := signInAttempt("Wren", "192.0.2.2", "")
		a.succeed(ok)
		for range attemptsFree {
			if fail("Wren", "192.0.2.2", "") != 0 {
				t.Error("a success did not clear the failures")
			}
		}
		for i := range attemptsRemember + 300 {
			fail(fmt.Sprint("x", i), "192.0.2.9", "")
		}
		if len(a.fails) > attemptsRemember+3 {
			t.Errorf("%d failures are remembered", len(a.fails))
		}
		if fail("Wren", "192.0.2.2", "") == 0 {
			t.Error("failures under other names made these forgotten")
		}
	})
}

// Passwords that wait to be looked at are bounded too.
func TestSignInsAtOnceAreBounded(t *testing.T) {
	a := newAttempts(lab.SystemClock{})
	taken := 0
	for i := range 100 {
		if a.begin(signInAttempt(fmt.Sprint("n", i), "192.0.2.1", "")) == 0 {
			taken++
		}
	}
	if taken != lookingAtAddr {
		t.Errorf("%d at once from one address, want %d", taken, lookingAtAddr)
	}
	if a.begin(signInAttempt("Wren", "192.0.2.2", "")) != 0 {
		t.Error("another address must wait")
	}
}

// A stranger at the lab's own address keeps nobody out.
func TestStrangerLocksNobodyOut(t *testing.T) {
	x := busySite(t)
	resp, _ := x.do("POST", apiBase+"/session", "", `{"name":"Wren","password":"correct horse"}`)
	var device *http.Cookie
	for _, c := range resp.Cookies() {
		if strings.HasPrefix(c.Name, deviceCookie) {
			device = c
		}
	}
	if device == nil || !device.HttpOnly || device.SameSite != http.SameSiteStrictMode {
		t.Fatalf("the device is not remembered: %v", resp.Cookies())
	}
	if err := CreateUser(t.Context(), x.shop, "Robin", lab.RoleOperator, "battery staple"); err != nil {
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
	x := busySite(t)
	cookie := x.signIn("Wren", "correct horse")
	codes := map[int]int{}
	for range 40 {
		resp, _ := x.do("POST", apiBase+"/session/password", "", `{"current":"wrong wrong","new":"battery staple"}`, func(r *http.Request) { r.AddCookie(cookie) })
		codes[resp.StatusCode]++
	}
	if codes[403] != attemptsFree || codes[429] != 40-attemptsFree {
		t.Errorf("answers %v, want %d of 403 and the rest 429", codes, attemptsFree)
	}
}

// Cookies of two wetsides on one host are two; under HTTPS they are its own.
func TestCookieNames(t *testing.T) {
	plain := newSite(t, newShop()).srv
	origin := newSite(t, newShop(), func(c *Config) { c.Origins = []string{"https://board.example"} }).srv
	proxied := newSite(t, newShop(), func(c *Config) { c.Proxies = []netip.Prefix{netip.MustParsePrefix("192.0.2.1/32")} }).srv
	at := func(host string, edit ...func(*http.Request)) *http.Request {
		r := httptest.NewRequest("GET", "/", nil)
		r.Host, r.RemoteAddr = host, "192.0.2.1:9"
		for _, f := range edit {
			f(r)
		}
		return r
	}
	https := func(r *http.Request) { r.Header.Set("X-Forwarded-Proto", "https") }
	for _, c := range []struct {
		s    *Server
		r    *http.Request
		want string
	}{
		{plain, at("lab:8080"), "wetside_session_8080"},
		{plain, at("lab:8081"), "wetside_session_8081"},
		{plain, at("lab"), "wetside_session"},
		{plain, at("lab:8080", https), "wetside_session_8080"}, // anybody may say so
		{plain, at("lab:8080", func(r *http.Request) { r.TLS = &tls.ConnectionState{} }), "__Host-wetside_session_8080"},
		{proxied, at("lab:8080", https), "__Host-wetside_session_8080"},
		{origin, at("board.example"), "__Host-wetside_session"},
	} {
		got := c.s.cookie(c.r)
		if got.Name != c.want || got.Secure != strings.HasPrefix(c.want, "__Host-") || got.Path != "/" || got.Domain != "" {
			t.Errorf("%s: cookie %s, want %s", c.r.Host, got.String(), c.want)
		}
	}
	for s, want := range map[*Server]string{plain: "", origin: "max-age=31536000"} {
		w := httptest.NewRecorder()
		s.Handler().ServeHTTP(w, at("board.example"))
		if got := w.Header().Get("Strict-Transport-Security"); got != want {
			t.Errorf("Strict-Transport-Security %q, want %q", got, want)
		}
	}
}

// The list is from the data of zxcvbn: see passwords/README.md.
func TestCommonPasswordsAreRefused(t *testing.T) {
	s := newShop().stock()
	s.settings["tern-street/plover"] = lab.UnitSetting{Unit: "tern-street/plover", Name: "The old Plover"}
	for password, good := range map[string]bool{
		"password": false, "Password1": false, "12345678": false, "iloveyou": false, "qwertyuiop": false, "Baseball!!": false,
		"11111111": false, "aaaaaaaa": false, "wren wren": false, "Wren2026!!": false, "tern-street": false, "plover-1999": false, "wetside1": false,
		"correct horse": true, "battery staple": true, "fixer on tuesday": true, "x7#kQ9-vT2": true, "8813 0042 7719 5530": true,
	} {
		_, err := newPassword(t.Context(), s, "Wren", password)
		if good != (err == nil) {
			t.Errorf("%q: %v", password, err)
		}
	}
}
