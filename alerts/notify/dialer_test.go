package notify

import (
	"context"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"sync/atomic"
	"testing"

	"wetside/internal/lab"
)

// names is a resolver of a test: each look-up of a name gives the next answer.
type names struct {
	answers map[string][]string
	asked   atomic.Int64
}

func (n *names) LookupNetIP(_ context.Context, _, host string) ([]netip.Addr, error) {
	list := n.answers[host]
	if len(list) == 0 {
		return nil, &net.DNSError{Err: "no such host", Name: host, IsNotFound: true}
	}
	at := int(n.asked.Add(1)) - 1
	var out []netip.Addr
	for _, s := range strings.Fields(list[min(at, len(list)-1)]) {
		out = append(out, netip.MustParseAddr(s))
	}
	return out, nil
}

// Which addresses are dialed, as written and as what a name comes to. The
// ranges: RFC 6890 (special purpose), RFC 4291 (IPv6), RFC 6052 (NAT64), RFC
// 3056 (6to4); those of clouds from their handbooks, from memory.
func TestWhatIsDialed(t *testing.T) {
	for _, c := range []struct {
		host, answer string
		want         string // addresses dialed; empty: none
	}{
		{"hooks.example", "203.0.113.9", "203.0.113.9"},
		{"pager.lab", "192.168.1.20", "192.168.1.20"}, // the lab's own network is fine
		{"pager.lab", "10.0.0.5 fd12::5", "10.0.0.5 fd12::5"},
		{"evil.example", "127.0.0.1", ""},
		{"evil.example", "::1", ""},
		{"evil.example", "::ffff:127.0.0.1", ""},
		{"evil.example", "64:ff9b::7f00:1", ""},
		{"evil.example", "2002:7f00:1::", ""},
		{"evil.example", "::127.0.0.1", ""},
		{"evil.example", "169.254.169.254", ""},
		{"evil.example", "169.254.7.7", ""},
		{"evil.example", "fe80::1", ""},
		{"evil.example", "fd00:ec2::254", ""},
		{"evil.example", "100.100.100.200", ""},
		{"evil.example", "0.0.0.0", ""},
		{"evil.example", "0.1.2.3", ""},
		{"evil.example", "::", ""},
		{"evil.example", "224.0.0.1", ""},
		{"evil.example", "ff02::1", ""},
		{"evil.example", "255.255.255.255", ""},
		{"mixed.example", "127.0.0.1 203.0.113.9", "203.0.113.9"},
		{"127.0.0.1", "", "127.0.0.1"}, // a lead wrote it
		{"::1", "", "::1"},
		{"localhost", "127.0.0.1", "127.0.0.1"},
		{"LocalHost.", "127.0.0.1", "127.0.0.1"},
		{"localhost.evil.example", "127.0.0.1", ""},
		{"169.254.7.7", "", "169.254.7.7"},
		{"169.254.169.254", "", ""}, // not even then
		{"::ffff:169.254.169.254", "", ""},
		{"0.0.0.0", "", ""},
		{"224.0.0.1", "", ""},
	} {
		d := newDialer()
		n := &names{answers: map[string][]string{c.host: {c.answer}}}
		if c.answer == "" {
			n.answers = nil
		}
		d.resolver = n
		var dialed []string
		d.dial = func(_ context.Context, _, address string) (net.Conn, error) {
			host, _, _ := net.SplitHostPort(address)
			dialed = append(dialed, host)
			return nil, context.Canceled
		}
		_, err := d.DialContext(t.Context(), "tcp", net.JoinHostPort(c.host, "443"))
		if got := strings.Join(dialed, " "); got != c.want || err == nil {
			t.Errorf("%s (%s): dialed %q, %v; want %q", c.host, c.answer, got, err, c.want)
		}
		d.strict = true
		if dialed = nil; c.answer == "" {
			_, _ = d.DialContext(t.Context(), "tcp", net.JoinHostPort(c.host, "443"))
			if len(dialed) > 0 {
				t.Errorf("%s: dialed %v though nobody wrote it", c.host, dialed)
			}
		}
	}
}

// A name that is harmless at first and this machine's own afterwards: the
// page does not go there, and what was checked is what is dialed.
func TestNameThatRebinds(t *testing.T) {
	var hits atomic.Int64
	s := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { hits.Add(1) }))
	defer s.Close()
	_, port, _ := net.SplitHostPort(s.Listener.Addr().String())
	d := newDialer()
	d.resolver = &names{answers: map[string][]string{"rebind.example": {"203.0.113.9", "127.0.0.1"}}}
	var dialed []string
	real := d.dial
	d.dial = func(ctx context.Context, network, address string) (net.Conn, error) {
		dialed = append(dialed, address)
		if strings.HasPrefix(address, "203.0.113.9") { // as if it answered
			return real(ctx, network, s.Listener.Addr().String())
		}
		return real(ctx, network, address)
	}
	w := &Webhook{client: newClient(newTransport(d)), clock: lab.SystemClock{}}
	address := "http://rebind.example:" + port + "/hook"
	if err := w.Post(t.Context(), address, "", "id", []byte("{}")); err != nil {
		t.Fatal(err)
	}
	w.Close() // the next try opens a connection of its own
	err := w.Post(t.Context(), address, "", "id", []byte("{}"))
	if err == nil || !strings.Contains(err.Error(), "this machine itself") {
		t.Errorf("the second post: %v", err)
	}
	if hits.Load() != 1 || len(dialed) != 1 {
		t.Errorf("%d hits, dialed %v", hits.Load(), dialed)
	}
	w.Close()
}

// A receiver that answers by a redirect is not followed, wherever it leads.
func TestRedirectIsNotFollowed(t *testing.T) {
	var hits atomic.Int64
	inside := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { hits.Add(1) }))
	defer inside.Close()
	url, _ := receiver(t, func(w http.ResponseWriter, r *http.Request) {
		http.Redirect(w, r, inside.URL, http.StatusTemporaryRedirect)
	})
	w := hooked(t)
	if err := w.Post(t.Context(), url, "", "id", []byte("{}")); err == nil || !strings.Contains(err.Error(), "307") {
		t.Errorf("got %v", err)
	}
	if hits.Load() != 0 {
		t.Error("the redirect was followed")
	}
}

func TestAddressesThatCannotBeEntered(t *testing.T) {
	for _, a := range []string{"http://169.254.169.254/latest", "http://[::ffff:169.254.169.254]/", "https://0.0.0.0/", "http://224.0.0.1/x"} {
		if err := CheckWebhook(a); err == nil {
			t.Errorf("%s can be entered", a)
		}
	}
	for _, a := range []string{"http://127.0.0.1:9/phone", "http://192.168.1.20/x", "https://hooks.example/x"} {
		if err := CheckWebhook(a); err != nil {
			t.Errorf("%s: %v", a, err)
		}
	}
}
