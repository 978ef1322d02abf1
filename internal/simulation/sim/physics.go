package sim

import "wetside/internal/lab"

// stepPhysics moves liquid and heat for one step of time.
func (u *unit) stepPhysics() {
	powered := u.mains && u.awake
	room := u.room()
	u.movePumps(powered)
	u.temper(powered, room)
	u.moveFloats()
	u.leakAndEvaporate()
	u.rotate(powered)
	u.recordBath()
	u.traceBath(powered)
}

// recordBath adds what the film is in to the truth of the run.
func (u *unit) recordBath() {
	r := u.run
	if r == nil || !r.counts() || u.bath.litres <= 0 || len(r.truth.Steps) == 0 {
		return
	}
	s := &r.truth.Steps[len(r.truth.Steps)-1]
	s.addBath(u.bath.liquid, r.current(), u.dt)
	if u.rpm < stillRPM && !u.eff.byHand {
		s.StillS += u.dt
	}
}

// stillRPM is the speed below which the liquid stands still on the film.
const stillRPM = 5

// movePumps fills and drains as the phase says.
func (u *unit) movePumps(powered bool) {
	r := u.run
	if r == nil || !powered {
		return
	}
	g := r.current()
	switch r.phase {
	case lab.PhaseFilling:
		from := u.tank(g.from)
		t := u.feed.t + (g.setC - r.jacketC())
		if g.wash {
			t = u.washT.t
		}
		got := u.filler.weak(u.eff.pump).fill(from, &u.bath, u.fillsL(g), t, u.dt)
		if g.wash {
			u.washT.take(got)
			u.washAt = from.litres
		}
	case lab.PhaseDraining:
		u.balance.floor += u.drainer.weak(u.eff.pump).drain(&u.bath, u.tank(g.to), u.eff.spills[g.to], u.dt)
	}
}

// fillsL is what a fill really takes: the pump's measure may be off.
func (u *unit) fillsL(g *programStep) float64 { return g.fillL * (1 + u.plan.PumpGain) }

// leakAndEvaporate moves what no pump moves.
func (u *unit) leakAndEvaporate() {
	for _, a := range u.eff.leaks {
		u.balance.floor += u.tank(a.Container).take(a.currentStrength(u.now) / 60 * u.dt)
	}
	for _, a := range u.eff.inflows {
		l := a.currentStrength(u.now) / 60 * u.dt
		u.balance.brought += l
		u.balance.floor += u.tank(a.Container).add(l)
	}
	if u.plan.EvaporationLH > 0 {
		u.balance.taken += u.tankFor["wash"].take(u.plan.EvaporationLH / 3600 * u.dt)
	}
}

// leaveOnFilm leaves on film and reels what the next bath will find there.
func (u *unit) leaveOnFilm() { u.onFilm = u.bath.draw(u.plan.CarryOverML / 1000) }

// comesAlong mixes it into that bath.
func (u *unit) comesAlong() {
	u.bath.pour(u.onFilm, u.bath.liquid)
	u.onFilm = 0
}

// temper runs the heaters, or lets everything cool.
func (u *unit) temper(powered bool, room float64) {
	u.topUpCools()
	r := u.run
	var bathW, feedW, washW float64
	if powered && r != nil && r.wet() {
		set := r.jacketC()
		feedW = u.feedHeat.step(set+u.eff.preheat, u.feed.t, u.dt, u.eff.heater)
		washW = u.washHeat.step(r.washC(), u.washT.t, u.dt, u.eff.heater)
		if c := u.eff.coldWash; c != nil {
			u.washT.t, washW = *c, 0
		}
		if u.eff.coldWash != nil && r.current().wash {
			u.heater.off(u.bath.liquid, u.dt)
		} else if u.bath.litres > 0.5*r.current().fillL {
			bathW = u.heater.step(r.current().setC+u.eff.bath, u.bath.liquid+u.plan.ProbeC+0.008*normal(u.noise), u.dt, u.eff.heater)
		} else {
			// The jacket warms the empty tank, but not quite to the set point;
			// it is made for the loss that it has to make good.
			u.bath.wall.t += (set - 1 - u.bath.wall.t) * u.dt * u.bath.wall.ua / jacketUA
			u.heater.reset(u.bath.liquid, u.bath.wall.ua*(r.current().setC-room))
		}
	} else {
		u.feedHeat.off(u.feed.t, u.dt)
		u.washHeat.off(u.washT.t, u.dt)
		u.heater.off(u.bath.liquid, u.dt)
	}
	u.bath.step(bathW, room, u.dt)
	u.feed.step(feedW, room, u.dt)
	u.washT.step(washW, room, u.dt)
	dry := room
	if powered && r != nil && r.phase == lab.PhaseDrying {
		dry = r.dryC + u.eff.dryer
	}
	u.dryer += (dry - u.dryer) * u.dt / 40
}

// jacketUA is the heat that the jacket gives to the empty tank, W/K. It is the
// same for every tank, so that one that loses more heat stays cooler.
const jacketUA = 54

// wallLag is how far the empty tank stays below a set point in the end: the
// more the colder its room is.
func (u *unit) wallLag(set float64) float64 {
	return 1 + (set-1-u.room())*jacketUA/(jacketUA+u.bath.wall.c)
}

// topUpCools mixes the tap water that people brought into the wash tank.
func (u *unit) topUpCools() {
	w := u.tankFor["wash"]
	switch d := w.litres - u.washAt; {
	case d > 0:
		u.washT.mix(d, u.plan.TapC)
	case d < 0:
		u.washT.take(-d)
	}
	u.washAt = w.litres
}

// moveFloats moves the float switches; a change is published soon.
func (u *unit) moveFloats() {
	changed := false
	for _, t := range u.tanks {
		var stuck *bool
		if v, ok := u.eff.stuck[t.name]; ok {
			stuck = &v
		}
		changed = t.float(u.noise, stuck) || changed
	}
	if changed && u.due[lab.ChannelTank].Sub(u.now).Seconds() > 1 {
		u.due[lab.ChannelTank] = u.now.Add(u.step(1))
	}
}

// rotate turns the tank while there is film in liquid.
func (u *unit) rotate(powered bool) {
	r := u.run
	u.rpm = 0
	if r == nil || !powered || !r.turns() {
		return
	}
	u.rpm = 62 + 1.2*normal(u.noise)
	if u.eff.rpm != nil {
		u.rpm = *u.eff.rpm
	}
	if u.rpm >= 5 && int(u.now.Sub(r.phaseAt).Seconds())%10 == 9 && u.now.Nanosecond() < int(u.dt*1e9) {
		u.reversals++
	}
}
