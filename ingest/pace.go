package ingest

import (
	"sync"
	"time"

	"wetside/internal/lab"
)

const (
	paceWindow = 64              // messages that are judged together
	paceLeast  = 8               // and how many of them there must be
	fresh      = 5 * time.Second // an offset that a sound clock keeps
	paceSpan   = 2 * time.Second // over which a unit's pace is measured
	quiet      = time.Second     // without a message there is no backlog
)

// pace tells a backlog from live telemetry. A broker keeps a session's order,
// so once what was just sent arrives the backlog before it is through. A
// message is live when its clock says so or, for a unit whose clock is off,
// when the unit's time passes no faster than ours.
type pace struct {
	mu     sync.Mutex
	link   *link
	since  time.Time
	recent [paceWindow]bool
	n      int
	caught bool
	units  map[lab.UnitID]anchor
}

type anchor struct{ at, received time.Time }

// start begins anew with a link.
func (p *pace) start(l *link) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.link, p.since, p.n, p.caught, p.units = l, time.Now(), 0, false, map[lab.UnitID]anchor{}
}

// observe takes in what was committed; l is the link it came over.
func (p *pace) observe(msgs []lab.Message, l *link) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.caught || l != p.link {
		return
	}
	for i := range msgs {
		m := &msgs[i]
		if m.Will || m.Retained || m.AtReplaced {
			continue
		}
		live, known := p.live(m)
		if known {
			p.recent[p.n%paceWindow] = live
			p.n++
		}
	}
	p.caught = p.mostlyLive()
}

func (p *pace) live(m *lab.Message) (live, known bool) {
	if m.Received.Sub(m.At).Abs() <= fresh {
		return true, true
	}
	from, seen := p.units[m.Unit]
	took := m.Received.Sub(from.received)
	if !seen {
		p.units[m.Unit] = anchor{m.At, m.Received}
		return false, true
	}
	if took < paceSpan {
		return false, false
	}
	p.units[m.Unit] = anchor{m.At, m.Received}
	return m.At.Sub(from.at) < took+took/2, true
}

func (p *pace) mostlyLive() bool {
	n := min(p.n, paceWindow)
	live := 0
	for _, l := range p.recent[:n] {
		if l {
			live++
		}
	}
	return n >= paceLeast && 2*live >= n
}

// through tells whether the backlog of this link is through; last is when the
// last message came.
func (p *pace) through(now, last time.Time) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if last.Before(p.since) {
		last = p.since
	}
	if now.Sub(last) >= quiet {
		p.caught = true
	}
	return p.caught
}
