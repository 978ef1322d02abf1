package monitor

import (
	"context"
	"errors"
	"strings"
	"syscall"
	"time"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/service"
)

// errListener says that the pages' listener ended: nothing can be shown any
// more.
var errListener = errors.New("the pages' listener ended")

// How long the service stands by after a failure before it tries again.
const (
	firstStandby = time.Second
	longStandby  = 15 * time.Second
)

// comesBack tells whether the service stands by and tries again after an error
// that ended a leader, or its start. A database that fails comes back; what was
// set up wrongly does not, and is told to who starts the service. Once it has
// worked here, or another wetside works, there is always something to come
// back to.
func (p *Program) comesBack(err error) bool {
	switch {
	case errors.Is(err, errListener):
		return false
	case errors.Is(err, errLabLost), p.stoodBy, p.isUp():
		return true
	case errors.Is(err, syscall.EADDRINUSE):
		return false
	}
	kind := lab.KindOf(err)
	return kind == lab.KindUnavailable || kind == lab.KindConflict
}

func (p *Program) isUp() bool {
	select {
	case <-p.up:
		return true
	default:
		return false
	}
}

// waits says to who looks what is waited for, and sees to it that a private
// database runs.
func (p *Program) waits(ctx context.Context, w postgres.LeaseWait) {
	switch {
	case w.Away != nil:
		if p.lostAt.IsZero() {
			p.lostAt = w.Since
		}
		p.listener.Away(lab.FaultDatabase, p.lostAt, p.awayText()+" ("+oneLine(w.Away)+")")
		p.revive(ctx)
		p.callAway(ctx)
	default:
		p.stoodBy, p.tookOver, p.lostAt = true, true, time.Time{}
		p.forward(ctx, w.Holder)
	}
}

// databaseLost says that the database has gone away under a leader.
func (p *Program) databaseLost() {
	p.lostAt = time.Now()
	p.listener.Away(lab.FaultDatabase, p.lostAt, p.awayText())
}

func (p *Program) awayText() string {
	return "standing by: the database does not answer, since " + p.clockTime(p.lostAt) +
		". No telemetry is received and no alert is raised until it is back; the units and the broker keep what is sent."
}

// clockTime gives a time of day on the lab's own clock.
func (p *Program) clockTime(t time.Time) string {
	zone := p.zone.Load()
	if zone == nil {
		zone = time.Local
	}
	if t = t.In(zone); time.Since(t) > 12*time.Hour {
		return t.Format("2006-01-02 15:04 MST")
	}
	return t.Format("15:04 MST")
}

// oneLine is an error as a person reads it beside other text.
func oneLine(err error) string { return strings.Join(strings.Fields(err.Error()), " ") }

// revive starts a private database that has ended, now and then: it may end
// again at once, as long as its disk is full.
func (p *Program) revive(ctx context.Context) {
	if p.cluster == nil || !p.cluster.Ended() || time.Since(p.revived) < firstStandby {
		return
	}
	err := p.reviveDatabase(ctx)
	p.revived = time.Now()
	if err != nil && ctx.Err() == nil {
		p.log.Error("the private database does not start; trying again", "error", err)
	}
}

// standBy waits before the next try and tells whether the service goes on.
func (p *Program) standBy(ctx context.Context, cause error) bool {
	if p.lostAt.IsZero() {
		p.listener.Waiting("standing by: " + oneLine(cause) + ". Trying again in a moment")
	}
	p.callAway(ctx)
	wait := p.pause
	p.pause = min(2*p.pause, longStandby)
	return service.Pause(ctx, wait)
}
