package monitor

import (
	"net"
	"net/url"
	"slices"

	"wetside/internal/lab"
)

// reach is where others find this wetside, by what it listens on and what it
// was told.
func (p *Program) reach() lab.Reach {
	r := lab.Reach{Board: []string{}, Units: []string{}}
	if p.cfg.Address != "" {
		r.Board = append(r.Board, p.cfg.Address)
	}
	for _, o := range p.cfg.Origins {
		if !slices.Contains(r.Board, o) {
			r.Board = append(r.Board, o)
		}
	}
	scheme := "http://"
	if p.cfg.TLSCert != "" {
		scheme = "https://"
	}
	for _, at := range fromElsewhere(p.listener.Addr()) {
		r.Board = append(r.Board, scheme+at)
	}
	if len(r.Board) == 0 {
		r.BoardFlag = "--listen :" + portOf(p.listener.Addr(), "8080")
	}
	if p.broker == nil {
		if u, err := url.Parse(p.cfg.Broker); err == nil && u.Host != "" {
			r.Units, r.UnitsTLS = append(r.Units, u.Host), u.Scheme == "mqtts"
		}
		return r
	}
	r.OwnBroker, r.UnitsTLS = true, p.cfg.MQTT.TLSCert != ""
	r.UnitsHere = "127.0.0.1:" + portOf(p.broker.Addr(), "1883")
	if r.Units = append(r.Units, fromElsewhere(p.broker.Addr())...); len(r.Units) == 0 {
		r.UnitsFlag = "--mqtt-listen :" + portOf(p.broker.Addr(), "1883")
	}
	return r
}

func portOf(addr, otherwise string) string {
	if _, port, err := net.SplitHostPort(addr); err == nil && port != "" && port != "0" {
		return port
	}
	return otherwise
}

// fromElsewhere gives the addresses at which other machines find what listens
// on addr, those of IPv4 first.
func fromElsewhere(addr string) []string {
	ifaces, _ := net.InterfaceAddrs() // none known: nothing is told
	var ips []net.IP
	for _, a := range ifaces {
		if n, ok := a.(*net.IPNet); ok {
			ips = append(ips, n.IP)
		}
	}
	return reachedAt(addr, ips)
}

func reachedAt(addr string, own []net.IP) []string {
	host, port, err := net.SplitHostPort(addr)
	ip := net.ParseIP(host)
	switch {
	case err != nil || host == "localhost" || ip != nil && ip.IsLoopback():
		return nil
	case host != "" && (ip == nil || !ip.IsUnspecified()):
		return []string{addr}
	}
	var out []string
	for _, four := range []bool{true, false} {
		for _, ip := range own {
			if ip.IsGlobalUnicast() && (ip.To4() != nil) == four {
				out = append(out, net.JoinHostPort(ip.String(), port))
			}
		}
	}
	return out
}
