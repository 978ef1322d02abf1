package audit

import "wetside/internal/lab"

// Features are the figures of one run that are compared with those of other
// runs, and the course of its baths. They are frozen in the run's record.
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
	// Bath is the temperature on an even grid of EnvelopeStepS seconds since
	// the step's first in-bath; null where nothing was measured near.
	Bath []*float64 `json:"bath,omitempty"`
}

// EnvelopeStepS is the grid of StepFeatures.Bath, in seconds.
const EnvelopeStepS = 5
