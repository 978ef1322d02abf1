package web

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"testing"

	"wetside/internal/lab"
)

func TestReadyz(t *testing.T) {
	var why error
	x := newSite(t, newShop(), func(c *Config) { c.Ready = func(context.Context) error { return why } })
	if resp, b := x.do("GET", "/readyz", "", ""); resp.StatusCode != 200 {
		t.Errorf("ready: %d %s", resp.StatusCode, b)
	}
	why = errors.Join(errors.New("the broker session is not subscribed"), errors.New("the state is not rebuilt yet"))
	resp, b := x.do("GET", "/readyz", "", "")
	checkProblem(t, resp, b)
	var p struct{ Reasons []string }
	if err := json.Unmarshal(b, &p); err != nil || resp.StatusCode != 503 || len(p.Reasons) != 2 || !strings.Contains(string(b), "not ready: the broker session is not subscribed; the state") {
		t.Errorf("%d %s", resp.StatusCode, b)
	}
	if resp, _ := x.do("GET", "/healthz", "", ""); resp.StatusCode != 200 {
		t.Errorf("healthz: %d", resp.StatusCode)
	}
}

// from sends a request to the handler as if from another machine.
func (x *site) from(addr, method, path, host, body string, h http.Header) *http.Response {
	req := httptest.NewRequest(method, path, strings.NewReader(body))
	req.RemoteAddr, req.Host = addr, host
	for k, v := range h {
		req.Header[k] = v
	}
	w := httptest.NewRecorder()
	x.srv.Handler().ServeHTTP(w, req)
	return w.Result()
}

func TestMetricsAreForThisMachineOrAToken(t *testing.T) {
	x := newSite(t, newShop(), func(c *Config) {
		c.Metrics = http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, "up 1") })
	})
	x.ByName["Wren"] = lab.User{Name: "Wren", Role: lab.RoleLead}
	token := http.Header{"Authorization": {"Bearer " + x.tokens[lab.RoleViewer]}}
	proxied := http.Header{"X-Forwarded-For": {"192.0.2.7"}}
	for _, c := range []struct {
		why, addr, host string
		h               http.Header
		want            int
	}{
		{"this machine", "127.0.0.1:5", "127.0.0.1:8080", nil, 200},
		{"this machine, IPv6", "[::1]:5", "[::1]:8080", nil, 200},
		{"through a proxy here", "127.0.0.1:5", "127.0.0.1:8080", proxied, 401},
		{"under a name that was pointed here", "127.0.0.1:5", "tern-street.example", nil, 401},
		{"another machine", "192.0.2.7:5", "board:8080", nil, 401},
		{"another machine with a token", "192.0.2.7:5", "board:8080", token, 200},
	} {
		if resp := x.from(c.addr, "GET", "/metrics", c.host, "", c.h); resp.StatusCode != c.want {
			t.Errorf("%s: %d, want %d", c.why, resp.StatusCode, c.want)
		}
	}
}

func TestCrossOriginChangesAreRefused(t *testing.T) {
	x := newSite(t, newShop().stock(), func(c *Config) { c.Origins = []string{"https://board.example"} })
	for origin, want := range map[string]int{
		x.http.URL: 200, "https://board.example": 200, "https://tern-street.example": 403, "null": 403,
	} {
		resp, b := x.do("POST", apiBase+"/alerts/a-1/acknowledge", lab.RoleOperator, `{}`, func(r *http.Request) { r.Header.Set("Origin", origin) })
		if resp.StatusCode != want {
			t.Errorf("from %s: %d %s, want %d", origin, resp.StatusCode, b, want)
		}
	}
	resp, b := x.do("POST", apiBase+"/alerts/a-1/acknowledge", lab.RoleOperator, `{}`, func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") })
	if resp.StatusCode != 403 {
		t.Errorf("Sec-Fetch-Site cross-site: %d, want 403", resp.StatusCode)
	}
	checkProblem(t, resp, b)
}

func TestSecureHeaders(t *testing.T) {
	x := newSite(t, newShop())
	for _, path := range []string{"/", "/readyz", apiBase + "/units", apiBase + "/openapi.yaml", "/assets/none.js"} {
		resp, _ := x.do("GET", path, "", "")
		csp := resp.Header.Get("Content-Security-Policy")
		if !strings.Contains(csp, "default-src 'self'") || strings.Contains(csp, "unsafe") || strings.Contains(csp, "http") {
			t.Errorf("%s: Content-Security-Policy %q", path, csp)
		}
		for _, h := range []string{"X-Content-Type-Options", "X-Frame-Options", "Referrer-Policy"} {
			if resp.Header.Get(h) == "" {
				t.Errorf("%s: no %s", path, h)
			}
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
		s.ByName["Wren"] = lab.User{Name: "Wren", Role: lab.RoleLead}
		x := newSite(t, s, edit)
		if resp := x.from("127.0.0.1:5", "GET", "/metrics", "127.0.0.1:8080", "", nil); resp.StatusCode != 401 {
			t.Errorf("%s: metrics from loopback: %d, want 401", why, resp.StatusCode)
		}
	}
}

// Under HTTPS browsers are told to stay with it.
func TestStrictTransport(t *testing.T) {
	plain := newSite(t, newShop()).srv
	origin := newSite(t, newShop(), func(c *Config) { c.Origins = []string{"https://board.example"} }).srv
	for s, want := range map[*Server]string{plain: "", origin: "max-age=31536000"} {
		r := httptest.NewRequest("GET", "/", nil)
		r.Host, r.RemoteAddr = "board.example", "192.0.2.1:9"
		w := httptest.NewRecorder()
		s.Handler().ServeHTTP(w, r)
		if got := w.Header().Get("Strict-Transport-Security"); got != want {
			t.Errorf("Strict-Transport-Security %q, want %q", got, want)
		}
	}
}
