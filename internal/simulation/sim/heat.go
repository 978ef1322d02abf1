package sim

import "math"

// waterJ is the heat capacity of water, joules per litre and kelvin. All
// solutions count as water.
const waterJ = 4180

// heatBody is a lump of heat capacity c (J/K) at t °C that loses ua watts for
// each kelvin it is warmer than what surrounds it.
type heatBody struct{ c, t, ua float64 }

// step lets watts flow in for dt seconds while the surroundings stay at env.
// It is Newton's law of cooling solved exactly, so the length of dt does not
// matter.
func (b *heatBody) step(watts, env, dt float64) {
	if b.ua <= 0 {
		b.t += watts * dt / b.c
		return
	}
	end := env + watts/b.ua
	b.t = end + (b.t-end)*math.Exp(-dt*b.ua/b.c)
}

// mix pours litres at t into the body.
func (b *heatBody) mix(litres, t float64) {
	if add := litres * waterJ; add > 0 {
		b.t = (b.t*b.c + t*add) / (b.c + add)
		b.c += add
	}
}

// take removes litres at the body's own temperature.
func (b *heatBody) take(litres float64) { b.c = max(b.c-litres*waterJ, 1) }

// vessel is the processing tank: a wall (with the reels and the film) and the
// liquid in it. Heat passes between the two; the wall loses it to the room.
type vessel struct {
	litres float64
	liquid float64 // °C
	wall   heatBody
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

// heatingLoop is a tempering loop: a probe that lags, a proportional-integral
// regulator, and an element that lags too and has a largest power each way
// (min below zero: it can cool). The two lags are what makes it overshoot.
type heatingLoop struct {
	kp, ki         float64 // W/K, W/(K s)
	min, max       float64 // W
	lag, probeLag  float64 // s
	integral, elem float64 // W
	probe          float64 // °C
}

// reset starts the loop anew at temperature t, with about the power that holds
// it there.
func (l *heatingLoop) reset(t, hold float64) {
	l.probe, l.integral, l.elem = t, hold, hold
}

// step gives the watts that flow in the next dt seconds. limit in 0..1 is
// the fraction of its power that the element still has: 1 for a sound one.
func (l *heatingLoop) step(set, t, dt, limit float64) float64 {
	l.probe += (t - l.probe) * dt / l.probeLag
	e := set - l.probe
	want := l.kp*e + l.integral
	low, high := l.min*limit, l.max*limit
	if want > low && want < high {
		l.integral += l.ki * e * dt
	}
	l.elem += (min(max(want, low), high) - l.elem) * dt / l.lag
	return l.elem
}

// off lets the element cool down without current.
func (l *heatingLoop) off(t, dt float64) {
	l.probe += (t - l.probe) * dt / l.probeLag
	l.elem = 0
}

// bathLoop tempers the liquid on the film: about half a litre.
func bathLoop() heatingLoop {
	return heatingLoop{kp: 330, ki: 11, min: -150, max: 600, lag: 2.5, probeLag: 1.5}
}

// feedLoop tempers the bottles in their jacket.
func feedLoop(power float64) heatingLoop {
	return heatingLoop{kp: 2500, ki: 4, min: -500, max: power, lag: 10, probeLag: 5}
}

// washLoop tempers the wash tank.
func washLoop(power float64) heatingLoop {
	return heatingLoop{kp: 4000, ki: 4, min: -500, max: power, lag: 15, probeLag: 6}
}
