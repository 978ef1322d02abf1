package sim

import (
	"math/rand/v2"

	"wetside/internal/lab"
)

// tank is a container: what is really in it, and what its sensors say.
type tank struct {
	name     string
	role     lab.Role
	capacity float64 // l
	litres   float64
	noise    float64 // standard deviation of the level sensor, l
	offset   float64 // by how much it reads too high, l
	hasFloat bool
	closed   bool    // the float switch, as the controller sees it
	tilted   bool    // carried about: the float may close
	shown    float64 // the last level that was published, l
}

const (
	floatAt     = 0.94 // of the capacity: where the float floats up
	floatBounce = 0.12 // l either side within which it bounces
)

// add pours litres in; what does not fit comes back: it is on the floor.
func (t *tank) add(litres float64) (spilled float64) {
	t.litres += litres
	if t.litres > t.capacity {
		spilled = t.litres - t.capacity
		t.litres = t.capacity
	}
	return spilled
}

// take draws up to litres and tells how much came.
func (t *tank) take(litres float64) float64 {
	got := min(litres, t.litres)
	t.litres -= got
	return got
}

// read is what the level sensor says now.
func (t *tank) read(r *rand.Rand) float64 {
	return max(0, t.litres+t.offset+t.noise*normal(r))
}

// show is the level that is published: frozen, the sensor says what it said
// last.
func (t *tank) show(r *rand.Rand, frozen bool, noise float64) float64 {
	if v := t.read(r); !frozen || t.shown == 0 {
		t.shown = v
		if noise > 0 {
			t.shown = max(0, v+noise*normal(r))
		}
	}
	return t.shown
}

// float moves the float switch; stuck overrides it. It tells whether the
// switch changed.
func (t *tank) float(r *rand.Rand, stuck *bool) bool {
	if !t.hasFloat {
		return false
	}
	was, at := t.closed, floatAt*t.capacity
	switch {
	case stuck != nil:
		t.closed = *stuck
	case t.tilted:
		t.closed = r.Float64() < 0.15
	case t.litres > at+floatBounce:
		t.closed = true
	case t.litres < at-floatBounce:
		t.closed = false
	default:
		t.closed = r.Float64() < 0.5+(t.litres-at)/(2*floatBounce)
	}
	return was != t.closed
}

// normal is a standard normal value without far tails: sensors clip.
func normal(r *rand.Rand) float64 {
	return min(max(r.NormFloat64(), -3), 3)
}

// between is a value spread evenly over low..high.
func between(r *rand.Rand, low, high float64) float64 {
	return low + (high-low)*r.Float64()
}

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

// drain moves liquid from the vessel into a tank, but for the part that misses
// it. It tells how much landed on the floor.
func (p pump) drain(from *vessel, to *tank, misses, dt float64) (spilled float64) {
	moved := from.draw(p.rate * dt)
	return misses*moved + to.add((1-misses)*moved)
}

// seconds is how long the pump takes for litres, in whole ticks.
func (p pump) seconds(litres, dt float64) float64 {
	n := int(litres / (p.rate * dt))
	if float64(n)*p.rate*dt < litres-1e-9 {
		n++
	}
	return float64(n) * dt
}
