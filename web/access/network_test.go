package access

import (
	"crypto/tls"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"testing"

	"wetside/web/access/accesstest"
)

// Who forwards is believed only where it was named.
func TestClientAddr(t *testing.T) {
	a := newAccess(t, accesstest.New(), func(c *Config) {
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
		if got := a.ClientAddr(r); got != c.want {
			t.Errorf("%s: %s, want %s", c.why, got, c.want)
		}
	}
}

// Cookies of two wetsides on one host are two; under HTTPS they are its own.
func TestCookieNames(t *testing.T) {
	plain := newAccess(t, accesstest.New())
	origin := newAccess(t, accesstest.New(), func(c *Config) { c.SecureCookies = true })
	proxied := newAccess(t, accesstest.New(), func(c *Config) { c.Proxies = []netip.Prefix{netip.MustParsePrefix("192.0.2.1/32")} })
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
		a    *Authenticator
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
		got := c.a.cookie(c.r)
		if got.Name != c.want || got.Secure != strings.HasPrefix(c.want, "__Host-") || got.Path != "/" || got.Domain != "" {
			t.Errorf("%s: cookie %s, want %s", c.r.Host, got.String(), c.want)
		}
	}
}

func TestCookieIsSecureUnderTLS(t *testing.T) {
	if c := newAccess(t, accesstest.New()).cookie(&http.Request{TLS: &tls.ConnectionState{}}); !c.Secure {
		t.Error("not Secure under TLS")
	}
	secure := newAccess(t, accesstest.New(), func(c *Config) { c.SecureCookies = true })
	if c := secure.cookie(&http.Request{}); !c.Secure {
		t.Error("not Secure though configured")
	}
}

// Which pages may open the live socket, to the letter.
func TestSocketOriginIsExact(t *testing.T) {
	a := newAccess(t, accesstest.New(), func(c *Config) { c.Origins = []string{"https://board.example"} })
	session := Identity{Name: "Wren", credential: Credential{session: "s"}}
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
		if got := a.MayOpenSocket(r, session); got != want {
			t.Errorf("origin %q: %v, want %v", origin, got, want)
		}
	}
}
