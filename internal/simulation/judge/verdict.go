package judge

import (
	"fmt"
	"math"

	"wetside/internal/process"
	"wetside/internal/simulation/sim"
)

// edgeStops is how near to an edge of the push error a run is left out.
const edgeStops = 0.06

// ruling is the true verdict: the level that is certain, and the one that it
// may be where something is on an edge.
type ruling struct {
	level, top int
	why        []string // what is certain
	edges      []string // what is on an edge
	deaf       bool     // an end of a developer was not heard: nobody can say how far it went
}

func (r *ruling) sure(level int, why string, args ...any) {
	r.level, r.top = max(r.level, level), max(r.top, level)
	r.why = append(r.why, fmt.Sprintf(why, args...))
}

func (r *ruling) perhaps(level int, why string, args ...any) {
	if level > r.top {
		r.edges = append(r.edges, fmt.Sprintf(why, args...))
	}
	r.top = max(r.top, level)
}

// is tells whether a condition is met for certain, or perhaps.
func (r *ruling) is(level int, surely, maybe bool, why string, args ...any) {
	switch {
	case surely:
		r.sure(level, why, args...)
	case maybe:
		r.perhaps(level, why, args...)
	}
}

// rule works out the true verdict of a run by the sheet's definition.
func (p *played) rule(t *sim.RunTruth, steps []stepTruth) ruling {
	var r ruling
	sheet, _ := process.Builtin().Sheet(t.Process)
	had := map[string]bool{}
	for i := range steps {
		p.ruleStep(&r, &steps[i], t)
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
			r.sure(inspect, "%s was left out: its time was undercut", st.ID)
		} else {
			r.sure(outOfControl, "%s was skipped", st.ID)
		}
	}
	return r
}

func (p *played) ruleStep(r *ruling, x *stepTruth, t *sim.RunTruth) {
	r.is(inspect, x.out.surely, x.out.maybe, "%s left its limits", x.Step)
	p.ruleTime(r, x)
	if x.sheet.Kind != process.Dev {
		return
	}
	r.is(inspect, x.still >= 15, x.still >= 6, "%s stood still for %.0f s", x.Step, x.still)
	r.is(inspect, x.unheard > 14, x.unheard > 9, "%s was not heard for %.0f s", x.Step, x.unheard)
	r.deaf = r.deaf || x.edgeLost && x.unheard > 9
	r.is(inspect, false, x.edgeLost, "the edge of %s was not heard", x.Step)
	r.is(inspect, x.filledS > 12, x.filledS > 3, "%s filled %.0f s too long", x.Step, x.filledS)
	p.rulePush(r, x, t)
}

// ruleTime judges the time in the step.
func (p *played) ruleTime(r *ruling, x *stepTruth) {
	if x.Drained.IsZero() {
		return // aborted: that is judged as such
	}
	const gray = 1.0
	short, long := x.sheet.ShortestS(x.sheetS), x.sheet.LongestS(x.sheetS)
	r.is(inspect, x.TimeS < short-gray, x.TimeS < short+gray, "%s lasted %.0f s, least %.0f", x.Step, x.TimeS, short)
	if x.sheet.Kind != process.Min {
		r.is(inspect, x.TimeS > long+gray, x.TimeS > long-gray, "%s lasted %.0f s, longest %.0f", x.Step, x.TimeS, long)
	}
}

// rulePush judges how far the film was developed.
func (p *played) rulePush(r *ruling, x *stepTruth, t *sim.RunTruth) {
	if x.Drained.IsZero() {
		return
	}
	shown := p.equivalentS(x, byProbe, x.sheet.Factor.Best, 0)
	film := shown
	if !p.want.byProbe {
		film = p.equivalentS(x, byFilm, p.truly(x), 0)
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
		r.is(inspect, sure, maybe, "%s developed %+.1f %% off", x.Step, 100*b)
		sure, maybe = worst(e.OutUnder, e.OutOver)
		r.is(outOfControl, sure, maybe, "%s developed %+.1f %% off", x.Step, 100*b)
		return
	}
	a, okA := x.stops(shown, t.Push)
	b, okB := x.stops(film, t.Push)
	if !okA || !okB {
		return
	}
	low, high := min(math.Abs(a), math.Abs(b)), max(math.Abs(a), math.Abs(b))
	r.is(inspect, low > e.InspectStops+edgeStops, high > e.InspectStops-edgeStops, "push error of %s %+.2f stop", x.Step, b)
	r.is(outOfControl, low > e.OutStops+edgeStops, high > e.OutStops-edgeStops, "push error of %s %+.2f stop", x.Step, b)
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
			normal = x.SaidS / line(t.Stops, t.Values, push)
		}
	}
	times := make([]float64, len(t.Values))
	for i, v := range t.Values {
		times[i] = v * normal
	}
	v := line(times, t.Stops, eq) - push
	if x.houseS > 0 {
		v -= line(times, t.Stops, x.houseS) - push
	}
	return v, true
}

// line reads y at x off straight lines through the points.
func line(xs, ys []float64, x float64) float64 {
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
// left out as on an edge.
func (p *played) accepted(r ruling) (low, high int, leftOut bool) {
	low, high = max(r.level, p.want.least), max(r.top, p.want.least)
	if r.deaf && low > inspect {
		return inspect, high, false
	}
	if p.want.upTo > high {
		return low, p.want.upTo, false
	}
	return low, high, low != high
}
