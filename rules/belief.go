package rules

import (
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// probeState is what is known of the bath's probe: whether its readings can be
// the liquid's temperature, its resolution and its noise.
type probeState struct {
	HeardT time.Time `json:"heard_t,omitzero"` // the last reading that arrived, believed or not
	Shown  reading   `json:"shown,omitzero"`   // the last that was not believed
	Why    string    `json:"why,omitempty"`    // why it was not

	LastC float64   `json:"last_c,omitzero"`
	LastT time.Time `json:"last_t,omitzero"` // the last believed reading of this fill
	FillT time.Time `json:"fill_t,omitzero"` // when this fill came in
	Free  bool      `json:"free,omitempty"`  // the new liquid is still on its way to its temperature: steps are no jumps
	BadT  time.Time `json:"bad_t,omitzero"`  // since when nothing is believed
	BadN  int       `json:"bad_n,omitempty"` // readings since then

	RawC  float64   `json:"raw_c,omitzero"`  // the last reading as it came
	FlatT time.Time `json:"flat_t,omitzero"` // since when it is the same to the last digit
	FlatN int       `json:"flat_n,omitempty"`

	StepC float64    `json:"step_c,omitzero"` // the smallest step the readings have shown
	GridC float64    `json:"grid_c,omitzero"` // the coarsest resolution that all of them fit
	Diffs int        `json:"diffs,omitempty"` // differences seen, up to diffsEnough
	Noise lastValues `json:"noise,omitempty"` // the last differences
	Sigma float64    `json:"sigma,omitzero"`

	LongSigma float64 `json:"long_sigma,omitzero"` // the noise over many readings: over a few it may look smaller than it is

	JumpT time.Time `json:"jump_t,omitzero"` // when it jumped, and has not come back since
	Mean  []reading `json:"mean,omitempty"`  // readings of the last minute, kept where noise makes a mean necessary
}

// doubt is what of a step's readings was not believed.
type doubt struct {
	N     int     `json:"n,omitempty"`
	S     float64 `json:"s,omitzero"`      // seconds; a single reading among believed ones does not count
	FlatS float64 `json:"flat_s,omitzero"` // the longest time at one value, to the last digit
	FlatN int     `json:"flat_n,omitempty"`
	Seen  int     `json:"seen,omitempty"` // readings that came
	Flat  bool    `json:"flat,omitempty"` // and so the probe was not believed
	Why   string  `json:"why,omitempty"`
}

// Why a reading is not believed.
const (
	doubtRange      = "range"
	doubtFahrenheit = "fahrenheit"
	doubtJump       = "jump"
	doubtFlat       = "flat"
)

// A figure within agreesC of the expected range makes sense; one further out
// than senselessC does not. °C.
const (
	agreesC    = 3
	senselessC = 12
)

func toC(fahrenheit float64) float64 { return (fahrenheit - 32) / 1.8 }

// inFahrenheit tells whether a figure makes no sense in °C, where low to high is
// expected, and does when it is read as degrees Fahrenheit.
func inFahrenheit(v, low, high float64) bool {
	asC := max(low-v, v-high)
	asF := max(low-toC(v), toC(v)-high)
	return asC > senselessC && asF <= agreesC
}

// asCelsius is a set temperature in °C: as the unit sent it, or converted where
// it makes sense only as degrees Fahrenheit.
func asCelsius(setC float64, sp *process.Step) float64 {
	if sp != nil && setC > 0 && inFahrenheit(setC, sp.LowC, sp.HighC) {
		return toC(setC)
	}
	return setC
}

// believable tells whether a temperature is one that the process could have.
func (u *Unit) believable(v float64) bool {
	return v >= u.fig().BelieveLowC && v <= u.fig().BelieveHighC
}

// doubtIn says why a reading of the bath cannot be the liquid, "" where it can.
func (u *Unit) doubtIn(c *runStep, raw, v float64, t time.Time) string {
	q, sp := &u.s.Probe, u.spec(c)
	if why := u.scaleDoubt(c, sp, v); why != "" {
		return why
	}
	if u.stuckAtOneValue(c, raw, t) {
		return doubtFlat
	}
	if q.LastT.IsZero() || t.Sub(q.FillT) <= lab.Seconds(u.fig().FillFreeS) {
		if !q.JumpT.IsZero() && !u.expected(c, sp, v) {
			return doubtJump
		}
		return ""
	}
	if q.Free {
		if u.approachesAim(c, sp, v) {
			return ""
		}
		q.Free = false
	}
	if u.withinReach(v, t) {
		return ""
	}
	return doubtJump
}

// expected tells whether the first readings of a new fill are near what the bath
// is set to. Any step is possible when new liquid comes in, but a probe that
// jumped in the bath before and never came back must first show that it is
// right again.
func (u *Unit) expected(c *runStep, sp *process.Step, v float64) bool {
	if sp == nil {
		return true
	}
	set := asCelsius(c.SetC, sp)
	if set <= 0 {
		set = sp.AimC
	}
	return math.Abs(v-set) <= u.fig().ReachC
}

// cameBack tells whether a probe that jumped is right again: it is believed in
// the very bath in which it jumped, or reads what a later bath is set to.
func (u *Unit) cameBack(c *runStep, v float64, t time.Time) bool {
	q, sp := &u.s.Probe, u.spec(c)
	if !q.JumpT.Before(q.FillT) {
		return true // it came back within that bath
	}
	set := asCelsius(c.SetC, sp)
	if set <= 0 && sp != nil {
		set = sp.AimC
	}
	return set > 0 && math.Abs(v-set) <= u.fig().JumpC && t.Sub(q.FillT) > lab.Seconds(u.fig().FillFreeS)
}

// scaleDoubt looks at a reading by itself: is it a temperature that a bath of
// the process can have?
func (u *Unit) scaleDoubt(c *runStep, sp *process.Step, v float64) string {
	if sp != nil {
		low, high := sp.LowC, sp.HighC
		if set := asCelsius(c.SetC, sp); set > 0 {
			low, high = min(low, set), max(high, set)
		}
		if inFahrenheit(v, low, high) {
			return doubtFahrenheit
		}
	}
	if !u.believable(v) {
		return doubtRange
	}
	return ""
}

// withinReach tells whether the liquid can have changed to v since the last
// believed reading. Without power it may have cooled by more than usual.
func (u *Unit) withinReach(v float64, t time.Time) bool {
	q, fig := &u.s.Probe, u.fig()
	dt := t.Sub(q.LastT).Seconds()
	reach := min(max(fig.JumpC, fig.JumpRateC*dt), fig.ReachC) + 1e-9
	if math.Abs(v-q.LastC) <= reach {
		return true
	}
	if a, b, ok := u.powerLostWithin(q.LastT, t); ok {
		cold := u.cooling().Between(process.Exactly(q.LastC), u.room(), b.Sub(a).Seconds()).Low
		return v >= cold-reach && v <= q.LastC+reach
	}
	return false
}

// approachesAim tells whether a reading comes nearer to what the bath is to be.
func (u *Unit) approachesAim(c *runStep, sp *process.Step, v float64) bool {
	last := u.s.Probe.LastC
	nearer := func(to float64) bool {
		return to > 0 && math.Abs(v-to) < math.Abs(last-to) && (v-to)*(last-to) >= -1
	}
	set := asCelsius(c.SetC, sp)
	if set <= 0 && sp != nil {
		set = sp.AimC
	}
	return nearer(set) || u.s.Preheat.known() && nearer(u.s.Preheat.V)
}

// stuckAtOneValue follows how long the probe has read the same value to the last digit, and
// tells whether that is longer than this unit's probe has ever done: it is
// stuck.
func (u *Unit) stuckAtOneValue(c *runStep, raw float64, t time.Time) bool {
	q, d := &u.s.Probe, &c.Doubt
	d.Seen++
	if q.FlatT.IsZero() || raw != q.RawC {
		q.RawC, q.FlatT, q.FlatN = raw, t, 1
		return false
	}
	q.FlatN++
	s := t.Sub(q.FlatT).Seconds()
	if s > d.FlatS {
		d.FlatS, d.FlatN = s, q.FlatN
	}
	fig := u.fig()
	if q.FlatN < fig.FlatReadings || s < fig.FlatS {
		return false
	}
	h := u.s.habit(u.habitKey(c), t)
	return len(h.Flat) >= flatBaths && s >= fig.FlatTimes*h.Flat.most()
}

// flatBaths is of how many baths of the step it must be known how long the probe
// stays at one value, before a stuck probe can be told from a steady bath.
const flatBaths = 5

// flatLimit is the moment from which a probe that stays at one value is not
// believed.
func (u *Unit) flatLimit(c *runStep) time.Time {
	h := u.s.habit(u.habitKey(c), u.s.Clock.T)
	at := u.s.Probe.FlatT.Add(lab.Seconds(max(u.fig().FlatS, u.fig().FlatTimes*h.Flat.most())))
	return lab.Later(at, u.s.Probe.FillT)
}

// carried tells whether the probe still reads exactly what it read in the bath
// before, though new liquid came in. Two liquids never read alike on a fine
// probe: until it moves, or has stood still for long enough to be disbelieved,
// it tells nothing of this bath.
func (q *probeState) carried() bool {
	return !q.FlatT.IsZero() && q.FlatT.Before(q.FillT) && q.FlatN >= 2 && q.halfStepC() <= fineC
}

// fineC is half the resolution of a probe so fine that two liquids never read
// alike.
const fineC = 0.01

// newFill notes that new liquid came in: what was known of the old one does not
// count for it.
func (u *Unit) newFill(t time.Time) {
	q := &u.s.Probe
	q.LastT, q.FillT, q.Free = time.Time{}, t, true
	q.HeardT = time.Time{}
	q.Mean = nil
	if q.halfStepC() > fineC { // two liquids may well read alike
		q.FlatT = time.Time{}
	}
	u.dropHolds("bath:")
}
