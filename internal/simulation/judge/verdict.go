package judge

import (
	"fmt"
	"math"

	"wetside/internal/process"
	"wetside/internal/simulation/sim"
)

// edgeStops is how near to an edge of the verdict a push error makes a run too
// uncertain to judge, stops.
const edgeStops = 0.06

// verdictRange is the true verdict: the level that is certain, and the one that it
// may be where something is on an edge.
type verdictRange struct {
	level, top     int
	why            []string // what is certain
	edges          []string // what is on an edge
	endNotReceived bool     // an end of a developer was not received: how long it lasted is not known
}

func (r *verdictRange) certain(level int, why string, args ...any) {
	r.level, r.top = max(r.level, level), max(r.top, level)
	r.why = append(r.why, fmt.Sprintf(why, args...))
}

func (r *verdictRange) perhaps(level int, why string, args ...any) {
	if level > r.top {
		r.edges = append(r.edges, fmt.Sprintf(why, args...))
	}
	r.top = max(r.top, level)
}

// add adds a condition that is met for certain, or perhaps.
func (r *verdictRange) add(level int, surely, maybe bool, why string, args ...any) {
	switch {
	case surely:
		r.certain(level, why, args...)
	case maybe:
		r.perhaps(level, why, args...)
	}
}

// trueVerdict works out the true verdict of a run by the sheet's definition.
func (p *playedScenario) trueVerdict(t *sim.RunTruth, steps []stepTruth) verdictRange {
	var r verdictRange
	sheet, _ := process.Builtin().Sheet(t.Process)
	had := map[string]bool{}
	for i := range steps {
		p.trueVerdictOfStep(&r, &steps[i], t)
		had[steps[i].Step] = true
	}
	reached := 0
	for _, s := range steps {
		reached = max(reached, sheet.Index(s.Step))
	}
	if !t.Aborted {
		reached = len(sheet.Steps) - 1
	}
	for i, st := range sheet.Steps {
		if i > reached || had[st.ID] || st.Optional {
			continue
		}
		if st.Wash {
			r.certain(inspect, "%s was left out: its time was undercut", st.ID)
		} else {
			r.certain(outOfControl, "%s was skipped", st.ID)
		}
	}
	return r
}

func (p *playedScenario) trueVerdictOfStep(r *verdictRange, x *stepTruth, t *sim.RunTruth) {
	r.add(inspect, x.outside.certain, x.outside.possible, "%s left its limits", x.Step)
	p.trueVerdictOfTime(r, x)
	if x.sheet.Kind != process.Dev {
		return
	}
	r.add(inspect, x.longestStillS >= 15, x.longestStillS >= 6, "%s stood still for %.0f s", x.Step, x.longestStillS)
	r.add(inspect, x.withoutReadingS > 14, x.withoutReadingS > 9, "%s was not heard for %.0f s", x.Step, x.withoutReadingS)
	r.endNotReceived = r.endNotReceived || x.edgeLost && x.withoutReadingS > 9
	r.add(inspect, false, x.edgeLost, "the edge of %s was not heard", x.Step)
	r.add(inspect, x.filledS > 12, x.filledS > 3, "%s filled %.0f s too long", x.Step, x.filledS)
	p.trueVerdictOfPush(r, x, t)
}

// trueVerdictOfTime judges the time in the step.
func (p *playedScenario) trueVerdictOfTime(r *verdictRange, x *stepTruth) {
	if x.Drained.IsZero() {
		return // aborted: that is judged as such
	}
	const gray = 1.0
	short, long := x.sheet.ShortestS(x.sheetS), x.sheet.LongestS(x.sheetS)
	r.add(inspect, x.TimeS < short-gray, x.TimeS < short+gray, "%s lasted %.0f s, least %.0f", x.Step, x.TimeS, short)
	if x.sheet.Kind != process.Min {
		r.add(inspect, x.TimeS > long+gray, x.TimeS > long-gray, "%s lasted %.0f s, longest %.0f", x.Step, x.TimeS, long)
	}
}

// trueVerdictOfPush judges how far the film was developed.
func (p *playedScenario) trueVerdictOfPush(r *verdictRange, x *stepTruth, t *sim.RunTruth) {
	if x.Drained.IsZero() {
		return
	}
	shown := p.equivalentS(x, byProbe, x.sheet.Factor.Best, 0)
	film := shown
	if !p.want.onlyByProbe {
		film = p.equivalentS(x, byFilm, p.trueFactor(x), 0)
	}
	e := x.sheet.Edges
	if e.Ratio {
		a, b := shown/x.sheetS-1, film/x.sheetS-1
		low, high := min(a, b), max(a, b)
		const gray = 0.012 // edgeStops in a developer of C-41
		out := func(v, under, over float64) float64 { return max(v-over, -under-v) }
		worst := func(under, over float64) (sure, maybe bool) {
			l, h := out(low, under, over), out(high, under, over)
			return min(l, h) > gray, max(l, h) > -gray
		}
		sure, maybe := worst(e.InspectUnder, e.InspectOver)
		r.add(inspect, sure, maybe, "%s developed %+.1f %% off", x.Step, 100*b)
		sure, maybe = worst(e.OutUnder, e.OutOver)
		r.add(outOfControl, sure, maybe, "%s developed %+.1f %% off", x.Step, 100*b)
		return
	}
	a, okA := x.stops(shown, t.Push)
	b, okB := x.stops(film, t.Push)
	if !okA || !okB {
		return
	}
	low, high := min(math.Abs(a), math.Abs(b)), max(math.Abs(a), math.Abs(b))
	r.add(inspect, low > e.InspectStops+edgeStops, high > e.InspectStops-edgeStops, "push error of %s %+.2f stop", x.Step, b)
	r.add(outOfControl, low > e.OutStops+edgeStops, high > e.OutStops-edgeStops, "push error of %s %+.2f stop", x.Step, b)
}

// stops is the push error of an equivalent time, by straight lines between
// the sheet's push times, the outer two carried on; against the house aim
// where the lab has one.
func (x *stepTruth) stops(eq, push float64) (float64, bool) {
	t := x.sheet.Push
	if t == nil {
		return 0, false
	}
	normal := 1.0
	if t.Factors {
		if normal = x.sheet.AimS; x.sheet.FromUnit {
			normal = x.ControllerSetS / interpolate(t.Stops, t.Values, push)
		}
	}
	times := make([]float64, len(t.Values))
	for i, v := range t.Values {
		times[i] = v * normal
	}
	v := interpolate(times, t.Stops, eq) - push
	if x.houseS > 0 {
		v -= interpolate(times, t.Stops, x.houseS) - push
	}
	return v, true
}

// interpolate reads y at x off straight lines through the points.
func interpolate(xs, ys []float64, x float64) float64 {
	i := 1
	for i < len(xs)-1 && x > xs[i] {
		i++
	}
	return ys[i-1] + (ys[i]-ys[i-1])*(x-xs[i-1])/(xs[i]-xs[i-1])
}

func levelOf(verdict *string) int {
	if verdict == nil {
		return -1
	}
	for i, v := range levels {
		if v == *verdict {
			return i
		}
	}
	return -1
}

// accepted is the range of verdicts that are right, and whether the run is
// left out since it lies on an edge.
func (p *playedScenario) accepted(r verdictRange) (low, high int, leftOut bool) {
	low, high = max(r.level, p.want.leastVerdict), max(r.top, p.want.leastVerdict)
	if r.endNotReceived && low > inspect {
		return inspect, high, false
	}
	if p.want.worstVerdict > high {
		return low, p.want.worstVerdict, false
	}
	return low, high, low != high
}
