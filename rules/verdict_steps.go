package rules

import (
	"fmt"
	"math"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// stepReasons are the reasons of one step.
func (u *Unit) stepReasons(c *runStep, add addReason) {
	sp := u.spec(c)
	if sp == nil || c.EndT.IsZero() || c.BathT.IsZero() && !c.Short {
		return
	}
	if c.Stranded {
		add(1, 0, reasonNoEvidence, c.ID, fmt.Sprintf("The run left the film in %s: when it came out is not known.", sp.Label))
		return
	}
	p := u.developerErrorOf(c, sp)
	said := false // the push error is told once, with the reason that explains most of it
	push := func(level int) string {
		if p.level == 0 || said || level < p.level {
			return ""
		}
		said = true
		return p.text
	}
	u.outageReasons(c, sp, p, add)
	u.timeReasons(c, sp, p, push, add)
	u.bathReasons(c, sp, p, push, add)
	dev := sp.Kind == process.Dev
	if dev && c.NoRotation && !u.turnedThrough(c) {
		add(1, 0.001, reasonRotation, c.ID, fmt.Sprintf("The tank stood still in %s; standing film develops unevenly.", sp.Label))
	}
	if extra := u.slowDrainS(c); dev && extra > 0 {
		level, share := 1, 0.001
		if target, ok := sp.TargetS(u.aim(c)); ok && c.Bath.Eq.Best > 0 {
			with := c.Bath.Eq.Best + extra*sp.Rates(c.Bath.PrevC).Best
			level = max(level, sp.Off(with, u.aim(c)))
			share = max(share, math.Log(with/target))
		}
		add(level, share, reasonLong, c.ID, fmt.Sprintf("%s took %s to drain: some of the film had it for up to %s longer.", capital(sp.Label), lab.SpanText(c.DrainS), lab.SpanText(extra)))
	}
	if usual := u.s.Usual[string(lab.PhaseFilling)].median(); dev && usual > 0 && c.FillS > usual+slowFillS {
		add(1, 0.001, reasonLong, c.ID, fmt.Sprintf("%s took %s to fill, usually %s: the film that was wet first had it longer.", capital(sp.Label), lab.SpanText(c.FillS), lab.SpanText(usual)))
	}
	if c.NoChem {
		add(1, 0, reasonChemistry, c.ID, fmt.Sprintf("%s: the bottle was empty, or gave less than the fill it should.", capital(sp.Label)))
	}
	u.doubtReasons(c, sp, add)
	if dev && c.Slow && !c.NoRotation {
		add(1, 0.0005, reasonRotation, c.ID, fmt.Sprintf("The tank turned slowly in %s; agitation decides contrast and evenness.", sp.Label))
	}
	if dev && sp.Push != nil && !sp.PushKnown(u.s.Run.Push) {
		add(1, 0, reasonNoEvidence, c.ID, fmt.Sprintf("The sheet has no time for %s: how far %s went is not judged.", process.PushWords(u.s.Run.Push), sp.Label))
	}
	if dev && (c.NoReading || c.Unheard || !c.BathHeard || c.Bath.N == 0 || c.Bath.GapS > u.readingLimitS()) {
		add(1, 0, reasonNoEvidence, c.ID, fmt.Sprintf("Not all data of %s was received.", sp.Label))
	}
}

// slowDrainS is how many seconds longer than usual a step took to drain, 0 where
// it was not slow.
func (u *Unit) slowDrainS(c *runStep) float64 {
	usual := u.s.Usual[string(lab.PhaseDraining)].median()
	if usual <= 0 || c.DrainS <= usual+slowFillS {
		return 0
	}
	return c.DrainS - usual
}

// slowFillS is how many seconds longer than usual a developer may take to fill or
// drain before the film is to be inspected.
const slowFillS = 8

// outageReasons adds the losses of power in a step. In a developer the film is to
// be inspected whatever the push error: no number of seconds repairs uneven
// development.
func (u *Unit) outageReasons(c *runStep, sp *process.Step, p developerError, add addReason) {
	for _, o := range u.s.Run.Outages {
		if o.N != c.N || o.Step != c.ID {
			continue
		}
		if sp.Kind != process.Dev { // elsewhere it only explains what it did to the step
			add(0, 0, reasonOutage, c.ID, fmt.Sprintf("Mains power was lost for %s in %s.", lab.SpanText(o.S), StepWords(o.Step)))
			continue
		}
		share := 0.002
		if p.timeLong {
			share = max(share, p.time)
		}
		if !p.warm || u.room().Best > sp.AimC {
			share = max(share, p.speed)
		}
		text := fmt.Sprintf("Mains power was lost for %s in %s.", lab.SpanText(o.S), StepWords(o.Step))
		if o.BackT.IsZero() {
			text = fmt.Sprintf("Mains power was lost in %s.", StepWords(o.Step))
		}
		still := u.stillS(c, o)
		switch {
		case o.inFilling(c):
			text += " It stopped while filling: the film that was wet first had the developer for longer."
		case !c.DrainT.IsZero() && !o.LostT.Before(c.DrainT):
			text += " It stopped while draining: some of the film had the developer for longer."
		case still < 1 && o.S >= 1:
			text += " The tank was turned by hand meanwhile."
		default:
			text += fmt.Sprintf(" The film stood still for about %s: it may have developed unevenly, which no number of seconds repairs.", lab.SpanText(still))
		}
		add(1, share, reasonOutage, c.ID, text)
	}
}

// inFilling tells whether an outage was over before the bath of c was in.
func (o *outage) inFilling(c *runStep) bool { return !o.BackT.IsZero() && !o.BackT.After(c.BathT) }

// filledWithout tells whether an outage came while a step was filled.
func (u *Unit) filledWithout(step string) bool {
	return slices.ContainsFunc(u.s.Run.Steps, func(c *runStep) bool {
		return c.ID == step && slices.ContainsFunc(u.s.Run.Outages, func(o *outage) bool { return o.N == c.N && o.Step == step && o.inFilling(c) })
	})
}

// timeReasons adds that the step was set wrong, too short or too long.
func (u *Unit) timeReasons(c *runStep, sp *process.Step, p developerError, push func(int) string, add addReason) {
	sheetS, known := u.sheetS(c)
	if !known || c.BathT.IsZero() {
		return
	}
	timeS := c.EndT.Sub(c.fromT()).Seconds()
	strict := sp.Kind == process.Dev || sp.Kind == process.Exact
	if c.EndLost {
		return // its end was not received
	}
	long := c.BathHeard && strict && timeS > sp.LongestS(sheetS)
	mostly := p.level > 0 && p.time >= p.speed
	level := 0
	if c.Short || long {
		level = 1
	}
	if mostly {
		level = p.level
	}
	if c.WrongSet {
		share := 0.0
		if math.Abs(timeS-c.SetS) < math.Abs(timeS-sheetS) || mostly {
			share = p.time
		}
		add(0, share, reasonWrongTime, c.ID, fmt.Sprintf("%s was set to %s; the sheet says %s.", capital(sp.Label), lab.SpanText(c.SetS), lab.SpanText(sheetS)))
	}
	want := sheetS
	if sp.Kind == process.Min {
		want = sp.LeastS
	}
	text := func() string {
		return fmt.Sprintf("%s lasted %s; the sheet says %s.", capital(sp.Label), lab.SpanText(timeS), lab.SpanText(want)) + push(level)
	}
	switch {
	case c.Short || mostly && !p.timeLong:
		add(level, p.time, reasonShort, c.ID, text())
	case long || mostly && p.timeLong:
		add(level, p.time, reasonLong, c.ID, text())
	}
}

// bathReasons adds that the bath was too warm or too cool, or swung.
func (u *Unit) bathReasons(c *runStep, sp *process.Step, p developerError, push func(int) string, add addReason) {
	mostly := p.level > 0 && p.speed > p.time
	if !c.Out && !mostly {
		return
	}
	if c.Swings && !mostly {
		add(1, p.speed, reasonSwings, c.ID, fmt.Sprintf("%s swung between %.2f and %.2f °C (limits %g to %g °C): its heater hunts.",
			capital(sp.Label), c.Bath.MinC, c.Bath.MaxC, sp.LowC, sp.HighC)+push(1))
		return
	}
	code, way := reasonCool, "too cool"
	if c.OutWarm && !mostly || mostly && p.warm {
		code, way = reasonWarm, "too warm"
	}
	level := 1
	if mostly {
		level = max(level, p.level)
	}
	text := fmt.Sprintf("%s was %s for %s (%.2f to %.2f °C).", capital(sp.Label), way, lab.SpanText(c.Bath.OutS), c.Bath.MinC, c.Bath.MaxC)
	if !c.Out {
		text = fmt.Sprintf("%s was %s on the whole (%.2f to %.2f °C).", capital(sp.Label), way, c.Bath.MinC, c.Bath.MaxC)
	}
	add(level, p.speed, code, c.ID, text+push(level))
}

// doubtReasons adds that readings were not believed: they are no evidence.
func (u *Unit) doubtReasons(c *runStep, sp *process.Step, add addReason) {
	limit := max(u.fig().ReadingMissingS, u.fig().ReadingMissingIntervals*u.s.Intervals.median())
	if c.Doubt.S < limit {
		return
	}
	level := 0
	if sp.Kind == process.Dev {
		level = 1
	}
	if sp.Kind == process.Dev || !sp.Wash {
		add(level, 0, reasonNoEvidence, c.ID, fmt.Sprintf("For %s of %s the probe's readings were not believed: %s.",
			lab.SpanText(c.Doubt.S), sp.Label, doubtWords(c.Doubt.Why)))
	}
}

func doubtWords(why string) string {
	switch why {
	case doubtFahrenheit:
		return "they were in degrees Fahrenheit"
	case doubtJump:
		return "they jumped as no liquid does"
	case doubtFlat:
		return "they stood still to the last digit"
	}
	return "no bath of this process is so warm or so cold"
}
