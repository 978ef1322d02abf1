package judge

import (
	"math"
	"slices"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/internal/simulation/sim"
)

// outcome is one run judged.
type outcome struct {
	scenario    *scenario
	err         error
	missing     bool // there is no record of the run
	verdict     int
	low, high   int // the verdicts that are right
	leftOut     bool
	edges       []string
	why         []string
	first       string
	firstOK     bool
	judgedBy    bool // its first reason is judged
	pushes      []judgedPush
	advice      []judgedAdvice
	outlooks    []judgedOutlook
	powerLosses []judgedPowerLoss
	invented    int // outages in the record that never were
	equivalents []judgedEquivalent
	pages       []string
	clean       bool   // nothing went wrong in it
	before      []past // clean runs before it
}

// past is a clean run before the judged one.
type past struct {
	verdict int
	pages   []string
	reasons []lab.Reason
}

// judgedPush sets the push error of one developer beside the truth.
type judgedPush struct {
	Step          string
	Readings      bool // readings all through
	Outage        bool
	Known         bool // the cooling was seen before
	Missing       bool
	Got           float64
	Low, High     float64
	Shown         float64 // by the sheet's factor and what the probe showed
	Film          float64 // what the film got
	NarrowestLow  float64 // the narrowest range that the probe, the factor and the scatter of push times allow
	NarrowestHigh float64
	Covered       bool
	SkipAccuracy  bool
}

// judgeRun judges the record of the last run.
func (p *playedScenario) judgeRun() outcome {
	o := outcome{scenario: p.scenario, clean: len(p.want.firstReasons) == 0 && p.want.leastVerdict == 0 && p.name == "none"}
	var t *sim.RunTruth
	for i := range p.truths {
		if p.truths[i].Ordinal == p.last {
			t = &p.truths[i]
			continue
		}
		if (!p.known || p.truths[i].Ordinal != 1) && p.probe == nil && p.house == nil {
			o.before = append(o.before, p.pastRun(&p.truths[i]))
		}
	}
	if t == nil {
		o.missing = true
		return o
	}
	run, ok := p.watchedRun(t)
	if !ok || run.Verdict == nil {
		o.missing = true
		return o
	}
	steps := p.steps(t)
	r := p.trueVerdict(t, steps)
	o.verdict = levelOf(run.Verdict)
	o.low, o.high, o.leftOut = p.accepted(r)
	o.why, o.edges = r.why, r.edges
	if len(run.Reasons) > 0 {
		o.first = run.Reasons[0].Code
	}
	o.judgedBy = o.low > inControl && !o.leftOut && len(p.want.firstReasons) > 0
	o.firstOK = slices.Contains(p.want.firstReasons, o.first) || r.endNotReceived && o.first == "missing-evidence"
	o.pushes = p.judgePushes(t, steps, &run)
	o.advice = p.judgeAdvice(t, steps, &run)
	o.powerLosses, o.invented = p.judgePowerLosses(t, steps, &run)
	o.equivalents = p.judgeEquivalents(t, steps, &run)
	o.outlooks = p.judgeOutlooks(steps)
	o.pages = p.pages(t)
	return o
}

func (p *playedScenario) pastRun(t *sim.RunTruth) past {
	v := past{verdict: -1, pages: p.pages(t)}
	if run, ok := p.watchedRun(t); ok {
		v.verdict, v.reasons = levelOf(run.Verdict), run.Reasons
	}
	return v
}

func (p *playedScenario) judgePushes(t *sim.RunTruth, steps []stepTruth, run *lab.Run) []judgedPush {
	var out []judgedPush
	if p.want.pushUndefined || p.want.onlyByProbe || t.Aborted {
		return nil
	}
	for i := range steps {
		x := &steps[i]
		if x.sheet.Kind != process.Dev || x.sheet.Push == nil || x.Drained.IsZero() {
			continue
		}
		out = append(out, p.judgePush(x, t, run))
	}
	return out
}

// scatter is how many stops a stop of a push table may be with another film.
func scatter(push *process.Push) []float64 {
	if push.Spread == (process.Factor{}) {
		return []float64{1}
	}
	return []float64{push.Spread.Low, 1, push.Spread.High}
}

func (p *playedScenario) judgePush(x *stepTruth, t *sim.RunTruth, run *lab.Run) judgedPush {
	v := judgedPush{Step: x.Step, Known: p.known, Readings: x.withoutReadingS < 10 && !x.edgeLost, Missing: true,
		Outage: slices.ContainsFunc(x.wet, func(m sim.FilmMoment) bool { return !m.Power })}
	v.Shown, _ = x.stops(p.equivalentS(x, byProbe, x.sheet.Factor.Best, 0), t.Push)
	v.Film, _ = x.stops(p.equivalentS(x, byFilm, p.trueFactor(x), 0), t.Push)
	v.NarrowestLow, v.NarrowestHigh = math.Inf(1), math.Inf(-1)
	for _, f := range []float64{x.sheet.Factor.Low, x.sheet.Factor.Best, x.sheet.Factor.High} {
		for _, c := range []float64{-p.probeWithinC(), p.probeWithinC()} {
			s, _ := x.stops(p.equivalentS(x, byProbe, f, c), t.Push)
			for _, k := range scatter(x.sheet.Push) {
				v.NarrowestLow, v.NarrowestHigh = min(v.NarrowestLow, s*k), max(v.NarrowestHigh, s*k)
			}
		}
	}
	at := slices.IndexFunc(run.Steps, func(s lab.RunStep) bool { return s.Step == x.Step })
	if at < 0 {
		return v
	}
	s := run.Steps[at]
	if s.PushErrorStops == nil || s.PushErrorLowStops == nil || s.PushErrorHighStops == nil {
		return v
	}
	const rounding = 0.001
	v.Missing, v.Got, v.Low, v.High = false, *s.PushErrorStops, *s.PushErrorLowStops, *s.PushErrorHighStops
	v.Covered = v.Film >= v.Low-rounding && v.Film <= v.High+rounding
	return v
}
