package rules

import (
	"math"
	"time"

	"wetside/internal/process"
)

// bathIntegral is what the readings of a step's bath add up to, as a running
// integral that is linear between readings. It stays one reading behind: only
// the next reading shows whether the last one was a spike that no liquid can
// follow, and is to be left out.
type bathIntegral struct {
	FromT time.Time `json:"from_t,omitzero"` // up to where the integral has come
	PrevC float64   `json:"prev_c"`
	Prev  bool      `json:"prev,omitempty"`
	HeldC float64   `json:"held_c"` // the last reading, not yet counted
	HeldT time.Time `json:"held_t,omitzero"`

	N       int           `json:"n"`
	LeftOut int           `json:"left_out,omitempty"`
	MinC    float64       `json:"min_c"`
	MaxC    float64       `json:"max_c"`
	SumC    float64       `json:"sum_c"` // °C times seconds
	SumS    float64       `json:"sum_s"`
	OutS    float64       `json:"out_s"`             // outside the limits
	Eq      process.Rates `json:"eq"`                // equivalent seconds
	GapS    float64       `json:"gap_s"`             // the longest time between readings
	GuessS  float64       `json:"guess_s,omitzero"`  // seconds without readings, in which the liquid is estimated
	UnreadS float64       `json:"unread_s,omitzero"` // of them those with power, when the probe could have been read
}

// No liquid on film changes faster than liquidRateC, °C a second; a reading may
// differ by jumpC more, for the probe. Common practice, no source.
const (
	liquidRateC = 0.25
	jumpC       = 0.8
)

// bathConditions is what a stretch of a bath is judged by.
type bathConditions struct {
	step            *process.Step // nil: only the plain figures count
	withinC         float64       // how far a reading may be off, °C
	setC            float64       // what the heater holds
	room            process.Range // °C
	cool            process.Cooling
	limitS          float64                                            // readings further apart than this count as missing
	powerLostWithin func(from, to time.Time) (a, b time.Time, ok bool) // when nothing heated
	latestEnd       time.Time                                          // for a step that ended in a hole: the latest that it can have ended
}

// begin starts counting at the beginning of a bath. Between two fills of a step
// the last temperature is carried on, and that no reading came is no gap.
func (b *bathIntegral) begin(t time.Time, e *bathConditions) {
	if b.FromT.IsZero() {
		b.FromT = t
		return
	}
	if gap, unread := b.GapS, b.UnreadS; b.Prev {
		b.to(t, b.PrevC, e)
		b.GapS, b.UnreadS = gap, unread
	}
}

// read takes a reading.
func (b *bathIntegral) read(t time.Time, c float64, e *bathConditions) {
	if !b.HeldT.IsZero() {
		b.settle(t, c, e)
	}
	b.HeldT, b.HeldC = t, c
}

// settle counts the reading that was held back, unless it is a spike: it left
// the line between its neighbors and came back faster than liquid can.
func (b *bathIntegral) settle(nextT time.Time, nextC float64, e *bathConditions) {
	if b.Prev {
		in, out := b.HeldC-b.PrevC, b.HeldC-nextC
		dIn, dOut := b.HeldT.Sub(b.FromT).Seconds(), nextT.Sub(b.HeldT).Seconds()
		if in*out > 0 && math.Abs(in) > jumpC+liquidRateC*dIn && math.Abs(out) > jumpC+liquidRateC*dOut {
			b.LeftOut++
			return
		}
	}
	b.count(b.HeldT, b.HeldC, e)
}

// count adds the time up to a reading at t.
func (b *bathIntegral) count(t time.Time, c float64, e *bathConditions) {
	first := !b.Prev
	if first {
		b.PrevC, b.Prev = c, true
	}
	if b.N == 0 {
		b.MinC, b.MaxC = c, c
	}
	b.N++
	b.MinC, b.MaxC = min(b.MinC, c), max(b.MaxC, c)
	b.add(t, c, e, !first, true)
}

// to carries the integral on to t without a reading there: the temperature is
// taken for c.
func (b *bathIntegral) to(t time.Time, c float64, e *bathConditions) { b.add(t, c, e, true, false) }

// add carries the integral on to t, where the temperature is c; fromRead and
// toRead tell whether it was measured at either end.
func (b *bathIntegral) add(t time.Time, c float64, e *bathConditions, fromRead, toRead bool) {
	dt := t.Sub(b.FromT).Seconds()
	if b.FromT.IsZero() || dt <= 0 {
		b.PrevC = c
		return
	}
	b.GapS = max(b.GapS, dt)
	b.SumC += dt * (b.PrevC + c) / 2
	b.SumS += dt
	if e.step != nil {
		b.OutS += dt * outsideShare(b.PrevC, c, e.step.LowC, e.step.HighC)
		if dt <= e.limitS {
			b.Eq = b.Eq.Plus(e.step.EquivalentWithin(b.PrevC, c, dt, e.withinC))
		} else {
			b.GuessS += dt
			b.UnreadS += e.poweredS(b.FromT, t)
			b.Eq = b.Eq.Plus(e.estimate(b.FromT, t, b.PrevC, c, fromRead, toRead))
		}
	}
	b.FromT, b.PrevC = t, c
}

// finish carries the integral to the end of the step at the last temperature.
func (b *bathIntegral) finish(t time.Time, e *bathConditions) {
	if !b.HeldT.IsZero() {
		b.count(b.HeldT, b.HeldC, e)
		b.HeldT = time.Time{}
	}
	if b.Prev {
		b.to(t, b.PrevC, e)
	}
}

// forget takes a stretch out again in which all readings were c: the probe was
// stuck. It is then estimated, like any stretch without readings.
func (b *bathIntegral) forget(from, to time.Time, c float64, e *bathConditions) {
	if dt := b.FromT.Sub(from).Seconds(); b.Prev && dt > 0 {
		b.SumC -= dt * c
		b.SumS -= dt
		if e.step != nil {
			b.OutS -= dt * outsideShare(c, c, e.step.LowC, e.step.HighC)
			less := e.step.EquivalentWithin(c, c, dt, e.withinC)
			b.Eq = process.Rates{Best: b.Eq.Best - less.Best, Low: b.Eq.Low - less.Low, High: b.Eq.High - less.High}
		}
		b.FromT = from
	}
	b.HeldT = time.Time{}
}

// poweredS is how much of a stretch the unit had its power, seconds.
func (e *bathConditions) poweredS(from, to time.Time) float64 {
	s := to.Sub(from).Seconds()
	if e.powerLostWithin != nil {
		if a, b, ok := e.powerLostWithin(from, to); ok {
			s -= b.Sub(a).Seconds()
		}
	}
	return max(s, 0)
}

// outsideShare is the part of a straight line from c0 to c1 that lies
// outside low to high.
func outsideShare(c0, c1, low, high float64) float64 {
	if c0 == c1 {
		if c0 < low || c0 > high {
			return 1
		}
		return 0
	}
	a, b := (low-c0)/(c1-c0), (high-c0)/(c1-c0)
	if a > b {
		a, b = b, a
	}
	return 1 - max(0, min(b, 1)-max(a, 0))
}
