// Package level estimates what a container holds, with how far that can be off:
// a Kalman filter of three things that are never seen alone, the level, the
// error of the pump's measure and the offset of the probe.
//
// The pump's error is common to all of its fills, so that the spread of a level
// that is only counted grows with the volume, and not with its root. The probe
// shows the level and its own offset together; what a person reads off, and an
// empty container, show the level alone. Each measurement comes with its own
// spread and moves what it speaks of by as much as that spread deserves.
//
// It is pure: no clock, no input, no output. An Estimate is plain data; its JSON
// is what is stored. Nothing here is safe for concurrent use.
package level

import "math"

// Estimate is what is known of one container: best values, and how they may be
// off together.
type Estimate struct {
	L      float64 `json:"l"`           // the level, liters
	Gain   float64 `json:"g,omitempty"` // by what share the pump moves more than it says
	Offset float64 `json:"o,omitempty"` // by how much the probe reads too high, liters
	Var    Cov     `json:"var"`         // their covariances
}

// Cov are the covariances of level, gain and offset: the six of a symmetric
// matrix.
type Cov struct {
	LL float64 `json:"ll"`
	LG float64 `json:"lg,omitempty"`
	LO float64 `json:"lo,omitempty"`
	GG float64 `json:"gg,omitempty"`
	GO float64 `json:"go,omitempty"`
	OO float64 `json:"oo,omitempty"`
}

// Begin is an estimate of a level that is known to within spread, with a pump
// that may be off by a share gain and a probe that may be off by offset.
func Begin(l, spread, gain, offset float64) Estimate {
	return Estimate{L: l, Var: Cov{LL: spread * spread, GG: gain * gain, OO: offset * offset}}
}

// BeginAt is an estimate that begins with a reading of the probe: level and
// offset are then known together, and neither alone better than the other.
func BeginAt(reading, noise, gain, offset float64) Estimate {
	e := Begin(reading, unknownL, gain, offset)
	e.Probe(reading, noise)
	return e
}

// unknownL is the spread of a level of which nothing is known, liters.
const unknownL = 1e3

// Spread is the standard deviation of the level, liters.
func (e *Estimate) Spread() float64 { return math.Sqrt(max(e.Var.LL, 0)) }

// GainSpread is that of the pump's error, a share.
func (e *Estimate) GainSpread() float64 { return math.Sqrt(max(e.Var.GG, 0)) }

// OffsetSpread is that of the probe's offset, liters.
func (e *Estimate) OffsetSpread() float64 { return math.Sqrt(max(e.Var.OO, 0)) }

// Known tells whether it has begun.
func (e *Estimate) Known() bool { return e.Var.LL > 0 }

// Pass adds what the level may have changed by of itself or by people, as a
// variance; what was learned of pump and probe stays.
func (e *Estimate) Pass(variance float64) { e.Var.LL += variance }

// Pump moves what the pump says that it moved, liters, below zero for what left.
// own is what a single fill may be off by beside the error of all of them.
func (e *Estimate) Pump(l, own float64) {
	e.L += l * (1 + e.Gain)
	v := &e.Var
	v.LL += 2*l*v.LG + l*l*v.GG + own*own
	v.LG += l * v.GG
	v.LO += l * v.GO
}

// Wear says that the pump's error may have changed by about share.
func (e *Estimate) Wear(share float64) { e.Var.GG += share * share }

// Probe takes a reading of the probe: level and offset together.
func (e *Estimate) Probe(reading, noise float64) { e.update(1, reading-e.L-e.Offset, noise*noise) }

// Stated takes a level that was read off or is known otherwise.
func (e *Estimate) Stated(l, spread float64) { e.update(0, l-e.L, spread*spread) }

// Surprise is how far a reading is from what was expected, in standard
// deviations.
func (e *Estimate) Surprise(reading, noise float64) float64 {
	v := &e.Var
	return (reading - e.L - e.Offset) / math.Sqrt(v.LL+2*v.LO+v.OO+noise*noise)
}

// update is the measurement step for level + o times offset, o 0 or 1: in the
// form of Joseph, which keeps the covariances those of something real.
func (e *Estimate) update(o, innovation, r float64) {
	v := e.Var
	pl, pg, po := v.LL+o*v.LO, v.LG+o*v.GO, v.LO+o*v.OO
	s := pl + o*po + r
	if s <= 0 {
		return
	}
	kl, kg, ko := pl/s, pg/s, po/s
	e.L, e.Gain, e.Offset = e.L+kl*innovation, e.Gain+kg*innovation, e.Offset+ko*innovation
	// (I - K H) P (I - K H)' + K r K', where P H' is (pl, pg, po)
	hph := pl + o*po
	e.Var = Cov{
		LL: v.LL - 2*kl*pl + kl*kl*(hph+r), LG: v.LG - kl*pg - kg*pl + kl*kg*(hph+r), LO: v.LO - kl*po - ko*pl + kl*ko*(hph+r),
		GG: v.GG - 2*kg*pg + kg*kg*(hph+r), GO: v.GO - kg*po - ko*pg + kg*ko*(hph+r), OO: v.OO - 2*ko*po + ko*ko*(hph+r),
	}
}

// Doubt says that of what the probe shows it is not known how much is level and
// how much offset, up to about spread: their sum stays as well known as it was.
func (e *Estimate) Doubt(spread float64) {
	d := spread * spread
	e.Var.LL, e.Var.LO, e.Var.OO = e.Var.LL+d, e.Var.LO-d, e.Var.OO+d
}

// Unchecked says that nothing is known yet of the probe's offset, up to about
// spread.
func (e *Estimate) Unchecked(spread float64) { e.Var.OO += spread * spread }

// Runs is how many whole runs of need liters each there is enough for in have
// liters: by the best values, and between which numbers the truth lies, two
// spreads to either side. spread is that of what there is, share that of what a
// run takes.
func Runs(have, spread, need, share float64) (best, low, high int) {
	n := have / need
	two := 2 * math.Hypot(spread/need, n*share)
	whole := func(x float64) int { return max(0, int(math.Floor(x+rounding))) }
	return whole(n), whole(n - two), whole(n + two)
}

// rounding is how far a number of runs may be off by the rounding of sums.
const rounding = 1e-6
