package rules

import (
	"fmt"
	"math"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// basisOf lists what an advice is based on: what was measured, what estimated
// from it, and what only assumed. It stands beside the advice, so that people
// can see how far to trust it.
func (u *Unit) basisOf(c *runStep, sp *process.Step, lost, back time.Time) (measured, estimated, assumed []string) {
	b, fig := c.Bath, &u.s.Run.Fig
	if !b.HeldT.IsZero() {
		measured = append(measured, fmt.Sprintf("bath %.1f °C at %s", b.HeldC, u.clockWords(b.HeldT)))
	} else if b.Prev {
		measured = append(measured, fmt.Sprintf("bath %.1f °C", b.PrevC))
	}
	if c.BathHeard {
		measured = append(measured, "in the bath since "+u.clockWords(c.BathT))
	} else {
		assumed = append(assumed, "in the bath since "+u.clockWords(c.BathT)+" at the latest")
	}
	if fig.Probe != nil {
		measured = append(measured, fmt.Sprintf("probe checked %s: %+.2f °C, known to ±%.2f °C", fig.Probe.At.UTC().Format(time.DateOnly), fig.Probe.OffsetC, fig.Probe.WithinC))
	} else {
		assumed = append(assumed, probeWords(fig.Class, sp.AimC))
	}
	if b.GuessS > 0 || back.IsZero() {
		word := fmt.Sprintf("cooling where nothing was read, as this unit cooled %d times before", len(u.s.Cools))
		now := u.cooling().Fits > len(u.s.Cools)
		switch {
		case now && len(u.s.Cools) > 0:
			word += " and since mains power was lost"
		case now:
			word = "cooling where nothing was read, as it has cooled since mains power was lost"
		case len(u.s.Cools) == 0:
			assumed = append(assumed, "how fast the tank cools: this unit has not shown it yet")
			word = "the bath where nothing was read"
		}
		if b.GuessS > 0 {
			word += " (" + lab.SpanText(b.GuessS) + ")"
		}
		estimated = append(estimated, word)
		if !u.s.Room.known() {
			assumed = append(assumed, fmt.Sprintf("room at %.0f °C: not measured", roomC.Best))
		}
	}
	if sp.Kind == process.Dev {
		assumed = append(assumed, kineticsWords(sp))
	}
	return measured, estimated, assumed
}

// probeWords say how far a probe that was never checked is assumed to be off.
func probeWords(class string, c float64) string {
	why := "never checked"
	if class == "" {
		class, why = process.ClassB, "its kind is not known and it was never checked"
	}
	return fmt.Sprintf("probe right to ±%.2f °C (class %s, IEC 60751): %s", process.ProbeTolerance(class, c), class, why)
}

func kineticsWords(sp *process.Step) string {
	if sp.Developer != nil {
		return "speed of development by the table of " + sp.Developer.Name()
	}
	return fmt.Sprintf("development %.3g times as fast for each +10 °C (%.3g to %.3g)", sp.Factor.Best, sp.Factor.Low, sp.Factor.High)
}

// questions are what to ask the person who was there: no message tells it.
func (u *Unit) questions(c *runStep, o *outage) []string {
	var out []string
	if o.Still >= 1 {
		out = append(out, "Was the tank turned by hand? From when to when?")
	}
	if !c.ByHand {
		out = append(out, "Was it drained by hand? When?")
	}
	return out
}

// clockWords writes a timeline time as the clock on the wall shows it.
func (u *Unit) clockWords(t time.Time) string { return u.wallClock(t, time.TimeOnly) }

// minuteWords is clockWords without the seconds, for what is far off.
func (u *Unit) minuteWords(t time.Time) string { return u.wallClock(t, "15:04") }

func (u *Unit) wallClock(t time.Time, layout string) string {
	t = u.s.Clock.report(t)
	if u.cfg.Zone == nil {
		return t.UTC().Format(layout) + " UTC"
	}
	return t.In(u.cfg.Zone).Format(layout)
}

// finite is a moment s seconds after base, nil where it never comes (s without
// end).
func finite(base time.Time, s float64) *lab.Time {
	if math.IsInf(s, 0) || math.IsNaN(s) || s > 366*86400 {
		return nil
	}
	return lab.AtPtr(base.Add(lab.Seconds(s)))
}

func (o *outage) record() lab.Outage {
	out := lab.Outage{LostAt: lab.AtPtr(o.LostAt), BackAt: lab.AtPtr(o.BackAt), Kind: o.Kind, Step: o.Step,
		Advice: o.Advice, AdvisedRemainingS: o.LeftS, Text: o.Text,
		Measured: o.Measured, Estimated: o.Estimated, Assumed: o.Assumed, Ask: o.Ask}
	if o.BackAt.IsZero() {
		return out
	}
	out.OutageS = new(lab.Round(o.S, 1))
	if !o.ActT.IsZero() {
		out.ActAt = lab.AtPtr(o.BackAt.Add(o.ActT.Sub(o.BackT)))
	}
	if o.Done != nil {
		out.PushStops, out.PushLowStops, out.PushHighStops = new(lab.Round(o.Done.Best, 3)), new(lab.Round(o.Done.Low, 3)), new(lab.Round(o.Done.High, 3))
	}
	if o.Still > 0 {
		out.StoodS = new(lab.Round(o.Still, 0))
	}
	return out
}
