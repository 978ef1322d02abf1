package sim

// loop is a tempering loop: a probe that lags, a proportional-integral
// regulator, and an element that lags too and has a largest power each way
// (min below zero: it can cool). The two lags are what makes it overshoot.
type loop struct {
	kp, ki         float64 // W/K, W/(K s)
	min, max       float64 // W
	lag, probeLag  float64 // s
	integral, elem float64 // W
	probe          float64 // °C
}

// reset starts the loop anew at temperature t with the power that about
// holds it.
func (l *loop) reset(t, hold float64) {
	l.probe, l.integral, l.elem = t, hold, hold
}

// step gives the watts that flow in the next dt seconds. limit in 0..1 is
// what is left of the element's power: 1 for a sound one.
func (l *loop) step(set, t, dt, limit float64) float64 {
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
func (l *loop) off(t, dt float64) {
	l.probe += (t - l.probe) * dt / l.probeLag
	l.elem = 0
}

// bathLoop tempers the liquid on the film: about half a litre.
func bathLoop() loop {
	return loop{kp: 330, ki: 11, min: -150, max: 600, lag: 2.5, probeLag: 1.5}
}

// feedLoop tempers the bottles in their jacket.
func feedLoop(power float64) loop {
	return loop{kp: 2500, ki: 4, min: -500, max: power, lag: 10, probeLag: 5}
}

// washLoop tempers the wash tank.
func washLoop(power float64) loop {
	return loop{kp: 4000, ki: 4, min: -500, max: power, lag: 15, probeLag: 6}
}
