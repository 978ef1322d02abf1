package sim

import "math"

// waterJ is the heat capacity of water, joules per litre and kelvin. All
// solutions count as water.
const waterJ = 4180

// body is a lump of heat capacity c (J/K) at t °C that loses ua watts for
// each kelvin it is warmer than what surrounds it.
type body struct{ c, t, ua float64 }

// step lets watts flow in for dt seconds while the surroundings stay at env.
// It is Newton's law of cooling solved exactly, so the length of dt does not
// matter.
func (b *body) step(watts, env, dt float64) {
	if b.ua <= 0 {
		b.t += watts * dt / b.c
		return
	}
	end := env + watts/b.ua
	b.t = end + (b.t-end)*math.Exp(-dt*b.ua/b.c)
}

// mix pours litres at t into the body.
func (b *body) mix(litres, t float64) {
	if add := litres * waterJ; add > 0 {
		b.t = (b.t*b.c + t*add) / (b.c + add)
		b.c += add
	}
}

// take removes litres at the body's own temperature.
func (b *body) take(litres float64) { b.c = max(b.c-litres*waterJ, 1) }

// vessel is the processing tank: a wall (with the reels and the film) and the
// liquid in it. Heat passes between the two; the wall loses it to the room.
type vessel struct {
	litres float64
	liquid float64 // °C
	wall   body
	k      float64 // W/K between liquid and wall when full
}

// wetAt is the volume from which the whole wall counts as wet.
const wetAt = 0.3

// pour adds litres at t.
func (v *vessel) pour(litres, t float64) {
	if litres <= 0 {
		return
	}
	v.liquid = (v.liquid*v.litres + t*litres) / (v.litres + litres)
	v.litres += litres
}

// draw takes up to litres out and tells how much came.
func (v *vessel) draw(litres float64) float64 {
	got := min(litres, v.litres)
	if v.litres -= got; v.litres < 1e-9 {
		v.litres = 0
	}
	return got
}

// step exchanges heat for dt seconds; watts go into the liquid.
func (v *vessel) step(watts, room, dt float64) {
	if v.litres <= 0 {
		v.liquid = v.wall.t
		v.wall.step(0, room, dt)
		return
	}
	q := v.k * min(1, v.litres/wetAt) * (v.liquid - v.wall.t)
	v.liquid += (watts - q) * dt / (v.litres * waterJ)
	v.wall.step(q, room, dt)
}
