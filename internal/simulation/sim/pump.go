package sim

// pump moves liquid at a steady rate while it has mains power.
type pump struct{ rate float64 } // l/s

// weak is the pump with what is left of its rate, 0..1.
func (p pump) weak(left float64) pump { return pump{p.rate * left} }

// fill moves liquid from a tank into the vessel, up to want litres in it.
// It tells how much was moved.
func (p pump) fill(from *tank, to *vessel, want, t, dt float64) float64 {
	got := from.take(max(0, min(p.rate*dt, want-to.litres)))
	to.pour(got, t)
	return got
}

// drain moves liquid from the vessel into a tank. It tells how much left the
// vessel and how much of that landed on the floor.
func (p pump) drain(from *vessel, to *tank, dt float64) (moved, spilled float64) {
	moved = from.draw(p.rate * dt)
	return moved, to.add(moved)
}

// seconds is how long the pump takes for litres, in whole ticks.
func (p pump) seconds(litres, dt float64) float64 {
	n := int(litres / (p.rate * dt))
	if float64(n)*p.rate*dt < litres-1e-9 {
		n++
	}
	return float64(n) * dt
}
