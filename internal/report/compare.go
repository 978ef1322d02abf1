package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"wetside/internal/lab"

	"gonum.org/v1/gonum/stat"
)

// fewestGood is the least number of good runs to compare with.
const fewestGood = 8

// mostGood is how many good runs count, the latest: units age, and a record
// holds them all.
const mostGood = 30

// comparedFigure is one figure of a step that is compared.
type comparedFigure struct {
	name string // for people
	unit string
	// floor is the least MAD: below it differences are those of the sensor or
	// of the pace of messages. Common practice, no source.
	floor float64
	of    func(StepFeatures) *float64
}

var comparedFigures = []comparedFigure{
	{"time in the step", "s", 1, func(s StepFeatures) *float64 { return s.TimeS }},
	{"mean temperature", "°C", 0.02, func(s StepFeatures) *float64 { return s.MeanC }},
	{"lowest temperature", "°C", 0.04, func(s StepFeatures) *float64 { return s.MinC }},
	{"highest temperature", "°C", 0.04, func(s StepFeatures) *float64 { return s.MaxC }},
	{"equivalent time", "s", 1, func(s StepFeatures) *float64 { return s.EquivalentS }},
	{"heating-up time", "s", 10, func(s StepFeatures) *float64 { return s.HeatUpS }},
	{"rotation", "rpm", 1, func(s StepFeatures) *float64 { return s.RPM }},
	{"filling time", "s", 1, func(s StepFeatures) *float64 { return s.FillS }},
	{"draining time", "s", 1, func(s StepFeatures) *float64 { return s.DrainS }},
}

// comparableRuns picks from the good runs those of the same process, push and unit
// that came before: the latest of them, oldest first.
func comparableRuns(f Features, good []Features) []Features {
	var out []Features
	for _, g := range good {
		if g.Good() && g.Unit == f.Unit && g.Process == f.Process && g.Push == f.Push &&
			g.RunID != f.RunID && g.StartedAt.Before(f.StartedAt.Time) {
			out = append(out, g)
		}
	}
	slices.SortStableFunc(out, func(a, b Features) int {
		return cmp.Or(a.StartedAt.Compare(b.StartedAt.Time), cmp.Compare(a.RunID, b.RunID))
	})
	out = slices.CompactFunc(out, func(a, b Features) bool { return a.RunID == b.RunID })
	return out[max(0, len(out)-mostGood):]
}

// step finds the step n of a run, the same step only.
func (f Features) step(n int, id string) (StepFeatures, bool) {
	for _, s := range f.Steps {
		if s.N == n && s.Step == id {
			return s, true
		}
	}
	return StepFeatures{}, false
}

// compare sets a run beside good runs; nil where they are too few.
// resolutionC is how finely the bath's probe measures.
func compare(f Features, good []Features, resolutionC float64, sp sheetSteps) *lab.Comparison {
	if len(good) < fewestGood {
		return nil
	}
	out := &lab.Comparison{Runs: len(good), From: good[0].StartedAt, To: good[len(good)-1].StartedAt, Findings: []lab.Finding{}}
	for _, s := range f.Steps {
		for _, fig := range comparedFigures {
			if x, ok := standsOut(fig, s, good, resolutionC, sp); ok {
				out.Findings = append(out.Findings, x)
			}
		}
	}
	slices.SortStableFunc(out.Findings, func(a, b lab.Finding) int { return cmp.Compare(math.Abs(b.Z), math.Abs(a.Z)) })
	return out
}

// standsOut compares one figure of one step.
func standsOut(fig comparedFigure, s StepFeatures, good []Features, resolutionC float64, sp sheetSteps) (lab.Finding, bool) {
	v := fig.of(s)
	if v == nil {
		return lab.Finding{}, false
	}
	var values []float64
	for _, g := range good {
		if gs, ok := g.step(s.N, s.Step); ok {
			if x := fig.of(gs); x != nil {
				values = append(values, *x)
			}
		}
	}
	if len(values) < fewestGood {
		return lab.Finding{}, false
	}
	floor := fig.floor
	if fig.unit == "°C" {
		floor = max(floor, resolutionC)
	}
	z, med := robustZ(*v, values, floor)
	if math.Abs(z) <= standsOutZ {
		return lab.Finding{}, false
	}
	out := lab.Finding{Step: s.Step, Feature: fig.name, Unit: fig.unit, Value: toThousandth(*v), Median: toThousandth(med), Z: math.Round(z*10) / 10}
	out.Text = findingText(out, stepLabel(sp, s.Step), len(values))
	return out, true
}

func findingText(f lab.Finding, step string, runs int) string {
	way := "more"
	if f.Value < f.Median {
		way = "less"
	}
	if f.Unit == "°C" {
		return fmt.Sprintf("%s: %s %.2f °C, %.2f °C %s than the %.2f °C of %d good runs.",
			capital(step), f.Feature, f.Value, math.Abs(f.Value-f.Median), way, f.Median, runs)
	}
	return fmt.Sprintf("%s: %s %.0f %s, %.0f %s %s than the %.0f %s of %d good runs.",
		capital(step), f.Feature, f.Value, f.Unit, math.Abs(f.Value-f.Median), f.Unit, way, f.Median, f.Unit, runs)
}

func toThousandth(v float64) float64 { return math.Round(v*1000) / 1000 }

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// stepLabel is what people call a step.
func stepLabel(sp sheetSteps, id string) string {
	if st := sp.of(id); st != nil && st.Label != "" {
		return st.Label
	}
	return strings.ReplaceAll(id, "-", " ")
}

// withOutOfPattern puts out-of-pattern behind the other reasons.
func withOutOfPattern(reasons []lab.Reason, c *lab.Comparison) []lab.Reason {
	if c == nil || len(c.Findings) == 0 {
		return reasons
	}
	f := c.Findings[0]
	text := f.Text
	if n := len(c.Findings); n > 1 {
		text += fmt.Sprintf(" %d more stand out.", n-1)
	}
	return append(slices.Clone(reasons), lab.Reason{Code: "out-of-pattern", Step: f.Step, Text: text})
}

// standsOutZ is how far, in robust z, a figure must lie from the good runs to stand
// out: Iglewicz and Hoaglin 1993.
const standsOutZ = 3.5

// zScale makes the MAD of a normal distribution its deviation: the 75th
// percentile of the standard normal distribution.
const zScale = 0.6745

// median of values; NaN for none. The middle two are averaged.
func median(values []float64) float64 {
	n := len(values)
	if n == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(values))
	if n%2 == 1 {
		return s[n/2]
	}
	return (s[n/2-1] + s[n/2]) / 2
}

// mad is the median of the absolute deviations from the median.
func mad(values []float64) float64 {
	m := median(values)
	d := make([]float64, len(values))
	for i, v := range values {
		d[i] = math.Abs(v - m)
	}
	return median(d)
}

// robustZ is 0.6745 (x - median) / MAD, with the MAD no smaller than floor:
// what is measured no finer cannot tell runs apart.
func robustZ(x float64, good []float64, floor float64) (z, med float64) {
	med = median(good)
	return zScale * (x - med) / max(mad(good), floor), med
}

// percentile reads the p-th part (0..1) of values.
func percentile(p float64, values []float64) float64 {
	return stat.Quantile(p, stat.LinInterp, slices.Sorted(slices.Values(values)), nil)
}
