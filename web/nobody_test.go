package web

import (
	"crypto/tls"
	"encoding/json"
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

	"github.com/gorilla/websocket"

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

// Which pages may open the live socket, to the letter.
func TestSocketOriginIsExact(t *testing.T) {
	o := newOrigins([]string{"https://board.example"})
	session := identity{Name: "Wren", session: "s"}
	for origin, want := range map[string]bool{
		"http://lab.example:8080": true, "https://board.example": true, "HTTPS://Board.Example": true,
		"http://evil-lab.example:8080": false, "http://evil.lab.example:8080": false, "http://lab.example:8080.evil.example": false,
		"http://lab.example": false, "http://lab.example:80": false, "https://evilboard.example": false, "https://board.example.evil": false,
		"http://board.example": false, "null": false, "": false, "http://": false,
	} {
		r := httptest.NewRequest("GET", "http://lab.example:8080/api/v1/live", nil)
		if origin != "" {
			r.Header.Set("Origin", origin)
		}
		if got := o.admits(r, session); got != want {
			t.Errorf("origin %q: %v, want %v", origin, got, want)
		}
	}
}

// One credential cannot take all sockets.
func TestSocketsOfOneAreBounded(t *testing.T) {
	s := newShop().stock()
	x := newSite(t, s, func(c *Config) { c.Socket.MaxOfOne = 2 })
	dial := func(role string) (*websocket.Conn, int) {
		h := http.Header{"Authorization": {"Bearer " + x.tokens[role]}}
		c, resp, err := websocket.DefaultDialer.DialContext(t.Context(), "ws"+strings.TrimPrefix(x.http.URL, "http")+apiBase+"/live", h)
		if err == nil {
			t.Cleanup(func() { c.Close() })
		}
		return c, resp.StatusCode
	}
	first, _ := dial(lab.RoleViewer)
	dial(lab.RoleViewer)
	if _, code := dial(lab.RoleViewer); code != 429 {
		t.Errorf("the third: %d, want 429", code)
	}
	if _, code := dial(lab.RoleOperator); code != 101 {
		t.Errorf("somebody else's first: %d", code)
	}
	first.Close()
	for deadline := time.Now().Add(10 * time.Second); ; {
		x.srv.hub.mu.Lock()
		n := len(x.srv.hub.places)
		x.srv.hub.mu.Unlock()
		if n == 2 {
			break
		}
		if time.Now().After(deadline) {
			t.Fatal("a closed socket keeps its place")
		}
		runtime.Gosched()
	}
	if _, code := dial(lab.RoleViewer); code != 101 {
		t.Errorf("after one was closed: %d", code)
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

// What is withdrawn holds no longer than the next request, nor do sockets.
func TestWithdrawal(t *testing.T) {
	x := busySite(t)
	if err := CreateUser(t.Context(), x.shop, "Heron", lab.RoleLead, "fixer on tuesday"); err != nil {
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
	ws, _, err := websocket.DefaultDialer.DialContext(t.Context(), "ws"+strings.TrimPrefix(x.http.URL, "http")+apiBase+"/live",
		http.Header{"Cookie": {wren.Name + "=" + wren.Value}, "Origin": {x.http.URL}})
	if err != nil {
		t.Fatal(err)
	}
	defer ws.Close()
	if resp, _ := x.do("DELETE", apiBase+"/users/Wren", lab.RoleLead, ""); resp.StatusCode != 204 {
		t.Errorf("remove: %d", resp.StatusCode)
	}
	if resp, _ := x.do("GET", apiBase+"/units", "", "", as(wren)); resp.StatusCode != 401 {
		t.Errorf("a removed person reads: %d, want 401", resp.StatusCode)
	}
	_ = ws.SetReadDeadline(time.Now().Add(4 * time.Second)) // sooner than the usual look
	for err = nil; err == nil; {
		_, _, err = ws.ReadMessage()
	}
	if closeCode(err) != closeSignedOut {
		t.Errorf("the socket of a removed person: %v", err)
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
	x.mu.Lock()
	for k, v := range x.shop.tokens {
		if v.Name == "scanner" {
			v.ExpiresAt = time.Now().Add(-time.Second)
			x.shop.tokens[k] = v
		}
	}
	x.mu.Unlock()
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
