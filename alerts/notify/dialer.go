package notify

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"time"
)

// resolver looks names up. *net.Resolver is one.
type resolver interface {
	LookupNetIP(ctx context.Context, network, host string) ([]netip.Addr, error)
}

// dialer opens the connections of all contact methods. It looks at the address
// that a name comes to, at the moment when it connects, and then connects to
// that address and no other: a name that is harmless when it is entered may
// lead to this machine later. Addresses of the lab's own network are fine;
// those of this machine and of the link only where a person wrote the address
// itself; some never.
type dialer struct {
	resolver resolver
	strict   bool // nobody wrote the address: a browser gave it
	dial     func(ctx context.Context, network, address string) (net.Conn, error)
}

func newDialer() *dialer {
	return &dialer{resolver: net.DefaultResolver, dial: (&net.Dialer{Timeout: Timeout / 2, KeepAlive: 15 * time.Second}).DialContext}
}

// errForbidden is an address that no page goes to.
type errForbidden struct{ host, what string }

func (e *errForbidden) Error() string {
	return fmt.Sprintf("%s is %s; no page goes there", e.host, e.what)
}

// DialContext is for http.Transport and the mail client.
func (d *dialer) DialContext(ctx context.Context, network, address string) (net.Conn, error) {
	host, port, err := net.SplitHostPort(address)
	if err != nil {
		return nil, err
	}
	addresses, err := d.resolve(ctx, host)
	if err != nil {
		return nil, err
	}
	var errs []error
	for _, ip := range addresses {
		conn, err := d.dial(ctx, network, net.JoinHostPort(ip.String(), port))
		if err == nil {
			return conn, nil
		}
		errs = append(errs, err)
	}
	return nil, errors.Join(errs...)
}

// resolve gives the addresses of a host that may be connected to.
func (d *dialer) resolve(ctx context.Context, host string) ([]netip.Addr, error) {
	if ip, err := netip.ParseAddr(host); err == nil {
		if what := forbidden(ip, !d.strict); what != "" {
			return nil, &errForbidden{host, what}
		}
		return []netip.Addr{ip}, nil
	}
	found, err := d.resolver.LookupNetIP(ctx, "ip", host)
	if err != nil {
		return nil, err
	}
	// The name of this machine itself is as good as its address.
	written := isLocalhost(host) && !d.strict
	var allowed []netip.Addr
	var refused error
	for _, ip := range found {
		ip = ip.Unmap()
		if what := forbidden(ip, written); what != "" {
			refused = &errForbidden{host + " (" + ip.String() + ")", what}
			continue
		}
		allowed = append(allowed, ip)
	}
	if len(allowed) == 0 && refused == nil {
		refused = &net.DNSError{Err: "no such host", Name: host, IsNotFound: true}
	}
	if len(allowed) == 0 {
		return nil, refused
	}
	return allowed, nil
}

func isLocalhost(host string) bool {
	host = strings.ToLower(strings.TrimSuffix(host, "."))
	return host == "localhost"
}

// The addresses under which machines of a cloud ask for their own credentials.
var metadata = []netip.Addr{
	netip.MustParseAddr("169.254.169.254"), netip.MustParseAddr("169.254.170.2"),
	netip.MustParseAddr("100.100.100.200"), netip.MustParseAddr("fd00:ec2::254"),
}

// Addresses of IPv6 that carry one of IPv4 (RFC 6052, RFC 3056).
var (
	nat64   = netip.MustParsePrefix("64:ff9b::/96")
	sixTo4  = netip.MustParsePrefix("2002::/16")
	v4Lower = netip.MustParsePrefix("::/96")
)

// forbidden says what an address is that must not be connected to; empty: it
// may. written tells that a person wrote the address itself.
func forbidden(ip netip.Addr, written bool) string {
	ip = ip.Unmap().WithZone("")
	b := ip.As16()
	switch {
	case ip.Is6() && nat64.Contains(ip), ip.Is6() && v4Lower.Contains(ip) && !ip.IsLoopback() && !ip.IsUnspecified():
		return forbidden(netip.AddrFrom4([4]byte(b[12:16])), written)
	case sixTo4.Contains(ip):
		return forbidden(netip.AddrFrom4([4]byte(b[2:6])), written)
	}
	for _, m := range metadata {
		if ip == m {
			return "where a cloud keeps its machines' credentials"
		}
	}
	switch {
	case ip.IsUnspecified() || ip.Is4() && ip.As4()[0] == 0:
		return "no address of any machine"
	case ip.IsMulticast() || ip.Is4() && ip.As4()[0] >= 240:
		return "an address of many machines at once"
	case ip.IsLoopback() && !written:
		return "this machine itself; a lead who means it enters the address, not a name"
	case ip.IsLinkLocalUnicast() && !written:
		return "an address of this link only; a lead who means it enters the address, not a name"
	}
	return ""
}

// checkHost says what is wrong with a host as it is entered; what a name comes
// to is looked at when it is dialed.
func checkHost(host string) error {
	if ip, err := netip.ParseAddr(host); err == nil {
		if what := forbidden(ip, true); what != "" {
			return &errForbidden{host, what}
		}
	}
	return nil
}

// proxied is the proxy that the environment of wetside names, which whoever
// runs the machine answers for. What lies behind it is looked at as far as it
// can be from here.
func proxied(req *http.Request) (*url.URL, error) {
	proxy, err := http.ProxyFromEnvironment(req)
	if err != nil || proxy == nil {
		return nil, err
	}
	return proxy, checkHost(req.URL.Hostname())
}
