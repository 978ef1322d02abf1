package rules

import (
	"fmt"
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// probeState is what the fold knows of the bath's probe: whether what it says can
// be the liquid, how finely it reads and how much it trembles.
type probeState struct {
	HeardT time.Time `json:"heard_t,omitzero"` // the last reading that arrived, believed or not
	Shown  reading   `json:"shown,omitzero"`   // the last that was not believed
	Why    string    `json:"why,omitempty"`    // and why not

	LastC float64   `json:"last_c,omitzero"`
	LastT time.Time `json:"last_t,omitzero"` // the last believed reading of this fill
	FillT time.Time `json:"fill_t,omitzero"` // when this fill came in
	Free  bool      `json:"free,omitempty"`  // a new liquid still closes in on its temperature
	BadT  time.Time `json:"bad_t,omitzero"`  // since when nothing is believed
	BadN  int       `json:"bad_n,omitempty"` // readings since then

	RawC  float64   `json:"raw_c,omitzero"`  // the last reading as it came
	FlatT time.Time `json:"flat_t,omitzero"` // since when it is the same to the last digit
	FlatN int       `json:"flat_n,omitempty"`

	StepC float64 `json:"step_c,omitzero"` // the smallest step the readings have shown
	GridC float64 `json:"grid_c,omitzero"` // the coarsest grid on which all of them lie
	Diffs int     `json:"diffs,omitempty"` // differences seen, up to diffsEnough
	Noise lastValues    `json:"noise,omitempty"` // the last differences
	Sigma float64 `json:"sigma,omitzero"`

	LongSigma float64 `json:"long_sigma,omitzero"` // the noise over many readings: few may tremble less than the probe does

	JumpT time.Time `json:"jump_t,omitzero"` // when it jumped, and has not come back since
	Mean  []reading `json:"mean,omitempty"`  // readings of the last minute, where noise wants a mean
}

// doubt is what of a step's readings was not believed.
type doubt struct {
	N     int     `json:"n,omitempty"`
	S     float64 `json:"s,omitzero"`      // seconds, single readings left out
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

// agreesC is how near to what is set a figure must be to make sense, and
// senselessC how far from it not to, °C.
const (
	agreesC    = 3
	senselessC = 12
)

func toC(fahrenheit float64) float64 { return (fahrenheit - 32) / 1.8 }

// inFahrenheit tells whether a figure makes sense only in degrees Fahrenheit,
// where low to high °C is what it ought to be.
func inFahrenheit(v, low, high float64) bool {
	asC := max(low-v, v-high)
	asF := max(low-toC(v), toC(v)-high)
	return asC > senselessC && asF <= agreesC
}

// asCelsius is a set temperature in °C: as it came, or read in Fahrenheit where it
// makes sense only so.
func asCelsius(setC float64, sp *process.Step) float64 {
	if sp != nil && setC > 0 && inFahrenheit(setC, sp.LowC, sp.HighC) {
		return toC(setC)
	}
	return setC
}

// believable tells whether a temperature is one that the process could have.
func (f *Unit) believable(v float64) bool {
	return v >= f.fig().BelieveLowC && v <= f.fig().BelieveHighC
}

// doubts says why a reading of the bath cannot be the liquid, "" where it can.
func (f *Unit) doubts(c *runStep, raw, v float64, t time.Time) string {
	q, sp := &f.s.Probe, f.spec(c)
	if why := f.scaleDoubt(c, sp, v); why != "" {
		return why
	}
	if f.flat(c, raw, t) {
		return doubtFlat
	}
	if q.LastT.IsZero() || t.Sub(q.FillT) <= lab.Seconds(f.fig().FillFreeS) {
		if !q.JumpT.IsZero() && !f.expected(c, sp, v) {
			return doubtJump
		}
		return ""
	}
	if q.Free {
		if f.approachesAim(c, sp, v) {
			return ""
		}
		q.Free = false
	}
	if f.withinReach(v, t) {
		return ""
	}
	return doubtJump
}

// expected tells whether a reading of a new fill is one that the bath should
// have, within reach: a probe that jumped in the bath before, and never came
// back, is not believed by the mere coming of a new liquid.
func (f *Unit) expected(c *runStep, sp *process.Step, v float64) bool {
	if sp == nil {
		return true
	}
	set := asCelsius(c.SetC, sp)
	if set <= 0 {
		set = sp.AimC
	}
	return math.Abs(v-set) <= f.fig().ReachC
}

// cameBack tells whether a probe that jumped is back with a reading that is
// believed: in the bath in which it jumped, or at what a later one is set to.
func (f *Unit) cameBack(c *runStep, v float64, t time.Time) bool {
	q, sp := &f.s.Probe, f.spec(c)
	if !q.JumpT.Before(q.FillT) {
		return true // in the very bath in which it jumped
	}
	set := asCelsius(c.SetC, sp)
	if set <= 0 && sp != nil {
		set = sp.AimC
	}
	return set > 0 && math.Abs(v-set) <= f.fig().JumpC && t.Sub(q.FillT) > lab.Seconds(f.fig().FillFreeS)
}

// scaleDoubt looks at a reading alone: what no bath of the process can be.
func (f *Unit) scaleDoubt(c *runStep, sp *process.Step, v float64) string {
	if sp != nil {
		low, high := sp.LowC, sp.HighC
		if set := asCelsius(c.SetC, sp); set > 0 {
			low, high = min(low, set), max(high, set)
		}
		if inFahrenheit(v, low, high) {
			return doubtFahrenheit
		}
	}
	if !f.believable(v) {
		return doubtRange
	}
	return ""
}

// withinReach tells whether the liquid can have come to v since the last
// reading that was believed. Without power it may have cooled further.
func (f *Unit) withinReach(v float64, t time.Time) bool {
	q, fig := &f.s.Probe, f.fig()
	dt := t.Sub(q.LastT).Seconds()
	reach := min(max(fig.JumpC, fig.JumpRateC*dt), fig.ReachC) + 1e-9
	if math.Abs(v-q.LastC) <= reach {
		return true
	}
	if a, b, ok := f.powerAway(q.LastT, t); ok {
		cold := f.cooling().Between(process.Exactly(q.LastC), f.room(), b.Sub(a).Seconds()).Low
		return v >= cold-reach && v <= q.LastC+reach
	}
	return false
}

// approachesAim tells whether a reading comes nearer to what the bath is to be.
func (f *Unit) approachesAim(c *runStep, sp *process.Step, v float64) bool {
	last := f.s.Probe.LastC
	nearer := func(to float64) bool {
		return to > 0 && math.Abs(v-to) < math.Abs(last-to) && (v-to)*(last-to) >= -1
	}
	set := asCelsius(c.SetC, sp)
	if set <= 0 && sp != nil {
		set = sp.AimC
	}
	return nearer(set) || f.s.Preheat.known() && nearer(f.s.Preheat.V)
}

// flat follows how long the probe has read the same to the last digit, and
// tells whether that is longer than this unit's probe ever does.
func (f *Unit) flat(c *runStep, raw float64, t time.Time) bool {
	q, d := &f.s.Probe, &c.Doubt
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
	fig := f.fig()
	if q.FlatN < fig.FlatReadings || s < fig.FlatS {
		return false
	}
	h := f.s.habit(f.habitKey(c), t)
	return len(h.Flat) >= flatBaths && s >= fig.FlatTimes*h.Flat.most()
}

// flatBaths is how many like baths must be known before a flat line counts.
const flatBaths = 5

// flatLimit is from when on a flat line is not believed.
func (f *Unit) flatLimit(c *runStep) time.Time {
	h := f.s.habit(f.habitKey(c), f.s.Clock.T)
	at := f.s.Probe.FlatT.Add(lab.Seconds(max(f.fig().FlatS, f.fig().FlatTimes*h.Flat.most())))
	return lab.Later(at, f.s.Probe.FillT)
}

// carried tells whether a fine probe has read the same to the last digit since
// before this fill: a new liquid that nothing shows of. Until it moves, or has
// stood still for long enough to be disbelieved, it says nothing of the bath.
func (q *probeState) carried() bool {
	return !q.FlatT.IsZero() && q.FlatT.Before(q.FillT) && q.FlatN >= 2 && q.halfStepC() <= fineC
}

// fineC is half the step of a probe so fine that two liquids never read alike.
const fineC = 0.01

// disbelieved takes a reading that is not believed: kept and shown, not counted.
func (f *Unit) disbelieved(c *runStep, v float64, t time.Time, why string) {
	q := &f.s.Probe
	c.Doubt.N++
	c.Doubt.Why = why
	q.Shown, q.Why = reading{v, t}, why
	q.BadN++
	if q.BadN == 1 {
		q.BadT = t
	}
	f.drop("bath:sound")
	due, proved := f.held("bath:doubt", true, t, f.fig().DoubtHoldS)
	if why == doubtFlat && !c.Doubt.Flat {
		f.unbelieveFlat(c, t)
		due, proved = f.flatLimit(c), true
		q.BadT, q.BadN = lab.Later(q.FlatT, q.FillT), q.FlatN
	}
	if why == doubtJump && proved && q.BadN >= doubtReadings && (q.JumpT.IsZero() || !q.JumpT.Before(q.FillT)) {
		q.JumpT = t
	}
	if !proved || q.BadN < doubtReadings || !f.followed() {
		return
	}
	a, w := alertKey{rule: RuleReadingDoubtful, step: c}, f.doubtContent(c, v, why)
	if f.open(a) != nil {
		f.change(a, w, false)
		return
	}
	f.drop("bath:out")
	f.drop("bath:far")
	f.clear(alertKey{rule: RuleBathTemperature, step: c}, q.BadT)
	f.raise(a, due, w)
}

// doubtReadings is how many readings in a row must be doubtful.
const doubtReadings = 3

// unbelieveFlat takes a flat line back out of what the bath has had: it was
// counted before it showed itself.
func (f *Unit) unbelieveFlat(c *runStep, t time.Time) {
	q := &f.s.Probe
	c.Doubt.Flat = true
	c.Doubt.N += q.FlatN - 1
	c.Bath.forget(lab.Later(q.FlatT, q.FillT), t, q.RawC+f.offsetC(c), f.conditionsOf(c))
}

// believed ends a time in which nothing was believed, and learns from the
// reading how finely the probe reads and how much it trembles.
func (f *Unit) believed(c *runStep, v float64, t time.Time) {
	q := &f.s.Probe
	f.endDoubt(c, t)
	f.drop("bath:doubt")
	a := alertKey{rule: RuleReadingDoubtful, step: c}
	if f.open(a) != nil {
		if due, proved := f.held("bath:sound", true, t, f.fig().BathClearS); proved {
			f.drop("bath:sound")
			f.clear(a, due)
		}
	}
	if !q.LastT.IsZero() {
		q.learn(v, v-q.LastC)
	}
	if !q.JumpT.IsZero() && f.cameBack(c, v, t) {
		q.JumpT = time.Time{}
	}
	q.LastC, q.LastT = v, t
}

// endDoubt counts the time since the first of the readings in a row that were
// not believed. A single one is passed over.
func (f *Unit) endDoubt(c *runStep, t time.Time) {
	q := &f.s.Probe
	if q.BadN >= 2 {
		c.Doubt.S += max(t.Sub(q.BadT).Seconds(), 0)
	}
	q.BadN, q.BadT = 0, time.Time{}
	q.Shown, q.Why = reading{}, ""
}

// newFill begins a new liquid.
func (f *Unit) newFill(t time.Time) {
	q := &f.s.Probe
	q.LastT, q.FillT, q.Free = time.Time{}, t, true
	q.HeardT = time.Time{}
	q.Mean = nil
	if q.halfStepC() > fineC { // two liquids may well read alike
		q.FlatT = time.Time{}
	}
	f.drop("bath:")
}

// unreadS is how much of the time in a step nothing was believed of, though
// the unit had its power: seconds.
func (c *runStep) unreadS() float64 { return max(c.Doubt.S, c.Bath.UnreadS) }

// mostlyUnread tells whether half of a step or more was not read.
func (f *Unit) mostlyUnread(c *runStep) bool {
	if c.Measured > 0 {
		return false // somebody looked
	}
	s, unread := c.EndT.Sub(c.BathT).Seconds(), c.unreadS()
	if f.s.Run != nil { // a loss of power that was known of only later, by then counted as unread
		if a, b, ok := f.powerAway(c.BathT, c.EndT); ok {
			unread = min(unread, s-b.Sub(a).Seconds())
		}
	}
	return s > 0 && 2*unread >= s-1e-6
}

// doubtContent words readings that are not believed: what is wrong with them,
// and what to do by the clock.
func (f *Unit) doubtContent(c *runStep, v float64, why string) alertContent {
	q, sp := &f.s.Probe, f.spec(c)
	name := capital(StepWords(c.ID))
	if sp != nil {
		name = capital(sp.Label)
	}
	w := alertContent{priority: lab.Low, facts: map[string]any{"reads_c": lab.Round(v, 2), "why": why, "since": lab.At(f.s.Clock.report(q.BadT)).String()}}
	if !q.LastT.IsZero() {
		w.facts["believed_c"] = lab.Round(q.LastC, 2)
	}
	switch why {
	case doubtFahrenheit:
		w.message = fmt.Sprintf("%s reads %.1f, which is degrees Fahrenheit (%.1f °C)", name, v, toC(v))
		w.response = "Measure the bath with a thermometer and enter it. After the run set the unit to send Celsius."
	case doubtRange:
		w.message = fmt.Sprintf("%s reads %.1f °C, which no bath can be: probe doubtful", name, v)
	case doubtJump:
		w.message = fmt.Sprintf("%s reads %.1f °C, a jump of %+.1f °C: probe doubtful", name, v, v-q.LastC)
		if q.LastT.IsZero() {
			w.message = fmt.Sprintf("%s reads %.1f °C; the probe jumped in the bath before and has not come back", name, v)
		}
	case doubtFlat:
		w.message = fmt.Sprintf("%s reads %.2f °C without any change for %s: probe doubtful", name, v, lab.SpanText(f.s.Clock.T.Sub(q.FlatT).Seconds()))
	}
	if sp == nil || sp.Kind != process.Dev {
		return w
	}
	w.priority = lab.Urgent
	if target, ok := f.targetS(c); ok && !c.BathT.IsZero() {
		at := c.fromT().Add(lab.Seconds(target))
		w.facts["act_at"] = lab.At(f.s.Clock.report(at)).String()
		if w.response == "" || why == doubtFahrenheit {
			w.response = fmt.Sprintf("Do not go by the probe: drain by the clock at %s. Measure the bath with a thermometer now and enter it.", f.clockWords(at))
		}
	}
	return w
}

// targetS is the time in the bath that is aimed at, by the clock.
func (f *Unit) targetS(c *runStep) (float64, bool) {
	sp := f.spec(c)
	if sp == nil {
		return 0, false
	}
	return sp.TargetS(f.aim(c))
}
