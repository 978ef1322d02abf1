package report

import (
	"math"
	"slices"

	"wetside/internal/lab"
)

// Features are the figures of one run that are compared with those of other
// runs, and the temperature of its baths over time. They are frozen in the
// run's record.
type Features struct {
	RunID     string         `json:"run"`
	Unit      string         `json:"unit"`
	Process   string         `json:"process"`
	Push      float64        `json:"push"`
	Kind      string         `json:"kind"`
	Verdict   string         `json:"verdict"`
	StartedAt lab.Time       `json:"started_at"`
	Steps     []StepFeatures `json:"steps"`
}

// Good tells whether a run of these features counts among the good runs: film,
// and in control. A control strip is none: it may hold a step wedge alone.
func (f Features) Good() bool {
	return (f.Kind == "" || f.Kind == lab.KindOfRunFilm) && f.Verdict == lab.InControl
}

// StepFeatures are the figures of one step; a nil figure was not measured.
type StepFeatures struct {
	N           int      `json:"n"`
	Step        string   `json:"step"`
	TimeS       *float64 `json:"time_s"`
	MeanC       *float64 `json:"mean_c"`
	MinC        *float64 `json:"min_c"`
	MaxC        *float64 `json:"max_c"`
	EquivalentS *float64 `json:"equivalent_s"`
	HeatUpS     *float64 `json:"heat_up_s"` // heating before its first fill
	RPM         *float64 `json:"rpm"`       // median in the bath
	FillS       *float64 `json:"fill_s"`    // the longest of its fills
	DrainS      *float64 `json:"drain_s"`   // the longest of its drains
	// Bath is the temperature on an even grid of envelopeStepS seconds since
	// the step's first in-bath; null where nothing was measured near.
	Bath []*float64 `json:"bath,omitempty"`
}

// envelopeStepS is the grid of StepFeatures.Bath, in seconds.
const envelopeStepS = 10

// features takes the figures of a run from what the rules made of it and from
// its trace.
func (w *runTrace) features(run lab.Run) Features {
	f := Features{RunID: run.ID, Unit: run.Unit, Process: run.Process, Push: run.Push, Kind: run.Kind,
		StartedAt: run.StartedAt, Steps: []StepFeatures{}}
	if run.Verdict != nil {
		f.Verdict = *run.Verdict
	}
	for _, s := range run.Steps {
		sf := StepFeatures{N: s.N, Step: s.Step, TimeS: s.TimeS, MeanC: s.MeanC, MinC: s.MinC, MaxC: s.MaxC, EquivalentS: s.EquivalentS}
		sf.HeatUpS = total(w.spansOf(s.N, lab.PhaseHeating))
		sf.FillS = longest(w.spansOf(s.N, lab.PhaseFilling))
		sf.DrainS = longest(w.spansOf(s.N, lab.PhaseDraining))
		sf.RPM = w.usualRPM(s.N)
		sf.Bath = w.bathOnGrid(s.N)
		f.Steps = append(f.Steps, sf)
	}
	return f
}

func total(list []phaseSpan) *float64 {
	sum := 0.0
	for _, s := range list {
		if !s.Whole {
			return nil
		}
		sum += s.To.Sub(s.From).Seconds()
	}
	if len(list) == 0 {
		return nil
	}
	return &sum
}

func longest(list []phaseSpan) *float64 {
	var most *float64
	for _, s := range list {
		if v := s.To.Sub(s.From).Seconds(); s.Whole && (most == nil || v > *most) {
			most = &v
		}
	}
	return most
}

// usualRPM is the median of the rotation in the bath of a step.
func (w *runTrace) usualRPM(n int) *float64 {
	var v []float64
	for _, t := range w.Rotations {
		if t.N == n && t.Phase == lab.PhaseInBath {
			v = append(v, t.RPM)
		}
	}
	if len(v) == 0 {
		return nil
	}
	m := median(v)
	return &m
}

// readingWithinS is how far from a place of the grid a reading may lie, seconds.
const readingWithinS = 15

// mostGridPoints bounds the curve of one step: two hours.
const mostGridPoints = 7200 / envelopeStepS

// bathOnGrid is the temperature of a step on an even grid since its first
// in-bath, straight between readings.
func (w *runTrace) bathOnGrid(n int) []*float64 {
	baths := w.spansOf(n, lab.PhaseInBath)
	if len(baths) == 0 {
		return nil
	}
	var t, c []float64
	for _, r := range w.Rows {
		if r.N == n && r.Phase == lab.PhaseInBath && r.BathC != nil {
			t, c = append(t, r.At.Sub(baths[0].From).Seconds()), append(c, *r.BathC)
		}
	}
	end := baths[len(baths)-1].To.Sub(baths[0].From).Seconds()
	out := []*float64{}
	for i := range min(mostGridPoints, int(end/envelopeStepS)+1) {
		out = append(out, interpolated(t, c, float64(i*envelopeStepS)))
	}
	return out
}

// interpolated reads c at x, nil where the nearest readings are too far.
func interpolated(t, c []float64, x float64) *float64 {
	i, _ := slices.BinarySearch(t, x)
	switch {
	case len(t) == 0, i == 0 && t[0]-x > readingWithinS, i == len(t) && x-t[i-1] > readingWithinS:
		return nil
	case i == 0:
		return toThousandthPtr(c[0])
	case i == len(t):
		return toThousandthPtr(c[i-1])
	case t[i]-t[i-1] > 2*readingWithinS:
		return nil
	case t[i] == t[i-1]:
		return toThousandthPtr(c[i])
	}
	return toThousandthPtr(c[i-1] + (c[i]-c[i-1])*(x-t[i-1])/(t[i]-t[i-1]))
}

// toThousandthPtr is a temperature to the thousandth: no probe tells more.
func toThousandthPtr(v float64) *float64 {
	v = math.Round(v*1000) / 1000
	return &v
}
