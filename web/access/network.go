package access

import (
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
)

// network is what is known of the way that requests take. What a proxy says
// about it is believed only from proxies that were named: anybody else may
// write the same headers.
type network struct {
	proxies       []netip.Prefix
	listed        []string            // origins of pages elsewhere that may change things here
	origins       map[string]struct{} // listed, in lower case
	secureCookies bool
}

func newNetwork(cfg Config) network {
	n := network{proxies: cfg.Proxies, listed: cfg.Origins, origins: map[string]struct{}{}, secureCookies: cfg.SecureCookies}
	for _, o := range cfg.Origins {
		n.origins[strings.ToLower(o)] = struct{}{}
	}
	return n
}

// ClientAddr gives the address a request comes from, as limits go by it: the
// one on the wire, or, behind named proxies, the last one on the way that is
// none of them.
func (n network) ClientAddr(r *http.Request) string {
	wire := wireAddr(r)
	if !n.trusted(wire) {
		return bucketOf(wire)
	}
	plain, named := n.hop(forwardedFor(r.Header)), n.hop(forwarded(r.Header))
	switch {
	case !plain.IsValid() && !named.IsValid():
		return bucketOf(wire)
	case !named.IsValid() || plain == named:
		return bucketOf(plain)
	case !plain.IsValid():
		return bucketOf(named)
	}
	// A proxy writes one of the two headers and passes the other on as the
	// client sent it. Nobody said which, so neither is believed.
	return bucketOf(wire)
}

// handedOn tells whether somebody between says that they passed a request on.
func handedOn(h http.Header) bool {
	for name := range h {
		if name == "Forwarded" || name == "X-Real-Ip" || name == "Via" || strings.HasPrefix(name, "X-Forwarded-") {
			return true
		}
	}
	return false
}

func wireAddr(r *http.Request) netip.Addr {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		host = r.RemoteAddr
	}
	a, _ := netip.ParseAddr(host) // else the zero address: no proxy
	return a.Unmap().WithZone("")
}

func (n network) trusted(a netip.Addr) bool {
	for _, p := range n.proxies {
		if p.Contains(a) {
			return true
		}
	}
	return false
}

// hop gives the last address of a chain that is no named proxy. An entry that
// is no address ends the search: whoever wrote it may have invented all before.
func (n network) hop(chain []string) netip.Addr {
	var last netip.Addr
	for i := len(chain) - 1; i >= 0; i-- {
		a, ok := hopAddr(chain[i])
		if !ok {
			return last
		}
		if last = a; !n.trusted(a) {
			return a
		}
	}
	return last
}

func hopAddr(text string) (netip.Addr, bool) {
	text = strings.Trim(strings.TrimSpace(text), `"`)
	if host, _, err := net.SplitHostPort(text); err == nil {
		text = host
	}
	a, err := netip.ParseAddr(strings.Trim(text, "[]"))
	return a.Unmap().WithZone(""), err == nil
}

func forwardedFor(h http.Header) []string {
	return commas(h.Values("X-Forwarded-For"))
}

// forwarded reads the for= parameters of RFC 7239, section 4.
func forwarded(h http.Header) []string {
	var chain []string
	for _, element := range commas(h.Values("Forwarded")) {
		node := ""
		for pair := range strings.SplitSeq(element, ";") {
			if name, value, _ := strings.Cut(strings.TrimSpace(pair), "="); strings.EqualFold(name, "for") {
				node = value
			}
		}
		chain = append(chain, node)
	}
	return chain
}

func commas(lines []string) []string {
	if len(lines) == 0 {
		return nil
	}
	return strings.Split(strings.Join(lines, ","), ",")
}

// bucketOf is what limits go by: an IPv4 address, or the /64 that one
// subscriber has in IPv6 (RFC 6177).
func bucketOf(a netip.Addr) string {
	if a.Is6() {
		if p, err := a.Prefix(64); err == nil {
			return p.String()
		}
	}
	return a.String()
}

// Local tells whether a request comes from this very machine, by a name that
// means this machine. Where a proxy or another origin is configured it never
// does: a proxy on this machine passes on everybody's requests from loopback.
func (n network) Local(r *http.Request) bool {
	if len(n.origins) > 0 || len(n.proxies) > 0 || handedOn(r.Header) || !wireAddr(r).IsLoopback() {
		return false
	}
	host := r.Host
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	return LoopbackHost(strings.Trim(host, "[]"))
}

// Secure tells whether the browser at the other end speaks HTTPS.
func (n network) Secure(r *http.Request) bool {
	if n.secureCookies || r.TLS != nil {
		return true
	}
	return n.trusted(wireAddr(r)) && strings.EqualFold(r.Header.Get("X-Forwarded-Proto"), "https")
}

// cookieName is the name of a cookie: cookies go to every port of a host
// (RFC 6265, section 8.5), so the port stands in it; and under HTTPS the
// prefix that no other host can write (draft-ietf-httpbis-rfc6265bis, 4.1.3).
func (n network) cookieName(r *http.Request, base string) string {
	if _, port, err := net.SplitHostPort(r.Host); err == nil && isPort(port) {
		base += "_" + port
	}
	if n.Secure(r) {
		base = "__Host-" + base
	}
	return base
}

func isPort(s string) bool {
	return len(s) > 0 && len(s) <= 5 && strings.Trim(s, "0123456789") == ""
}

// LoopbackHost tells whether host, an address or "localhost", is this machine
// only. An empty host means every address.
func LoopbackHost(host string) bool {
	if host == "localhost" {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}

// MayOpenSocket tells whether a page that a request comes from may open a
// socket. A request that names no origin comes from no page: it must bring a
// token, because a cookie is sent by browsers only.
func (n network) MayOpenSocket(r *http.Request, who Identity) bool {
	origin := r.Header.Get("Origin")
	if origin == "" {
		return who.ByToken()
	}
	return n.ours(origin, r.Host)
}

// ours tells whether an origin is one of those listed, or of the host that is
// asked.
func (n network) ours(origin, host string) bool {
	if _, listed := n.origins[strings.ToLower(origin)]; listed {
		return true
	}
	u, err := url.Parse(origin)
	return err == nil && strings.EqualFold(u.Host, host)
}
