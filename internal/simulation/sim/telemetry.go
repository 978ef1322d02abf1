package sim

import (
	"math"
	"sort"
	"time"

	"wetside/internal/lab"
)

// begin begins a message: the envelope with the next number.
func (u *unit) begin() encoder {
	var e encoder
	u.seq++
	e.envelope(u.clock.read(u.sendTime(), u.eff.clockLost), u.boot, u.seq, u.clock.up(u.sendTime()))
	return e
}

// sendTime is now, and a few milliseconds later for each message that this step
// of time has sent already.
func (u *unit) sendTime() time.Time {
	return u.now.Add(time.Duration(3+11*u.inTick) * time.Millisecond)
}

// send ends a message and gives it to the network.
func (u *unit) send(c lab.Channel, e *encoder) {
	raw := lab.Raw{Topic: lab.Topic(lab.UnitID{Lab: u.id.Lab, Unit: u.eff.called}, c), Payload: e.done()}
	u.traceSent(raw.Payload, c)
	u.link.send(u.sendTime(), raw, u.eff.net)
	u.inTick++
}

// silent tells whether the controller sends nothing now.
func (u *unit) silent() bool { return u.muted || !u.awake || u.eff.mute }

func (u *unit) sendStatus() {
	if u.silent() {
		return
	}
	e := u.begin()
	e.raw("online", "true")
	e.str("model", u.plan.Model)
	e.str("firmware", u.plan.Firmware)
	e.list("processes", u.plan.Processes)
	e.open("containers")
	for _, t := range u.tanks {
		e.open(t.name)
		e.str("role", string(t.role))
		e.num("capacity_l", t.capacity, 1)
		e.shut()
	}
	e.shut()
	u.send(lab.ChannelStatus, &e)
}

func (u *unit) sendStep() {
	if u.silent() {
		return
	}
	e := u.begin()
	r := u.run
	if r == nil {
		e.str("phase", string(lab.PhaseIdle))
	} else {
		e.str("phase", string(r.phase))
		r.write(&e, u.now)
	}
	u.send(lab.ChannelStep, &e)
	u.due[lab.ChannelStep] = u.now.Add(u.every(lab.ChannelStep))
}

// write adds the fields of a run.
func (r *run) write(e *encoder, now time.Time) {
	g := r.current()
	e.str("run", r.id)
	e.str("process", r.called)
	e.num("push", r.plan.Push, 1)
	if r.plan.Kind != lab.KindOfRunFilm {
		e.str("kind", r.plan.Kind)
	}
	e.str("continues", r.rescues)
	e.str("step", g.called)
	e.num("n", float64(r.step+1), 0)
	e.num("of", float64(len(r.program)), 0)
	switch r.phase {
	case lab.PhaseHeating, lab.PhaseFilling, lab.PhaseInBath, lab.PhaseDraining:
		e.num("set_s", r.setS, 0)
		e.num("elapsed_s", r.stepS, 1)
		e.num("fill_ml", g.fillL*1000, 0)
		e.num("set_c", g.setC, 1)
		e.str("draw_from", g.from)
		e.str("drain_to", g.to)
	case lab.PhaseDrying:
		e.num("set_s", r.dryS, 0)
		e.num("elapsed_s", secondsSince(now, r.phaseAt), 1)
		e.num("set_c", r.dryC, 1)
	default:
		e.num("elapsed_s", secondsSince(now, r.phaseAt), 1)
		e.str("waits_for", r.waits)
	}
}

// probeInBath tells whether the bath's thermistor is in the liquid and the
// liquid on the film.
func (u *unit) probeInBath() bool {
	return u.inBath() || (u.run != nil && u.run.phase == lab.PhaseWaiting && u.run.then == lab.PhaseDraining)
}

// sendTemp publishes temperatures: all of them, or the bath alone.
func (u *unit) sendTemp(all bool) {
	if u.silent() {
		return
	}
	e := u.begin()
	read := func(k string, c, sd float64, decimals int) {
		e.num(k, u.eff.inUnit(min(max(c+sd*normal(u.noise), -20), 120)), decimals)
	}
	if u.probeInBath() && !u.eff.noBath {
		e.num("bath_c", u.bathReading(), 2)
	}
	if all {
		read("preheat_c", u.feed.t, 0.03, 2)
		read("wash_c", u.washT.t, 0.03, 2)
		if u.run != nil && u.run.phase == lab.PhaseDrying {
			read("dryer_c", u.dryer, 0.15, 1)
		}
		read("room_c", u.room(), 0.03, 1)
	}
	u.send(lab.ChannelTemp, &e)
	u.due[lab.ChannelTemp] = u.now.Add(u.every(lab.ChannelTemp))
}

func (u *unit) sendTank() {
	if u.silent() {
		return
	}
	e := u.begin()
	var full []string
	e.open("levels_l")
	for _, t := range u.tanks {
		if !u.plan.FloatsOnly {
			e.num(t.name, t.show(u.noise, u.eff.frozen[t.name], u.eff.shakes[t.name]), 2)
		}
		if t.closed {
			full = append(full, t.name)
		}
	}
	e.shut()
	sort.Strings(full)
	e.list("full", full)
	u.send(lab.ChannelTank, &e)
	u.due[lab.ChannelTank] = u.now.Add(u.every(lab.ChannelTank))
}

func (u *unit) sendPower(event string, outage float64) {
	if u.silent() {
		return
	}
	e := u.begin()
	source := lab.SourceMains
	if !u.mains {
		source = lab.SourceBattery
	}
	e.str("source", source)
	e.str("event", event)
	if event == lab.EventRestored || event == lab.EventResumed {
		e.num("outage_s", outage, 1)
	}
	e.num("battery_pct", u.batt.pct, 0)
	u.send(lab.ChannelPower, &e)
	u.due[lab.ChannelPower] = u.now.Add(u.every(lab.ChannelPower))
}

func (u *unit) sendMotion() {
	if u.silent() {
		return
	}
	e := u.begin()
	e.num("rpm", u.rpm, 1)
	e.num("reversals", float64(u.reversals), 0)
	u.send(lab.ChannelMotion, &e)
	u.due[lab.ChannelMotion] = u.now.Add(u.every(lab.ChannelMotion))
}

// every is how often a channel is sent now.
func (u *unit) every(c lab.Channel) time.Duration {
	idle, bath := u.run == nil, u.inBath()
	switch c {
	case lab.ChannelStep:
		if idle {
			return 30 * time.Second
		}
		return 10 * time.Second
	case lab.ChannelTemp:
		return u.pick(bath, idle, u.cadence.BathTemp, u.cadence.Idle)
	case lab.ChannelMotion:
		return u.pick(bath, idle, u.cadence.BathMotion, 4*u.cadence.Idle)
	case lab.ChannelPower:
		if !u.mains {
			return 30 * time.Second
		}
		return u.cadence.Power
	}
	return u.cadence.Tank
}

func (u *unit) pick(bath, idle bool, ifBath, ifIdle time.Duration) time.Duration {
	switch {
	case bath:
		return ifBath
	case idle:
		return ifIdle
	}
	return u.cadence.Run
}

// publishDue publishes what is due.
func (u *unit) publishDue() {
	if u.isDue(lab.ChannelStep) {
		u.sendStep()
	}
	if u.isDue(lab.ChannelTemp) {
		u.tempCount++
		u.sendTemp(!u.inBath() || u.tempCount%6 == 0)
	}
	if u.isDue(lab.ChannelMotion) {
		u.sendMotion()
	}
	if u.isDue(lab.ChannelTank) {
		u.sendTank()
	}
	if u.isDue(lab.ChannelPower) {
		u.sendPower("", 0)
	}
	u.sendMalformed()
}

func (u *unit) isDue(c lab.Channel) bool { return !u.now.Before(u.due[c]) }

// bathReading is what the bath's probe shows now.
func (u *unit) bathReading() float64 {
	e := &u.eff
	c := u.bath.liquid + u.plan.ProbeC + e.probe + math.Hypot(u.plan.ProbeNoiseC, e.probeNoise)*normal(u.noise)
	if s := u.plan.ProbeStepC; s > 0 {
		c = math.Round(c/s) * s
	}
	c = e.inUnit(min(max(c, -20), 120))
	switch {
	case e.openC != nil:
		c = *e.openC
	case e.stuckProbe && u.lastBathC != nil:
		c = *u.lastBathC
	}
	u.lastBathC = &c
	return c
}
