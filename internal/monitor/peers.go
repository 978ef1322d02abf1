package monitor

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"crypto/tls"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"os"
	"time"

	"wetside/internal/lab"
	"wetside/internal/monitor/listener"
	"wetside/internal/postgres"
)

// machine is the name of this machine, as people know it.
func machine() string {
	name, err := os.Hostname()
	if err != nil || name == "" {
		return "a machine without a name"
	}
	return name
}

// self is what this process tells others on the same database, for them to
// forward to it.
func (p *Program) self(secure *tls.Config) postgres.Self {
	s := postgres.Self{Machine: machine(), Address: p.cfg.PeerAddress}
	if s.Address == "" {
		s.Address = p.peerAddress()
	}
	if secure == nil {
		return s
	}
	if c, err := secure.GetCertificate(nil); err == nil && len(c.Certificate) > 0 {
		s.Certificate = listener.Fingerprint(c.Certificate[0])
	}
	return s
}

// peerAddress is where it listens; where that is everywhere, at the address by
// which it goes to the database, for there the others are.
func (p *Program) peerAddress() string {
	scheme := "http://"
	if p.cfg.TLSCert != "" {
		scheme = "https://"
	}
	host, port, err := net.SplitHostPort(p.listener.Addr())
	if err != nil {
		return ""
	}
	if ip := net.ParseIP(host); ip == nil || !ip.IsUnspecified() {
		return scheme + p.listener.Addr()
	}
	host = "127.0.0.1"
	if u, err := url.Parse(p.cfg.Database); err == nil && u.Hostname() != "" {
		// sends nothing: it asks which of this machine's addresses leads there
		if c, err := net.Dial("udp", net.JoinHostPort(u.Hostname(), "5432")); err == nil {
			host, _, _ = net.SplitHostPort(c.LocalAddr().String())
			c.Close()
		}
	}
	return scheme + net.JoinHostPort(host, port)
}

// forward shows what the holder shows, for as long as this process stands by.
func (p *Program) forward(ctx context.Context, h postgres.LeaseHolder) {
	why := "standing by: another wetside holds this lab, since " + p.clockTime(h.Since) + ", on " + h.Machine
	if h.Machine != machine() && onItsMachineOnly(h.Address) {
		p.listener.Waiting(why + ". Its pages are to be reached on that machine only: start it with --listen on an address of its network, or with --peer-address")
		return
	}
	if p.marks == nil {
		if key, err := p.store.Setting(ctx, settingPageKey); err == nil {
			p.marks = marksKey(key)
		}
	}
	p.listener.Forward(listener.Holder{Address: h.Address, Certificate: h.Certificate, Key: p.marks}, why)
}

func onItsMachineOnly(address string) bool {
	u, err := url.Parse(address)
	return err == nil && loopbackAddress(u.Host)
}

// marksKey signs for whom one wetside forwards to another: made from the key
// that signs links, which both have from the database.
func marksKey(pageKey []byte) []byte {
	mac := hmac.New(sha256.New, pageKey)
	mac.Write([]byte("forwarded by a standby"))
	return mac.Sum(nil)
}

// tookOverShown is how long it is told at least that this wetside took over:
// the other may be back before anybody has looked.
const tookOverShown = 10 * time.Minute

// takenOver tells that the machine that watched before does so no more, until
// another stands by again.
func (l *leader) takenOver(now time.Time) []lab.DutyFault {
	how, before := l.lease.Taken()
	if !l.p.tookOver || how != postgres.TakenEnded && how != postgres.TakenExpired {
		return nil
	}
	if now.Sub(l.since) > tookOverShown && len(l.lease.Standbys()) > 0 {
		return nil
	}
	said := "ended"
	if how == postgres.TakenExpired {
		said = "stopped answering"
	}
	return []lab.DutyFault{{Code: lab.FaultTakenOver, Subject: fmt.Sprintf("term %d", l.lease.Term()), Since: lab.AtPtr(l.since), PageAfter: atOnce,
		Text:        "Wetside on " + machine() + " took over the lab at " + l.clockWords(l.since) + ": wetside on " + before.Machine + " " + said,
		Consequence: "The units are watched from " + machine() + ". Unless wetside runs on " + before.Machine + " again, nothing takes over when this one fails too.",
		Response:    "Look at " + before.Machine + ": its power, its network, the log of wetside. Start wetside there again.",
	}}
}

// othersWatch tells whether another wetside that stood by has the lab now: this
// one may be the only one that does not reach the database.
func (p *Program) othersWatch(ctx context.Context) bool {
	if p.lastLease == nil {
		return false
	}
	for _, s := range p.lastLease.Standbys() {
		if s.Address != "" && listener.Ready(ctx, listener.Holder{Address: s.Address, Certificate: s.Certificate}) == http.StatusOK {
			return true
		}
	}
	return false
}
