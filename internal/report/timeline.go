package report

import (
	"encoding/json"
	"math"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
	"wetside/rules"
)

// timeline gives what the pages and the PDF draw.
func (w *runTrace) timeline(run lab.Run, by lab.JudgedBy, entries []lab.Entry, good []Features, fig rules.Figures) lab.Timeline {
	t := lab.Timeline{From: run.StartedAt, To: run.StartedAt, Outages: []lab.Span{}, Unheard: []lab.Span{}, Still: []lab.Span{},
		ByHand: []lab.Span{}, Envelope: []lab.BandPoint{}}
	t.Steps = w.timelineSteps(run)
	if !w.Last.IsZero() {
		t.To = lab.At(w.Last)
	}
	if run.EndedAt != nil {
		t.To = *run.EndedAt
	}
	gap := w.gapS(fig)
	t.Bath = w.curve(gap)
	for _, o := range run.Outages {
		t.Outages = append(t.Outages, outageSpan(o, t))
	}
	t.Unheard = append(t.Unheard, w.withoutReading(gap)...)
	t.Still = append(t.Still, w.still(fig)...)
	t.ByHand = append(t.ByHand, byHand(entries, t)...)
	t.Envelope = append(t.Envelope, w.envelope(run, good)...)
	return t
}

// timelineSteps are the steps that were, and those of the sheet that were not
// reached.
func (w *runTrace) timelineSteps(run lab.Run) []lab.TimelineStep {
	out := []lab.TimelineStep{}
	had, n := map[string]bool{}, 0
	for _, s := range run.Steps {
		had[s.Step], n = true, max(n, s.N)
		ts := lab.TimelineStep{N: s.N, Step: s.Step, Label: stepLabel(w.specs, s.Step), PlannedS: s.SheetS, StartedAt: s.StartedAt, LowC: s.LowC, HighC: s.HighC}
		if ts.PlannedS == nil {
			ts.PlannedS = s.SetS
		}
		if sp := w.specs.of(s.Step); sp != nil {
			ts.Kind = sp.Kind
		}
		ts.EndedAt = w.endOf(s)
		out = append(out, ts)
	}
	if w.specs.sheet == nil {
		return out
	}
	for i := range w.specs.sheet.Steps {
		sp := &w.specs.sheet.Steps[i]
		if had[sp.ID] || sp.Optional {
			continue
		}
		ts := lab.TimelineStep{N: n + 1, Step: sp.ID, Label: stepLabel(w.specs, sp.ID), Kind: sp.Kind, LowC: &sp.LowC, HighC: &sp.HighC}
		if n++; i < len(run.Steps) {
			ts.N = i + 1
		}
		if s, ok := sp.TimeFor(run.Push, 0); ok {
			ts.PlannedS = &s
		}
		out = append(out, ts)
	}
	return out
}

// endOf is when the time in a step ended, as far as is known.
func (w *runTrace) endOf(s lab.RunStep) *lab.Time {
	if s.StartedAt == nil {
		return nil
	}
	if s.TimeS != nil {
		t := lab.At(s.StartedAt.Add(time.Duration(*s.TimeS * float64(time.Second))))
		return &t
	}
	if baths := w.spansOf(s.N, lab.PhaseInBath); len(baths) > 0 {
		return lab.AtPtr(baths[len(baths)-1].To)
	}
	return nil
}

// gapS is how long, in seconds, the bath may go without a reading: as the
// rule reading-missing has it.
func (w *runTrace) gapS(fig rules.Figures) float64 {
	var d []float64
	var last *Row
	for i := range w.Rows {
		r := &w.Rows[i]
		if r.BathC == nil || r.Phase != lab.PhaseInBath {
			continue
		}
		if last != nil && last.N == r.N {
			d = append(d, r.At.Sub(last.At.Time).Seconds())
		}
		last = r
	}
	if len(d) == 0 {
		return fig.ReadingMissingS
	}
	return max(fig.ReadingMissingS, fig.ReadingMissingIntervals*median(d))
}

func outageSpan(o lab.Outage, t lab.Timeline) lab.Span {
	s := lab.Span{From: t.From, To: t.To, Label: "mains power lost, on battery"}
	if o.Kind == "restart" {
		s.Label = "mains power lost, controller down"
	}
	if o.BackAt != nil {
		s.To = *o.BackAt
		if o.OutageS != nil {
			s.From = lab.At(o.BackAt.Add(-time.Duration(*o.OutageS * float64(time.Second))))
		}
	}
	if o.LostAt != nil {
		s.From = *o.LostAt
	}
	return s
}

// withoutReading are the times in a bath without a reading of it.
func (w *runTrace) withoutReading(gapS float64) (out []lab.Span) {
	for _, s := range w.Spans {
		if s.Phase != lab.PhaseInBath {
			continue
		}
		at := s.From
		look := func(t time.Time) {
			if t.Sub(at).Seconds() > gapS {
				out = append(out, lab.Span{From: lab.At(at), To: lab.At(t), Label: "no reading of the " + stepLabel(w.specs, s.Step)})
			}
			at = t
		}
		for _, r := range w.Rows {
			if r.BathC != nil && r.N == s.N && r.Phase == s.Phase && !r.At.Before(s.From) && !r.At.After(s.To) {
				look(r.At.Time)
			}
		}
		look(s.To)
	}
	return out
}

// still are the times in a bath in which the tank did not turn.
func (w *runTrace) still(fig rules.Figures) (out []lab.Span) {
	for _, s := range w.Spans {
		if s.Phase != lab.PhaseInBath {
			continue
		}
		hold := fig.RotationHoldS
		if sp := w.specs.of(s.Step); sp != nil && sp.Kind == process.Dev {
			hold = fig.RotationHoldDevS
		}
		var from, last time.Time
		end := func() {
			if !from.IsZero() && last.Sub(from).Seconds() >= hold {
				out = append(out, lab.Span{From: lab.At(from), To: lab.At(last), Label: "stood still in the " + stepLabel(w.specs, s.Step)})
			}
			from = time.Time{}
		}
		for _, t := range w.Rotations {
			if t.N != s.N || t.Phase != s.Phase || t.T.Before(s.From) || t.T.After(s.To) {
				continue
			}
			switch {
			case t.RPM >= fig.RotationRPM:
				last = t.T
				end()
			case from.IsZero():
				from, last = t.T, t.T
			default:
				last = t.T
			}
		}
		end()
	}
	return out
}

// byHand are the times in which people turned the tank.
func byHand(entries []lab.Entry, t lab.Timeline) (out []lab.Span) {
	for _, e := range entries {
		var b lab.Turned
		if e.What != lab.EntryTurned || json.Unmarshal(e.Body, &b) != nil {
			continue
		}
		s := lab.Span{From: b.From, To: t.To, Label: "turned by hand"}
		for _, o := range t.Outages { // to the end of the outage
			if !o.From.After(b.From.Time) && o.To.After(b.From.Time) {
				s.To = o.To
			}
		}
		if b.To != nil {
			s.To = *b.To
		}
		out = append(out, s)
	}
	return out
}

// curvePoints is about how many points of the bath are drawn.
const curvePoints = 600

// devFiner is how much finer the curve is in a developer, which is drawn
// magnified too.
const devFiner = 6

// curve is the bath's temperature, thinned out: of each short time the first,
// the lowest, the highest and the last stay. It breaks between baths and
// where no reading came for gapS.
func (w *runTrace) curve(gapS float64) []lab.CurvePoint {
	out := []lab.CurvePoint{}
	coarseS := w.Last.Sub(w.First).Seconds() / (curvePoints / 4)
	var bucket []lab.CurvePoint
	flush := func() {
		out = append(out, extremes(bucket)...)
		bucket = bucket[:0]
	}
	var last *Row
	for i := range w.Rows {
		r := &w.Rows[i]
		if r.BathC == nil || r.Phase != lab.PhaseInBath {
			continue
		}
		bucketS := coarseS
		if sp := w.specs.of(r.Step); sp != nil && sp.Kind == process.Dev {
			bucketS /= devFiner // it is drawn magnified too
		}
		broken := last != nil && (last.N != r.N || r.At.Sub(last.At.Time).Seconds() > gapS)
		if broken || len(bucket) > 0 && r.At.Sub(bucket[0].At.Time).Seconds() >= bucketS {
			flush()
		}
		if broken {
			out = append(out, lab.CurvePoint{At: last.At})
		}
		c := *r.BathC
		bucket = append(bucket, lab.CurvePoint{At: r.At, C: &c})
		last = r
	}
	flush()
	return out
}

// extremes keeps the first, lowest, highest and last point, in their order.
func extremes(b []lab.CurvePoint) []lab.CurvePoint {
	if len(b) <= 4 {
		return slices.Clone(b)
	}
	low, high := 0, 0
	for i := range b {
		if *b[i].C < *b[low].C {
			low = i
		}
		if *b[i].C > *b[high].C {
			high = i
		}
	}
	keep := []int{0, low, high, len(b) - 1}
	slices.Sort(keep)
	var out []lab.CurvePoint
	for _, i := range slices.Compact(keep) {
		out = append(out, b[i])
	}
	return out
}

// envelope is where 90 of 100 good runs had the bath at the same place of
// each step.
func (w *runTrace) envelope(run lab.Run, good []Features) (out []lab.BandPoint) {
	if len(good) < fewestGood {
		return nil
	}
	for _, s := range run.Steps {
		baths := w.spansOf(s.N, lab.PhaseInBath)
		if len(baths) == 0 {
			continue
		}
		end := baths[len(baths)-1].To
		for i := 0; i < mostGridPoints; i++ {
			at := baths[0].From.Add(time.Duration(i*envelopeStepS) * time.Second)
			if at.After(end) {
				break
			}
			if v := courseAt(good, s, i); len(v) >= fewestGood {
				out = append(out, lab.BandPoint{At: lab.At(at), Low: toThousandth(percentile(0.05, v)), High: toThousandth(percentile(0.95, v))})
			}
		}
	}
	return out
}

// courseAt collects the good runs' temperatures at one place of a step.
func courseAt(good []Features, s lab.RunStep, i int) (v []float64) {
	for _, g := range good {
		if gs, ok := g.step(s.N, s.Step); ok && i < len(gs.Bath) && gs.Bath[i] != nil {
			v = append(v, *gs.Bath[i])
		}
	}
	return v
}

// resolution is the finest step between the readings of the bath, °C: as
// finely as its probe measures.
func (w *runTrace) resolution() float64 {
	var last *float64
	finest := math.Inf(1)
	for _, r := range w.Rows {
		if r.Phase != lab.PhaseInBath || r.BathC == nil {
			continue
		}
		if last != nil {
			if d := math.Abs(*r.BathC - *last); d > 1e-6 {
				finest = min(finest, d)
			}
		}
		last = r.BathC
	}
	if math.IsInf(finest, 1) {
		return 0
	}
	return finest
}
