package sim

import (
	"fmt"

	"wetside/internal/lab"
)

// start starts the controller: a new boot, whose sequence begins at one.
func (u *unit) start() {
	u.awake, u.mains = true, true
	u.boot = fmt.Sprintf("%08x", u.world.Uint32())
	u.seq = 0
	u.clock.bootedAt = u.now
	for _, c := range lab.Channels {
		u.due[c] = u.now.Add(u.step(between(u.noise, 1, 5)))
	}
	if !u.link.up && !u.eff.cut {
		u.link.connect(u.now)
	}
	if b := u.plan.Begin; b != nil {
		u.plan.Begin = nil
		u.beginInside(*b)
	}
	u.sendStatus()
}

// startFresh starts the controller of a unit that was switched on by hand.
func (u *unit) startFresh() {
	u.start()
	u.sendPower("", 0)
	u.sendStep()
	u.sendTemp(u.run != nil)
	u.sendTank()
	if u.run != nil {
		u.sendMotion()
	}
}

// goDown stops the controller. The network goes with it.
func (u *unit) goDown() {
	u.awake = false
	u.link.cut(u.now, true)
}

// comeBack starts the controller after it went down, with the run that it
// had stored.
func (u *unit) comeBack(quiet bool) {
	outage := u.now.Sub(u.lostAt).Seconds()
	u.start()
	if !quiet {
		u.sendPower(lab.EventResumed, outage)
	}
	u.sendStep()
	u.sendTemp(u.inBath())
	u.sendTank()
}

func (u *unit) inBath() bool { return u.run != nil && u.run.phase == lab.PhaseInBath }

// stepPower follows the mains.
func (u *unit) stepPower() {
	alive := u.batt.step(u.mains, u.dt)
	lost := u.eff.mainsOff
	switch {
	case u.mains && lost:
		u.mains, u.lostAt = false, u.now
		if u.eff.down {
			u.quietBack = u.eff.quiet
			u.goDown()
			return
		}
		u.rpm = 0
		u.sendPower(lab.EventLost, 0)
		u.sendMotion()
	case !u.mains && lost && u.awake && !alive:
		u.quietBack = false
		u.goDown() // the battery is empty
	case !u.mains && !lost && !u.awake:
		u.mains = true
		u.comeBack(u.quietBack)
	case !u.mains && !lost:
		u.mains = true
		u.sendPower(lab.EventRestored, u.now.Sub(u.lostAt).Seconds())
	}
}

// stepLink follows the network.
func (u *unit) stepLink() {
	switch {
	case u.eff.cut && u.link.up:
		u.link.cut(u.now, !u.eff.loss)
	case u.eff.cut:
		u.link.keeps = u.link.keeps && !u.eff.loss
	case !u.link.up && u.awake:
		// The status goes behind what the link still holds.
		u.link.connect(u.now)
		u.sendStatus()
	}
	u.link.tick(u.now)
}

// battery carries the controller, never the heaters or pumps, over a cut.
type battery struct {
	pct     float64
	perHour float64 // percent of charge that the controller uses in an hour
}

const chargePerHour = 20 // percent, on mains

// step charges or discharges for dt seconds and tells whether the controller
// has power.
func (b *battery) step(mains bool, dt float64) bool {
	if mains {
		b.pct = min(100, b.pct+chargePerHour*dt/3600)
		return true
	}
	b.pct = max(0, b.pct-b.perHour*dt/3600)
	return b.pct > 0
}
